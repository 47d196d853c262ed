package report

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/length"
	"seamfit/internal/metrology"
)

// calibration is one of three rods, one of them past its date, with a reading
// set aside.
func calibration(t *testing.T) metrology.Record {
	t.Helper()
	const mm, um = length.Millimetre, length.Micrometre
	at := time.Date(2026, 5, 17, 6, 30, 0, 0, time.UTC)
	temperatures := metrology.Temperatures{Known: true, Scale: 12.5, Rods: 12.5, U: 1, ScaleExpansion: metrology.SteelExpansion}
	rods, err := metrology.Plan([]metrology.Rod{
		{Name: "R-4", Diameter: 4 * mm, U: 500, Material: "steel", Due: at.AddDate(-1, 0, 0)},
		{Name: "R-8", Diameter: 8 * mm, Class: metrology.ClassX, Material: "steel", Due: at.AddDate(1, 0, 0)},
		{Name: "R-12", Diameter: 12 * mm, U: 500},
	}, temperatures)
	require.NoError(t, err)
	r := metrology.Record{
		ID: "0197-record", Caliper: "caliper", By: "A. Holm", At: at, ValidUntil: at.AddDate(0, 3, 0),
		Conditions: metrology.Conditions{Temperatures: temperatures, Resolution: 10 * um, MPE: metrology.DIN862(), Rods: rods},
	}
	var rows []metrology.RodReading
	for i, off := range []length.Length{10, 10, 20, 20, 20, 20, 30, 20, 20} {
		rod := rods[i/3]
		row := metrology.RodReading{Reference: rod.Reference, Reading: rod.Reference + off*um, RodU: rod.U()}
		rows = append(rows, row)
		r.Readings = append(r.Readings, metrology.RecordedReading{Reference: row.Reference, Reading: row.Reading, RodU: row.RodU})
	}
	r.Readings = append(r.Readings, metrology.RecordedReading{Reference: rods[1].Reference, Reading: 8_190_000, SetAside: "rod <tilted>"})
	r.Result, err = metrology.Calibrate(rows, metrology.CalibrationSetup{MPE: metrology.DIN862(), Resolution: 10 * um, Pivot: 8})
	require.NoError(t, err)
	return r
}

// wellFormed reads a document as XML to its end.
func wellFormed(t *testing.T, text []byte) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(text))
	for {
		_, err := d.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		require.NoError(t, err)
	}
}

func TestTheCertificateTellsWhatItIsAndIsNot(t *testing.T) {
	r := calibration(t)
	page, err := Certificate(r)
	require.NoError(t, err)
	text := string(page)
	for _, want := range []string{
		"In-house verification, not an accredited certificate.",
		"2026-05-17 06:30", "A. Holm", "0197-record", "12.5 °C, u 1 K; references corrected",
		"The caliper does not conform on 3 of 3 rods",
		"2025-05-17, past", "4.0000 mm, u 0.00050 mm", "class X",
		"Budget of the mean error on the rod of", "Budget of the correction at", "rectangular", "∞",
		"Set aside: 8.1900 mm on the rod of 8.0000 mm: rod &lt;tilted&gt;",
	} {
		assert.Contains(t, text, want)
	}
	assert.Equal(t, 1, strings.Count(text, "<svg"))
	assert.NotContains(t, text, "<?xml")
	assert.NotRegexp(t, `(?i)<script|src=|href="http`, text, "the page stands alone")
}

func TestWhatAPersonWroteIsNoMarkup(t *testing.T) {
	r := calibration(t)
	r.Note, r.By, r.Caliper = "<script>alert(1)</script>", "<b>Holm</b>", `"><img src=x>`
	r.Conditions.Rods[0].Rod.Name = "<i>R-4</i>"
	page, err := Certificate(r)
	require.NoError(t, err)
	for _, raw := range []string{"<script", "<b>Holm", "<img", "<i>R-4"} {
		assert.NotContains(t, string(page), raw)
	}
}

func TestTheCertificateOfAFileThatNamesNoRods(t *testing.T) {
	r := calibration(t)
	r.ID, r.Caliper, r.By, r.ValidUntil = "", "", "", time.Time{}
	r.Conditions.Rods = nil
	page, err := Certificate(r)
	require.NoError(t, err)
	assert.Contains(t, string(page), "not stored in the bench&#39;s records")
	assert.Contains(t, string(page), `<td class="n">0.020</td>`, "the limit of error is known all the same")
	_, err = Certificate(metrology.Record{})
	require.Error(t, err)
}

func TestThePlotIsADrawingOfItsOwn(t *testing.T) {
	r := calibration(t)
	drawing := CalibrationPlot(r)
	wellFormed(t, drawing)
	text := string(drawing)
	assert.Contains(t, text, `viewBox="0 0 720 470"`)
	assert.Equal(t, 2*len(r.Result.Readings), strings.Count(text, "<circle"), "each reading stands in both panels")
	// Readings without any scatter leave no height to scale by.
	for i := range r.Result.Readings {
		r.Result.Readings[i].ResidualMM = 0
	}
	r.Result.ResidualSDMM = 0
	wellFormed(t, CalibrationPlot(r))
}

func TestTheDaySheetShowsTheCalibrationInWordsAndAsADrawing(t *testing.T) {
	r := calibration(t)
	r.By = "<b>Holm</b>"
	var b strings.Builder
	require.NoError(t, Day{Calibration: &r}.caliperSection().Render(&b))
	assert.Contains(t, b.String(), "Calibrated on 2026-05-17 by &lt;b&gt;Holm&lt;/b&gt;, valid until 2026-08-17; NOT every rod conforms.")
	assert.Contains(t, b.String(), "<desc>Above, the error of each of 9 readings on 3 rods from 4.00 to 12.03 mm")
	assert.NotContains(t, b.String(), "uncalibrated")
}
