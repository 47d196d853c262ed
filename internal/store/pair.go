package store

import (
	"context"
	"database/sql"
	"errors"
)

// pairTries is how often two connections are begun because something was saved
// between them.
const pairTries = 5

// PairedView is View for one who reads much: two tables can be read at a time.
// It is View where the bench saves so often that no two connections see the
// same moment.
func (s *Store) PairedView(ctx context.Context, read func(*View) error) error {
	return s.View(ctx, func(v *View) (err error) {
		second, err := s.db.Conn(ctx)
		if err != nil {
			return s.fail("read", err)
		}
		defer func() { err = errors.Join(err, second.Close()) }()
		version, err := seen(ctx, second)
		if err != nil {
			return s.fail("read", err)
		}
		if err := begin(ctx, second); err != nil {
			return s.fail("read", err)
		}
		defer func() { err = errors.Join(err, rollback(ctx, second)) }()
		same, err := together(ctx, v.conn, second, version)
		if err != nil {
			return s.fail("read", err)
		}
		if same {
			v.free <- second
		}
		return read(v)
	})
}

// together has both connections, which have begun, see the records, and reports
// whether they see the same moment: nothing was saved from before the first saw
// its own until the second saw its. before is what second saw last.
func together(ctx context.Context, first, second *sql.Conn, before int64) (same bool, err error) {
	for range pairTries {
		if _, err := seen(ctx, first); err != nil {
			return false, err
		}
		now, err := seen(ctx, second)
		if err != nil || now == before {
			return err == nil, err
		}
		before = now
		for _, conn := range []*sql.Conn{first, second} {
			if err := errors.Join(rollback(ctx, conn), begin(ctx, conn)); err != nil {
				return false, err
			}
		}
	}
	return false, nil
}

// seen has a connection see the records, and returns a number that is the
// same as the last time on that connection if nothing was saved by others
// since (PRAGMA data_version).
func seen(ctx context.Context, conn *sql.Conn) (version int64, err error) {
	var tables int
	if err := conn.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_schema").Scan(&tables); err != nil {
		return 0, err
	}
	err = conn.QueryRowContext(ctx, "PRAGMA data_version").Scan(&version)
	return version, err
}
