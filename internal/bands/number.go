package bands

import (
	"cmp"
	"errors"
	"fmt"
	"strings"
)

// ErrSeriesEnd is returned by Next after the last number of a prefix.
var ErrSeriesEnd = errors.New("the last number of its prefix")

// Number is a well-formed band number. Numbers compare with ==. The zero
// value is no number.
type Number struct {
	prefix    string
	separator string
	width     int   // digits of the suffix
	zerosLast bool  // suffix 000… comes after 999…
	ordinal   int64 // place within the prefix; the suffix is ordinal mod 10^width
}

// IsZero reports whether n is no number.
func (n Number) IsZero() bool { return n.width == 0 }

// Prefix returns what stands before the separator; "" when there is none.
func (n Number) Prefix() string { return n.prefix }

// Suffix returns the digits after the prefix, with their leading zeros.
func (n Number) Suffix() string {
	if n.IsZero() {
		return ""
	}
	return fmt.Sprintf("%0*d", n.width, n.ordinal%n.span())
}

// String returns the number in its canonical form, "888-88801".
func (n Number) String() string { return n.prefix + n.separator + n.Suffix() }

// Tail returns the last k characters of the number without its separator: the
// digits that are read back off a closed band. All of them when k is larger.
func (n Number) Tail(k int) string {
	all := n.prefix + n.Suffix()
	return all[len(all)-min(max(k, 0), len(all)):]
}

// Next returns the number that follows n in its prefix: 888-88899, 888-88900,
// 888-88901. After the last one (888-00000 where zeros come last) it returns
// ErrSeriesEnd: which prefix follows is not a matter of arithmetic.
func (n Number) Next() (Number, error) {
	if n.IsZero() || n.ordinal >= n.lastOrdinal() {
		return Number{}, fmt.Errorf("%v: %w", n, ErrSeriesEnd)
	}
	n.ordinal++
	return n, nil
}

// Compare orders numbers by prefix, then by their place in it: -1, 0 or +1.
func (n Number) Compare(o Number) int {
	return cmp.Or(
		cmp.Compare(len(n.prefix), len(o.prefix)),
		strings.Compare(n.prefix, o.prefix),
		strings.Compare(n.separator, o.separator),
		cmp.Compare(n.width, o.width),
		cmp.Compare(n.ordinal, o.ordinal),
	)
}

// Plus returns the number that stands k places after n, before it for a
// negative k. It returns ErrSeriesEnd where the prefix has no such place.
func (n Number) Plus(k int64) (Number, error) {
	first := n.lastOrdinal() - n.span() + 1
	if n.IsZero() || k > n.lastOrdinal()-n.ordinal || k < first-n.ordinal {
		return Number{}, fmt.Errorf("%d places from %v: past %w", k, n, ErrSeriesEnd)
	}
	n.ordinal += k
	return n, nil
}

// sameSeries reports whether the two numbers are of one prefix and width.
func (n Number) sameSeries(o Number) bool {
	n.ordinal, o.ordinal = 0, 0
	return n == o
}

// lastOrdinal is the place of the last number of the prefix.
func (n Number) lastOrdinal() int64 {
	if n.zerosLast {
		return n.span()
	}
	return n.span() - 1
}

// span is how many suffixes a prefix has.
func (n Number) span() int64 {
	span := int64(1)
	for range n.width {
		span *= 10
	}
	return span
}
