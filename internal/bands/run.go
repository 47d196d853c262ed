package bands

import (
	"errors"
	"fmt"
	"iter"
)

// Reasons for which there is no such run.
var (
	// ErrNoRun is returned where two numbers are not ends of one run.
	ErrNoRun = errors.New("not a run of one prefix")
	// ErrOutside is returned by Split for a number that the run does not hold.
	ErrOutside = errors.New("not in the run")
)

// Run is numbers of one prefix that follow one another, first to last, both
// in it. Runs compare with ==. The zero value is no run: it holds nothing.
type Run struct {
	first Number
	count int64
}

// NewRun returns the run from first to last. It returns ErrNoRun when they
// are of different prefixes or last comes before first.
func NewRun(first, last Number) (Run, error) {
	if first.IsZero() || !first.sameSeries(last) {
		return Run{}, fmt.Errorf("%v to %v: %w", first, last, ErrNoRun)
	}
	if last.ordinal < first.ordinal {
		return Run{}, fmt.Errorf("%v comes before %v: %w", last, first, ErrNoRun)
	}
	return Run{first: first, count: last.ordinal - first.ordinal + 1}, nil
}

// RunOf returns the run of count numbers that begins at first. It returns
// ErrNoRun for fewer than one and ErrSeriesEnd when the prefix ends before:
// 888-99951 and 49 more end at 888-00000, and there is no fiftieth.
func RunOf(first Number, count int64) (Run, error) {
	if first.IsZero() || count < 1 {
		return Run{}, fmt.Errorf("%d numbers from %v: %w", count, first, ErrNoRun)
	}
	if left := first.lastOrdinal() - first.ordinal + 1; count > left {
		return Run{}, fmt.Errorf("%d numbers from %v run past %w: only %d are left in it", count, first, ErrSeriesEnd, left)
	}
	return Run{first: first, count: count}, nil
}

// IsZero reports whether r is no run.
func (r Run) IsZero() bool { return r.count == 0 }

// First returns the run's first number.
func (r Run) First() Number { return r.first }

// Last returns the run's last number.
func (r Run) Last() Number { return r.at(max(r.count, 1) - 1) }

// Count returns how many numbers the run holds.
func (r Run) Count() int64 { return r.count }

// Contains reports whether n is in the run.
func (r Run) Contains(n Number) bool {
	return r.count > 0 && r.first.sameSeries(n) && n.ordinal >= r.first.ordinal && n.ordinal-r.first.ordinal < r.count
}

// Overlap returns the numbers that both runs hold; false when they share none.
func (r Run) Overlap(o Run) (Run, bool) {
	if r.IsZero() || o.IsZero() || !r.first.sameSeries(o.first) {
		return Run{}, false
	}
	low := max(r.first.ordinal, o.first.ordinal)
	high := min(r.first.ordinal+r.count, o.first.ordinal+o.count)
	if low >= high {
		return Run{}, false
	}
	first := r.first
	first.ordinal = low
	return Run{first: first, count: high - low}, true
}

// Split returns the run in two: what comes before n, which may be nothing,
// and the rest, which begins with n. It returns ErrOutside when n is not in
// the run.
func (r Run) Split(n Number) (before, rest Run, err error) {
	if !r.Contains(n) {
		return Run{}, Run{}, fmt.Errorf("%v: %w %v", n, ErrOutside, r)
	}
	k := n.ordinal - r.first.ordinal
	if k > 0 {
		before = Run{first: r.first, count: k}
	}
	return before, Run{first: n, count: r.count - k}, nil
}

// Next returns the run of equal length that follows in the prefix. It returns
// ErrSeriesEnd when the prefix has no room for it.
func (r Run) Next() (Run, error) {
	first, err := r.Last().Next()
	if err != nil {
		return Run{}, err
	}
	return RunOf(first, r.count)
}

// All goes through the numbers in order.
func (r Run) All() iter.Seq[Number] {
	return func(yield func(Number) bool) {
		for k := range r.count {
			if !yield(r.at(k)) {
				return
			}
		}
	}
}

// String writes the run as "888-88801 to 888-88900", a run of one as its
// number.
func (r Run) String() string {
	switch r.count {
	case 0:
		return ""
	case 1:
		return r.first.String()
	default:
		return r.first.String() + " to " + r.Last().String()
	}
}

func (r Run) at(k int64) Number {
	n := r.first
	n.ordinal += k
	return n
}

// Runs puts numbers together that follow one another, in the order in which
// they come.
func Runs(numbers []Number) []Run {
	var runs []Run
	for _, n := range numbers {
		if k := len(runs) - 1; k >= 0 {
			if last := runs[k].Last(); last.sameSeries(n) && last.ordinal+1 == n.ordinal {
				runs[k].count++
				continue
			}
		}
		runs = append(runs, Run{first: n, count: 1})
	}
	return runs
}
