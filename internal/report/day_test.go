package report_test

import (
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	"fmt"
	"html"
	"io"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/fit"
	"seamfit/internal/length"
	"seamfit/internal/metrology"
	"seamfit/internal/report"
)

// day is a bench whose handlings are kept as the facts tell them.
type day struct {
	t     *testing.T
	state bench.State
	now   time.Time
	ids   []string
	birds map[string]bench.Handling
}

func began() time.Time { return time.Date(2026, 5, 17, 6, 0, 0, 0, time.FixedZone("", 2*3600)) }

func newDay(t *testing.T) *day {
	t.Helper()
	book, err := catalogue.Embedded()
	require.NoError(t, err)
	patterns, err := bands.Embedded()
	require.NoError(t, err)
	pattern, ok := patterns.Named("federal")
	require.True(t, ok)
	d := &day{t: t, now: began(), birds: map[string]bench.Handling{}, state: bench.State{Setup: &bench.Setup{
		Book: book, Catalogue: "us-federal", Model: fit.DefaultModel(), Pattern: pattern, Readings: 3, AbsurdOver: 60 * length.Millimetre,
		Further: []bench.FurtherMeasure{{Name: "wing", Unit: "mm"}, {Name: "mass", Unit: "g"}},
	}}}
	d.do(bench.OpenShift{When: d.when(), Shift: bench.Shift{ID: "s1", Started: d.now, Place: "Skerry of Ness", Bander: "A. Holm", Permit: "P-17"}})
	return d
}

func (d *day) when() bench.When {
	d.now = d.now.Add(10 * time.Second)
	return bench.When{At: d.now}
}

func (d *day) do(c bench.Command) {
	d.t.Helper()
	next, facts, blockers := bench.Apply(d.state, c)
	require.Empty(d.t, blockers, "%T %+v", c, c)
	d.state = next
	for _, f := range facts {
		if id := f.Key().Handling; id != "" {
			d.birds[id] = bench.FoldHandling(d.birds[id], f)
		}
	}
}

// Handlings makes a day the records of a sheet.
func (d *day) Handlings(_ context.Context, each func(bench.Handling) error) error {
	for _, id := range d.ids {
		if err := each(d.birds[id]); err != nil {
			return err
		}
	}
	return nil
}

func (d *day) bird(species string, widths ...string) {
	id := fmt.Sprintf("bird %d", len(d.ids)+1)
	d.ids = append(d.ids, id)
	d.do(bench.OpenBird{When: d.when(), ID: id, Bird: bench.Bird{Species: species, Age: "adult", Leg: bench.LegRight}})
	for _, text := range widths {
		c, err := bench.TypedReading(d.when(), text, length.MM)
		require.NoError(d.t, err)
		d.do(c)
	}
}

func (d *day) banded(number, size, reason string, looks ...[]string) {
	d.do(bench.ChooseSize{When: d.when(), Size: size, Metal: "aluminium", Reason: reason})
	d.do(bench.GiveNumber{When: d.when(), Number: number})
	for _, findings := range looks {
		d.do(bench.Look{When: d.when(), Findings: findings})
	}
	d.do(bench.Confirm{When: d.when(), All: true, ReadBack: number[len(number)-3:]})
	d.do(bench.TellFate{When: d.when(), Fate: bench.FateBanded})
	d.do(bench.Complete{When: d.when()})
}

// worked is a day with everything that a sheet tells.
func worked(t *testing.T) *day {
	d := newDay(t)
	d.bird("Larus argentatus", "8.42", "8.45", "8.40")
	d.banded("1236-56701", "7A", "soft metal, and the list's size is out", nil)
	d.bird("Larus argentatus", "8.60", "8.58", "8.61")
	d.banded("1236-56702", "7A", "the list's size is out", []string{"gap"}, nil)
	d.bird("Larus argentatus", "8.10", "8.12", "8.11")
	d.do(bench.ChooseSize{When: d.when(), Size: "7A", Metal: "aluminium", Reason: "none other here"})
	d.do(bench.GiveNumber{When: d.when(), Number: "1236-56703"})
	d.do(bench.Look{When: d.when(), Findings: []string{"overlap"}})
	d.do(bench.TellIncident{When: d.when(), Kind: "injury", Note: "<b>scraped</b>"})
	d.do(bench.Remove{When: d.when(), Reason: "overlap that can't be opened"})
	d.do(bench.TellFate{When: d.when(), Fate: bench.FateUnbanded, Reason: "enough for it"})
	d.do(bench.Complete{When: d.when()})
	d.bird("Sterna <script>alert(1)</script>", "3.10", "3.12", "3.11")
	d.do(bench.TellFate{When: d.when(), Fate: bench.FateEscaped, Reason: "slipped the grip"})
	d.bird("Sterna hirundo", "3.10", "3.12", "3.11")
	d.do(bench.ChooseSize{When: d.when(), Size: "2", Metal: "incoloy", Reason: "as the list has it"})
	d.do(bench.GiveNumber{When: d.when(), Number: "888-00001"})
	d.do(bench.Look{When: d.when(), Findings: []string{"gap"}})
	d.do(bench.TellFate{When: d.when(), Fate: bench.FateUnconfirmed, Reason: "a gap; it was cold", DecidedBy: "A. Holm"})
	return d
}

func (d *day) about() report.Day {
	return report.Day{
		Title: "2026-05-17, Skerry of Ness", Shifts: []bench.Shift{*d.state.Shift}, Made: d.now, Version: "1.2.3",
		Book: d.state.Setup.Book, Catalogue: "us-federal",
		Checks: []metrology.Check{
			{ID: "c1", At: d.now, Rod: "rod 6", Error: 4_000, Low: -12_000, High: 14_000, N: 3, InLimits: true},
			{ID: "c2", At: d.now.Add(time.Hour), Rod: "rod 6", Error: 21_000, Low: -12_000, High: 14_000, N: 3},
			{ID: "c3", At: d.now.Add(2 * time.Hour), Answers: "c2", Reason: "cold hands"},
		},
		Stock: []bands.StringCount{{First: "1236-56701", Last: "1236-56800", Size: "7A", Metal: "aluminium", Received: 100, InStock: 96, OnBird: 2, Destroyed: 1, Lost: 1}},
	}
}

func sheet(t *testing.T, r report.Records, about report.Day) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, report.WriteDay(t.Context(), &b, r, about))
	return b.String()
}

// drawings returns the plots of a page; each must be well-formed XML.
func drawings(t *testing.T, page string) []string {
	t.Helper()
	all := regexp.MustCompile(`(?s)<svg.*?</svg>`).FindAllString(page, -1)
	for _, drawing := range all {
		decoder := xml.NewDecoder(strings.NewReader(drawing))
		for {
			_, err := decoder.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			require.NoError(t, err, drawing)
		}
	}
	return all
}

func TestTheDaySheetTellsTheDay(t *testing.T) {
	d := worked(t)
	page := sheet(t, d, d.about())
	all := drawings(t, page)
	require.Len(t, all, 5, "widths, checks, closings, incidents, numbers")
	for _, drawing := range all {
		assert.Contains(t, drawing, `role="img"`)
		assert.Contains(t, drawing, "<title>")
		assert.Contains(t, drawing, "<desc>", "told in words for those who can't see it")
	}
	open, birds := strings.Index(page, `id="open"`), strings.Index(page, "<h2>Birds</h2>")
	require.Positive(t, open)
	assert.Less(t, open, birds, "open matters come first")
	matters := page[open:birds]
	assert.Less(t, strings.Index(matters, "a closure that nobody confirmed: a gap; it was cold"), strings.Index(matters, "escaped: slipped the grip"), "the gravest first")
	assert.NotContains(t, matters, "1236-56701", "a complete record is not open")
	assert.Contains(t, matters, "888-00001")
	assert.Contains(t, matters, "<li>", "with its mends")
	for _, text := range []string{
		"<b>5</b> birds in the hand", "<b>2</b> banded", "<b>1</b> unbanded", "<b>1</b> closure unconfirmed", "<b>3</b> records complete",
		"injury: &lt;b&gt;scraped&lt;/b&gt;",
	} {
		assert.Contains(t, page, text)
	}
	for _, text := range []string{
		"8.42 ± 0.04", "1236-56703 destroyed: overlap that can't be opened", "No calibration is in the records",
		"+0.0210 -0.0120 to +0.0140 OUT OF LIMITS cold hands",
	} {
		assert.Contains(t, plain(page), text)
	}
	assert.Contains(t, plain(page), "Larus argentatus 3 8.38 0.25 8.11 8.60 7A", "the table of widths")
	assert.Contains(t, plain(page), "7A aluminium 3 1 33.3 % (6.1 % to 79.2 %) 1 1", "closings: Wilson's interval of 1 in 3")
}

// plain leaves the texts of a page, with single blanks.
func plain(page string) string {
	text := regexp.MustCompile(`<[^>]*>`).ReplaceAllString(page, " ")
	return strings.Join(strings.Fields(html.UnescapeString(text)), " ")
}

// The published rates: Spotswood et al. 2012, Methods Ecol. Evol. 3:29–38
// (injury 0.59 %, mortality 0.23 % of 620,997 captures); Clewley et al. 2018,
// Ecology and Evolution (mortality 0.0011 of about 1.5 million recaptures).
func TestIncidentsStandBesidePublishedRates(t *testing.T) {
	d := worked(t)
	text := plain(sheet(t, d, d.about()))
	assert.Contains(t, text, "injury 1 of 5 20.0 % (3.6 % to 62.4 %) 0.59 % of 620,997 captures at 22 organisations (Spotswood et al. 2012)")
	assert.Contains(t, text, "death 0 of 5 0 % (0 % to 43.4 %) 0.23 % of 620,997 captures at 22 organisations (Spotswood et al. 2012); 0.11 % of about 1.5 million recaptures (Clewley et al. 2018)")
	assert.Contains(t, text, "doi 10.1111/j.2041-210X.2011.00123.x")
}

func TestNothingOnThePageRunsOrLoads(t *testing.T) {
	d := worked(t)
	about := d.about()
	about.Title = `"><script>alert(1)</script>`
	about.Shifts[0].Place = "\x1b[2J<img src=x onerror=alert(1)>"
	about.Stock[0].First = "</svg><script>x</script>"
	page := sheet(t, d, about)
	drawings(t, page)
	assert.NotContains(t, page, "<script")
	assert.NotContains(t, page, "<img")
	assert.NotContains(t, page, "\x1b")
	assert.NotContains(t, page, "@import")
	for _, link := range regexp.MustCompile(`<[^>]*(?:src|href|url)\s*[=(]`).FindAllString(page, -1) {
		t.Errorf("the page loads something: %s", link)
	}
	for _, address := range regexp.MustCompile(`https?://[^"\s]*`).FindAllString(page, -1) {
		assert.Contains(t, address, "http://www.w3.org/", "names of XML only")
	}
	assert.Contains(t, page, "Sterna &lt;script&gt;")
}

func TestADayWithoutBirdsIsASheetToo(t *testing.T) {
	d := newDay(t)
	about := d.about()
	about.Checks, about.Stock = nil, nil
	about.Training = true
	page := sheet(t, d, about)
	assert.Empty(t, drawings(t, page))
	assert.Contains(t, page, "Nothing is open.")
	assert.Contains(t, page, "No bird was in the hand.")
	assert.Contains(t, page, "TRAINING: no real bird is in these records.")
}

func TestFurtherMeasuresAndCircumstancesAreTold(t *testing.T) {
	d := newDay(t)
	for _, told := range []bench.ShiftDetail{
		bench.Point{Latitude: "-60.125", Longitude: "4.5", AccuracyM: "8"},
		bench.WatchCheck{Watch: d.now.Add(2 * time.Second), Clock: d.now},
		bench.Person{Name: "M. Tolland", Role: bench.RoleSupervisor},
		bench.Instrument{What: "balance", Name: "<b>2</b>"},
	} {
		d.do(bench.TellShift{When: d.when(), Detail: told})
	}
	for _, wing := range []string{"411", "415.5"} {
		d.bird("Larus argentatus", "8.42", "8.45", "8.40")
		d.do(bench.TakeMeasure{When: d.when(), Name: "wing", Means: bench.MeansTyped, Raw: []byte(wing), Value: wing})
		d.do(bench.TellCircumstances{When: d.when(), Nest: "box 4", Captured: d.now.Add(-5 * time.Minute), ReturnedTo: "the <i>box</i>"})
	}
	d.do(bench.TakeMeasure{When: d.when(), Name: "mass", Means: bench.MeansTyped, Raw: []byte("920"), Value: "920"})
	text := plain(sheet(t, d, d.about()))
	for _, want := range []string{
		"latitude -60.125, longitude 4.5, within 8 m (WGS 84)", "supervisor M. Tolland", "the clock is 2s behind the watch, compared at 06:00", "balance <b>2</b>",
		"Larus argentatus mass g 1 920.0 – 920 920", "Larus argentatus wing mm 2 413.25 3.18 411.0 415.5",
		"wing 411 mm; caught at 05:56; nest box 4; put back the <i>box</i>",
	} {
		assert.Contains(t, text, want)
	}
	assert.NotContains(t, sheet(t, d, d.about()), "<i>")
}

func TestTightChoicesAreCounted(t *testing.T) {
	d := newDay(t)
	d.bird("Larus argentatus", "8.42", "8.45", "8.40")
	d.do(bench.ChooseSize{When: d.when(), Size: "5", Metal: "aluminium", Reason: "asked twice"})
	text := plain(sheet(t, d, d.about()))
	assert.Contains(t, text, "How the chosen sizes fit: tight 1.")
	d = worked(t)
	assert.Contains(t, plain(sheet(t, d, d.about())), "How the chosen sizes fit: tight 0,", "told even when there is none")
}

func TestErrorsOfTheRecordsAreHandedOn(t *testing.T) {
	d := worked(t)
	lost := errors.New("the card was pulled out")
	require.ErrorIs(t, report.WriteDay(t.Context(), io.Discard, failing{lost}, d.about()), lost)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	require.ErrorIs(t, report.WriteDay(ctx, io.Discard, d, d.about()), context.Canceled)
	require.ErrorIs(t, report.WriteDay(t.Context(), broken{}, d, d.about()), io.ErrClosedPipe)
}

type failing struct{ err error }

func (f failing) Handlings(context.Context, func(bench.Handling) error) error { return f.err }

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, io.ErrClosedPipe }

func TestReadingsThatDisagreeAreSaidOnTheSheet(t *testing.T) {
	d := newDay(t)
	d.bird("Larus argentatus", "8.42", "8.45", "9.40")
	d.banded("1236-56701", "7A", "soft metal, and none other here", nil)
	assert.Contains(t, plain(sheet(t, d, d.about())), "readings DISAGREE")
	assert.NotContains(t, plain(sheet(t, worked(t), worked(t).about())), "DISAGREE")
}

func TestWhatCantBeToldIsSaidOnTheSheet(t *testing.T) {
	d := newDay(t)
	d.bird("Larus argentatus", "8.42", "8.45", "8.40")
	d.do(bench.DescribeBird{When: d.when(), Bird: bench.Bird{Species: "Larus argentatus", Age: "adult", Sex: bench.NotKnown, Leg: bench.LegRight}})
	assert.Contains(t, plain(sheet(t, d, d.about())), "adult, sex not known")
}

func TestABirdBegunByMistakeIsNoBird(t *testing.T) {
	d := newDay(t)
	d.bird("Larus argentatus", "8.42", "8.45", "8.40")
	d.ids = append(d.ids, "mistake")
	d.do(bench.OpenBird{When: d.when(), ID: "mistake", Bird: bench.Bird{Species: "Larus argentatus"}})
	d.do(bench.Resolve{When: d.when(), Reason: "the key stuck"})
	page := sheet(t, d, d.about())
	assert.Contains(t, page, "<b>1</b> birds in the hand")
	assert.Contains(t, page, "<b>1</b> begun by mistake, and no bird")
	assert.NotContains(t, sheet(t, worked(t), worked(t).about()), "by mistake")
}
