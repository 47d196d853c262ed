package export_test

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/export"
	"seamfit/internal/store"
)

func TestTheListOfUsedBands(t *testing.T) {
	w := newWorked(t, false)
	w.banded("1236-56701")
	w.measured("1236-56702")
	w.do(bench.Look{When: w.when(), Findings: []string{"overlap"}})
	w.do(bench.Remove{When: w.when(), Reason: "-1+1, and it won't open"})
	w.do(bench.GiveNumber{When: w.when(), Number: "1236-56703"})
	w.close()
	// A band that came back is no band of ours to report.
	w.bird("Larus argentatus")
	w.do(bench.TellFound{When: w.when(), Number: "888-12345", Scheme: "elsewhere", Then: bench.ThenLeft})
	// A second size for a second band.
	w.measured("1236-56710")
	w.do(bench.Look{When: w.when(), Findings: []string{"gap"}})
	w.do(bench.Remove{When: w.when(), Reason: "spoilt"})
	w.do(bench.ChooseSize{When: w.when(), Size: "6", Metal: "incoloy"})
	w.do(bench.GiveNumber{When: w.when(), Number: "1236-56711"})
	w.close()
	out := filepath.Join(t.TempDir(), "bands.csv")
	run, err := bands.RunOf(w.number("1236-56704"), 5)
	require.NoError(t, err)
	require.NoError(t, w.store.Receive(t.Context(), []store.BandString{{ID: newID(), Run: run, Size: "6", Metal: "incoloy", At: w.now, Entered: w.now, By: "Å. Holm"}}))
	// Past midnight at the bench, not yet by UTC.
	lost := time.Date(2026, 5, 20, 1, 0, 0, 0, time.FixedZone("", 2*3600))
	require.NoError(t, w.store.Record(t.Context(), []store.StockEvent{{
		Kind: bands.EventLost, Numbers: []string{"1236-56705"}, At: lost, Entered: lost, By: "Å. Holm", Reason: "fell into the sea",
	}}))
	require.NoError(t, w.export(bench.Selection{}, export.Bands, out))
	header, rows := readCSV(t, out)
	assert.Equal(t, []string{"number", "state", "size", "metal", "day", "species", "reason", "by", "handling", "disputed", "training"}, header)
	var short [][]string
	for _, r := range rows {
		short = append(short, []string{r[0], r[1], r[2], r[3], r[4], r[6], r[9], r[10]})
	}
	assert.Equal(t, [][]string{
		{"1236-56701", "on bird", "6", "stainless steel", "2026-05-17", "", "false", "false"},
		{"1236-56702", "destroyed", "6", "stainless steel", "2026-05-17", "-1+1, and it won't open", "false", "false"},
		{"1236-56703", "on bird", "6", "stainless steel", "2026-05-17", "", "false", "false"},
		{"1236-56705", "lost", "6", "incoloy", "2026-05-20", "fell into the sea", "false", "false"},
		{"1236-56710", "destroyed", "6", "stainless steel", "2026-05-17", "spoilt", "false", "false"},
		{"1236-56711", "on bird", "6", "incoloy", "2026-05-17", "", "false", "false"},
	}, short)
	require.ErrorContains(t, w.export(bench.Selection{}, export.Bands, out), "is there already")
	for only, want := range map[bench.Selection]int{{From: "2026-05-18"}: 1, {To: "2026-05-19"}: 5, {Species: "Larus argentatus"}: 5, {From: "2026-05-21"}: 0} {
		out := filepath.Join(t.TempDir(), "bands.csv")
		require.NoError(t, w.export(only, export.Bands, out))
		_, rows := readCSV(t, out)
		assert.Len(t, rows, want, "%+v", only)
	}
}

// A number of ours on a bird that no record here has banded is used too.
func TestABandOfOursThatWasFoundIsListed(t *testing.T) {
	w := newWorked(t, false)
	run, err := bands.RunOf(w.number("1236-56704"), 5)
	require.NoError(t, err)
	require.NoError(t, w.store.Receive(t.Context(), []store.BandString{{ID: newID(), Run: run, Size: "6", Metal: "incoloy", At: w.now, Entered: w.now, By: "Å. Holm"}}))
	w.bird("Larus argentatus")
	w.do(bench.TellFound{When: w.when(), Number: "1236-56706", Condition: "worn", Then: bench.ThenLeft})
	out := filepath.Join(t.TempDir(), "bands.csv")
	require.NoError(t, w.export(bench.Selection{}, export.Bands, out))
	_, rows := readCSV(t, out)
	require.Len(t, rows, 1)
	assert.Equal(t, []string{"1236-56706", "on bird", "6", "incoloy"}, rows[0][:4])
	assert.Equal(t, "found on a bird, and no record here has put it there", rows[0][6])
}
