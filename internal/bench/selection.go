package bench

import (
	"fmt"
	"time"
)

// Selection says which handlings are meant; the zero value means all. Shift is
// a shift's identifier, Species the name as recorded. From and To are days,
// "2026-05-17", both included: the day by the bench's clock on which the bird
// was taken up.
type Selection struct {
	Shift, Species string
	From, To       string
}

// All reports whether every handling is meant.
func (s Selection) All() bool { return s == Selection{} }

// Check returns an error for a day that is none, or a range that ends before
// it begins.
func (s Selection) Check() error {
	for _, day := range []string{s.From, s.To} {
		if _, err := time.Parse(time.DateOnly, day); day != "" && err != nil {
			return fmt.Errorf("%q is no day; write it like 2026-05-17", day)
		}
	}
	if s.From != "" && s.To != "" && s.To < s.From {
		return fmt.Errorf("the last day, %s, is before the first, %s; swap them", s.To, s.From)
	}
	return nil
}
