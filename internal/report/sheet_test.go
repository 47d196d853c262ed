package report_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/catalogue"
	"seamfit/internal/report"
)

func TestTheSheetAsksForWhatTheSettingsDo(t *testing.T) {
	book, err := catalogue.Embedded()
	require.NoError(t, err)
	var b bytes.Buffer
	s := report.Sheet{Bench: "Hollow <Skerry>", Readings: 4, Further: []string{"wing, mm"}, Findings: []string{"f flush", "g gap"}, Closures: book.Closures, Pages: 2}
	require.NoError(t, report.WriteSheet(&b, s))
	page := b.String()
	for _, asked := range []string{
		"Hollow &lt;Skerry&gt;, page 2", "caught at", "species", "leg width 4, mm", "number on the band", "1 Edges meet all round", "4 Rims smooth",
		"read back off the closed band", "fate, and why", "wing, mm", "nest", "f flush, g gap", "size: A4 landscape",
	} {
		assert.Contains(t, page, asked)
	}
	for _, c := range book.Closures {
		assert.Contains(t, page, c.Name)
		for _, st := range c.Statements {
			assert.Contains(t, page, st.Text)
		}
	}
	assert.NotContains(t, page, "leg width 5")
	assert.NotContains(t, page, "<script")
	heads := strings.Count(page, "<th>")
	assert.Equal(t, 10*heads, strings.Count(page, "<td>"), "ten rows of a page, with a cell under each heading")
}

func TestSheetsHaveLimits(t *testing.T) {
	for _, pages := range []int{0, -1, 101} {
		require.ErrorContains(t, report.WriteSheet(&bytes.Buffer{}, report.Sheet{Pages: pages}), "ask for 1 to 100")
	}
}
