package store

import (
	"fmt"
	"time"
)

// Times are stored as UTC to the millisecond, with the local offset beside,
// both as text that sorts and that a person can read in a shell.
const (
	timeLayout   = "2006-01-02T15:04:05.000Z"
	offsetLayout = "-07:00"
)

func utc(t time.Time) string { return t.UTC().Format(timeLayout) }

func offset(t time.Time) string { return t.Format(offsetLayout) }

// parseTime puts the two columns together again.
func parseTime(text, offsetText string) (time.Time, error) {
	t, err := time.Parse(timeLayout, text)
	if err != nil {
		return time.Time{}, fmt.Errorf("time %q: %w", text, err)
	}
	o, err := time.Parse(offsetLayout, offsetText)
	if err != nil {
		return time.Time{}, fmt.Errorf("offset %q: %w", offsetText, err)
	}
	_, seconds := o.Zone()
	if seconds == 0 {
		return t, nil
	}
	return t.In(time.FixedZone("", seconds)), nil
}

const dateLayout = "2006-01-02"

// date writes a day; the zero time is no day.
func date(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(dateLayout)
}

func parseDate(text string) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	return time.Parse(dateLayout, text)
}
