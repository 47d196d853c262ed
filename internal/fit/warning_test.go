package fit

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/catalogue"
	"seamfit/internal/length"
)

// exemplar is a leg and a question that bring one warning about.
type exemplar struct {
	readings string
	question Question
	model    Model
}

// narrow returns the example hawk, changed.
func narrow(change func(*catalogue.Species)) *catalogue.Species {
	s := hawk()
	change(s)
	return s
}

func exemplars(t *testing.T) map[string]exemplar {
	t.Helper()
	leg := func(readings string) *Leg {
		l, _, err := Estimate(widths(t, readings, "0.01"), DefaultModel())
		require.NoError(t, err)
		return &l
	}
	const three, mm = "6.00 6.01 5.99", length.Millimetre
	far := DefaultModel()
	far.Correction = line{offset: -0.012, slope: 0.0008, uLine: 0.004, dof: 12, uRods: 0.001}
	return map[string]exemplar{
		CodeNoMetal:      {three, Question{Species: narrow(func(s *catalogue.Species) { s.NoMetalBand = true })}, DefaultModel()},
		CodeMisfit:       {three, Question{Species: hawk(), Sex: "male"}, DefaultModel()},
		CodeClosure:      {three, Question{Species: hawk(), Closure: "butt-end"}, DefaultModel()},
		CodeSite:         {three, Question{Species: narrow(func(s *catalogue.Species) { s.AboveJointOnly = true })}, DefaultModel()},
		CodeYoung:        {three, Question{Species: hawk(), Age: "nestling"}, DefaultModel()},
		CodeNoFit:        {"12.00 12.01 11.99", Question{}, DefaultModel()},
		CodeDisagree:     {"6.00 6.20 5.99", Question{}, DefaultModel()},
		CodeStop:         {three, Question{LowerStop: leg("5.90")}, DefaultModel()},
		CodeCross:        {three, Question{Cross: leg("6.30")}, DefaultModel()},
		CodeRange:        {three, Question{Species: narrow(func(s *catalogue.Species) { s.MaxWidth = 5 * mm })}, DefaultModel()},
		CodeHistory:      {three, Question{Species: hawk(), History: &History{Median: 7.1, SD: 0.2, N: 31}}, DefaultModel()},
		CodeAlike:        {"4.81", Question{}, DefaultModel()},
		CodeFeathers:     {three, Question{Feathers: "over"}, DefaultModel()},
		CodeTall:         {three, Question{Tarsus: 4 * mm}, DefaultModel()},
		CodeMetal:        {three, Question{Species: narrow(func(s *catalogue.Species) { s.HardMetal = true; s.MetalReasons = []string{"salt water"} }), Metal: &catalogue.Metal{Name: "aluminium"}}, DefaultModel()},
		CodeSingle:       {"6.00", Question{}, DefaultModel()},
		CodeExtrapolated: {"12.00 12.01 11.99", Question{}, far},
		CodeUnverified:   {three, Question{Species: narrow(func(s *catalogue.Species) { s.Mark = catalogue.FromMemory })}, DefaultModel()},
		CodeUncalibrated: {three, Question{}, DefaultModel()},
		CodeDiscontinued: {three, Question{}, DefaultModel()},
		CodeLooseListed: {three, Question{Species: narrow(func(s *catalogue.Species) {
			s.Sizes = []catalogue.Recommendation{{Catalogue: "table", Size: "XXL"}}
		})}, DefaultModel()},
		CodeUnjudged: {three, Question{Species: hawk()}, DefaultModel()},
		CodeUnknownSize: {three, Question{Species: narrow(func(s *catalogue.Species) {
			s.Sizes = append(s.Sizes, catalogue.Recommendation{Catalogue: "table", Size: "ZZ"})
		})}, DefaultModel()},
	}
}

// everyCode lists the codes of warning.go; a new one needs its example here.
func everyCode() []string {
	return []string{
		CodeNoMetal, CodeMisfit, CodeClosure, CodeSite, CodeYoung, CodeNoFit, CodeDisagree, CodeStop, CodeCross, CodeRange,
		CodeHistory, CodeAlike, CodeFeathers, CodeTall, CodeMetal, CodeSingle, CodeExtrapolated, CodeUnverified,
		CodeUncalibrated, CodeDiscontinued, CodeLooseListed, CodeUnjudged, CodeUnknownSize,
	}
}

// Every warning is brought about by an example, and what a person reads then
// is kept in a picture.
func TestGoldenWarnings(t *testing.T) {
	source, err := os.ReadFile("warning.go")
	require.NoError(t, err)
	require.Len(t, everyCode(), strings.Count(string(source), "\tCode")-strings.Count(string(source), "\tCode string"), "every code of warning.go has its example")
	all := exemplars(t)
	for _, code := range everyCode() {
		t.Run(code, func(t *testing.T) {
			e, known := all[code]
			require.True(t, known)
			e.question.Catalogue = table()
			r := fitOf(t, e.readings, e.question, e.model)
			assert.Contains(t, codesOf(r), code)
			golden(t, filepath.Join("warnings", code), Table(r, e.model, 80))
		})
	}
}

// codesOf lists the codes of a result's warnings and its sizes'.
func codesOf(r Result) []string {
	var found []string
	for _, w := range r.Warnings {
		found = append(found, w.Code)
	}
	for _, c := range r.Sizes {
		for _, w := range c.Warnings {
			found = append(found, w.Code)
		}
	}
	return found
}

// The worst comes first: a result's warnings stand in the order of harm,
// whatever brought them about.
func TestWarningsStandInOrderOfHarm(t *testing.T) {
	for code, e := range exemplars(t) {
		e.question.Catalogue = table()
		place := -1
		for _, w := range fitOf(t, e.readings, e.question, e.model).Warnings {
			at := -1
			for i, c := range everyCode() {
				if c == w.Code {
					at = i
				}
			}
			if w.Code == CodeUnknownSize { // after the extrapolated, before the unverified
				continue
			}
			assert.GreaterOrEqual(t, at, place, "%s: %s", code, w.Code)
			place = at
		}
	}
}

// A person who is about to take a size reads what speaks against it among the
// other warnings, by its harm.
func TestTheWarningsOfASize(t *testing.T) {
	q := exemplars(t)[CodeTall].question
	q.Catalogue = table()
	r := fitOf(t, "6.00 6.01 5.99", q, DefaultModel())
	var found []string
	for _, w := range r.WarningsFor("O") {
		found = append(found, w.Code)
	}
	assert.Equal(t, []string{CodeNoFit, CodeTall, CodeUncalibrated, CodeDiscontinued}, found)
	assert.Equal(t, r.Warnings, r.WarningsFor("no such size"))
}
