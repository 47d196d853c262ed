package bands

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// ParseRun reads numbers as people write them: one number, first and last
// ("888-88801 to 888-88900", "888-88801..888-88900"), the last one by its end
// only ("888-88801..900", "888-88801 to 00": the first such number from there
// on), or the first and how many ("888-88801 100"). Its errors are
// *NumberError, or wrap ErrNoRun or ErrSeriesEnd.
func (p *Pattern) ParseRun(text string) (Run, error) {
	if first, last, ok := cutRange(text); ok {
		from, err := p.Parse(first)
		if err != nil {
			return Run{}, err
		}
		to, err := p.parseEnd(from, last)
		if err != nil {
			return Run{}, err
		}
		return NewRun(from, to)
	}
	n, err := p.Parse(text)
	counted, countedErr := p.parseCounted(text)
	switch {
	case err == nil && countedErr == nil:
		return Run{}, p.refuseRun(text, "can be one number, or a number and how many")
	case err == nil:
		return RunOf(n, 1)
	case errors.Is(countedErr, errNotCounted):
		return Run{}, err
	default:
		return counted, countedErr
	}
}

// cutRange cuts a text at the mark between first and last.
func cutRange(text string) (first, last string, ok bool) {
	lower := strings.ToLower(text)
	for _, mark := range []string{"..", "…", " to ", " until "} {
		// A rune whose small form has another length would shift the cut.
		if i := strings.Index(lower, mark); i >= 0 && len(lower) == len(text) {
			return text[:i], strings.TrimLeft(text[i+len(mark):], "."), true
		}
	}
	return "", "", false
}

// parseEnd reads the last number of a run: whole, or only its last digits. Of those
// nothing but zeros, with which a string of bands ends, may be less than the first
// number's.
func (p *Pattern) parseEnd(first Number, text string) (Number, error) {
	compact := strings.ReplaceAll(text, " ", "")
	if compact == "" || len(compact) > first.width || !each(compact, isDigit) {
		return p.Parse(text)
	}
	step := int64(1)
	for range len(compact) {
		step *= 10
	}
	end, err := strconv.ParseInt(compact, 10, 64)
	if err != nil {
		return Number{}, p.refuseRun(text, "is no end of a run")
	}
	if end < first.ordinal%step && end != 0 {
		return Number{}, p.refuseRun(text, "ends before the run begins")
	}
	return first.Plus(((end-first.ordinal)%step + step) % step)
}

var errNotCounted = errors.New("not a number and how many")

// parseCounted reads a number and how many, with a blank between them.
func (p *Pattern) parseCounted(text string) (Run, error) {
	fields := strings.Fields(text)
	if len(fields) < 2 {
		return Run{}, errNotCounted
	}
	last := len(fields) - 1
	count, err := strconv.ParseInt(fields[last], 10, 64)
	if err != nil {
		return Run{}, errNotCounted
	}
	n, err := p.Parse(strings.Join(fields[:last], " "))
	if err != nil {
		return Run{}, errNotCounted
	}
	return RunOf(n, count)
}

func (p *Pattern) refuseRun(text, reason string) error {
	return &NumberError{Text: text, Reason: reason, Mend: fmt.Sprintf("write the first and the last, like %s to %s", p.Example, p.exampleEnd())}
}

// exampleEnd is the last number of a string that begins at the example.
func (p *Pattern) exampleEnd() string {
	n, err := p.Parse(p.Example)
	if err != nil {
		return p.Example // not in a pattern that was checked
	}
	end, err := n.Plus(int64(max(p.StringOf, 10)) - 1)
	if err != nil {
		return p.Example
	}
	return end.String()
}
