package export_test

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
	"seamfit/internal/export"
)

// The signs are those of OWASP's page on CSV injection.
func TestNoTextOfASpreadsheetCopyIsAFormula(t *testing.T) {
	w := story(t, false)
	home := t.TempDir()
	require.NoError(t, w.export(bench.Selection{}, export.Spreadsheet, filepath.Join(home, "copies")))
	require.NoError(t, w.export(bench.Selection{}, export.CSV, filepath.Join(home, "tables")))
	guarded := 0
	for _, table := range export.Tables() {
		_, rows := readCSV(t, filepath.Join(home, "copies", table.Name+"-spreadsheet.csv"))
		_, plain := readCSV(t, filepath.Join(home, "tables", table.Name+".csv"))
		require.Len(t, rows, len(plain))
		for r := range rows {
			for i, c := range table.Columns {
				text := rows[r][i]
				switch c.Kind {
				case export.Whole, export.Number, export.Flag, export.Length, export.Offset:
					assert.Equal(t, plain[r][i], text)
				default:
					assert.NotZero(t, strings.IndexAny(text, "=+-@\t\r\n＝＋－＠"), "%s.%s begins like a formula", table.Name, c.Name)
					if text != plain[r][i] {
						assert.Equal(t, "'"+plain[r][i], text)
						guarded++
					}
				}
			}
		}
	}
	assert.GreaterOrEqual(t, guarded, 6, "the story holds such texts")
	_, incidents := readCSV(t, filepath.Join(home, "tables", "incidents.csv"))
	assert.True(t, strings.HasPrefix(incidents[0][3], "=HYPERLINK"), "a file for machines is never altered")
}
