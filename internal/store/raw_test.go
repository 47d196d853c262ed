package store

import (
	"database/sql"
	"net/url"
)

// openRaw opens a file as a shell would: none of our settings, foreign keys
// off.
func openRaw(path string) (*sql.DB, error) {
	u := url.URL{Scheme: "file", OmitHost: true, Path: path}
	return sql.Open("sqlite", u.String())
}
