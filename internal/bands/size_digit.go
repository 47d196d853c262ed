package bands

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// SizeError says that a number's prefix indicates other sizes than the one
// that it is said to have.
type SizeError struct {
	Number   Number
	Size     string
	Indicate []string // the sizes that the prefix indicates
}

// Error returns what went wrong and the mend.
func (e *SizeError) Error() string {
	return fmt.Sprintf("the prefix of %v indicates size %s, not %s; read the number and the size on the packet again, or mend size_digits in the pattern file",
		e.Number, strings.Join(e.Indicate, " or "), e.Size)
}

// CheckSize compares a size with the one that the number's prefix indicates.
// It returns a *SizeError when they differ, and nil where the pattern has no
// such digit or the digit is not in its table.
func (p *Pattern) CheckSize(n Number, size string) error {
	if !p.SizeDigit || n.prefix == "" {
		return nil
	}
	sizes, listed := p.SizeDigits[n.prefix[len(n.prefix)-1:]]
	if !listed || slices.Contains(sizes, size) {
		return nil
	}
	return &SizeError{Number: n, Size: size, Indicate: slices.Clone(sizes)}
}

func (p *Pattern) checkSizeDigits() error {
	if len(p.SizeDigits) > 0 && !p.SizeDigit {
		return errors.New("size_digits are listed, but size_digit is not true")
	}
	for digit, sizes := range p.SizeDigits {
		if len(digit) != 1 || !isDigit(digit[0]) || len(sizes) == 0 {
			return fmt.Errorf(`size_digits: %q is not one digit with its sizes, like "3" = ["1B"]`, digit)
		}
		for _, size := range sizes {
			if size == "" || strings.ContainsFunc(size, func(r rune) bool { return r < ' ' || r == 0x7f }) {
				return fmt.Errorf("size_digits: %q has a size that can't be read", digit)
			}
		}
	}
	return nil
}
