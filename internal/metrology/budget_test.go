package metrology

import (
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"seamfit/internal/length"
)

// record is a calibration of drawn readings as it would be kept.
func record(t require.TestingT, rows []RodReading, setup CalibrationSetup) Record {
	r := Record{Conditions: Conditions{Resolution: setup.Resolution, MPE: setup.MPE}}
	for _, row := range rows {
		r.Readings = append(r.Readings, RecordedReading{Reference: row.Reference, Reading: row.Reading, RodU: row.RodU})
	}
	var err error
	r.Result, err = Calibrate(rows, setup)
	require.NoError(t, err)
	return r
}

// JCGM 100:2008 H.3.4: the correction at 30 °C has a standard uncertainty of
// 0.0041; with nothing from elsewhere the line is all of its budget.
func TestTheBudgetOfACorrectionH3(t *testing.T) {
	r := record(t, thermometer(t), CalibrationSetup{Pivot: 20})
	b, err := r.CorrectionBudget(30)
	require.NoError(t, err)
	requireDigits(t, 9, 0.004138595753, b.UMM, "u(b(30))")
	assert.InDelta(t, 9, float64(b.DOF), 0)
	require.Len(t, b.Lines, 1)
	assert.InDelta(t, 1, b.Lines[0].Share, 1e-12)
	assert.InDelta(t, 2.26, b.CoverageFactor, 0.005, "t of 9 degrees of freedom, JCGM 100 table G.2")
}

// The budget tells how U came about, so it must come to the U of the verdict;
// its shares add up to one.
func TestBudgetsComeToTheUncertaintyOfTheVerdict(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows := drawRods(t)
		u := rapid.Float64Range(0, 0.01).Draw(t, "rod u")
		for i := range rows {
			rows[i].RodU = u
		}
		setup := CalibrationSetup{MPE: DIN862(), Resolution: 10_000, CommonU: rapid.Float64Range(0, 0.005).Draw(t, "common")}
		r := record(t, rows, setup)
		for i, rod := range r.Result.Rods {
			b, err := r.VerdictBudget(i)
			require.NoError(t, err)
			assert.InEpsilon(t, rod.ExpandedMM, b.ExpandedMM, 1e-9)
			share := 0.0
			for _, l := range b.Lines {
				share += l.Share
			}
			assert.InDelta(t, 1, share, 1e-9)
		}
		x := (r.Result.LowMM + r.Result.HighMM) / 2
		asked, err := r.Result.Ask([]float64{x})
		require.NoError(t, err)
		b, err := r.CorrectionBudget(x)
		require.NoError(t, err)
		assert.InEpsilon(t, asked.Asked[0].UMM, b.UMM, 1e-9)
	})
}

func TestBudgetsOfNoRodAreRefused(t *testing.T) {
	r := record(t, thermometer(t), CalibrationSetup{Pivot: 20})
	for _, rod := range []int{-1, len(r.Result.Rods)} {
		_, err := r.VerdictBudget(rod)
		require.ErrorIs(t, err, ErrDomain)
	}
}

func caliperRecord(t require.TestingT) Record {
	rods := threeRods(t)
	r := Record{
		Caliper: "caliper", By: "A. Holm", At: time.Date(2026, 5, 17, 6, 30, 0, 0, time.UTC), ValidUntil: time.Date(2026, 8, 15, 6, 30, 0, 0, time.UTC),
		Conditions: Conditions{Resolution: 10_000, MPE: DIN862(), Rods: rods},
	}
	var rows []RodReading
	for i, um := range []length.Length{10, 10, 20, 20, 20, 20, 30, 20, 20} {
		rod := rods[i/3]
		row := RodReading{Reference: rod.Reference, Reading: rod.Reference + um*length.Micrometre, RodU: rod.U()}
		rows = append(rows, row)
		r.Readings = append(r.Readings, RecordedReading{Reference: row.Reference, Reading: row.Reading, RodU: row.RodU})
	}
	r.Readings = append(r.Readings, RecordedReading{Reference: rods[1].Reference, Reading: 8_190_000, SetAside: "rod tilted"})
	var err error
	r.Result, err = Calibrate(rows, CalibrationSetup{MPE: DIN862(), Resolution: 10_000, Pivot: 8})
	require.NoError(t, err)
	return r
}

func TestTheTableOfACalibration(t *testing.T) {
	text := caliperRecord(t).Table(80)
	for _, want := range []string{
		"caliper      caliper, 2026-05-17 06:30 by A. Holm\n",
		"             holds until 2026-08-15 06:30\n",
		"temperature  not taken: certified diameters as at 20 °C\n",
		"readings     9 on 3 rods, least squares\n",
		"R-4              4.0000   3      +0.0133   0.0084    0.020  DOES NOT CONFORM\n",
		"set aside: 8.1900 mm on the rod of 8.0000 mm: rod tilted\n",
		"The caliper does not conform on 3 of 3 rods",
	} {
		assert.Contains(t, text, want)
	}
	for _, line := range strings.Split(text, "\n") {
		if !strings.HasPrefix(line, "!") && !strings.HasPrefix(line, "The caliper") {
			assert.LessOrEqual(t, utf8.RuneCountInString(line), 80, line)
		}
	}
}

// Every reading has its mark, none lies outside the frame, and a suspect one
// is shown as such.
func TestThePlotShowsEveryReading(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, err := Calibrate(drawRods(t), CalibrationSetup{MPE: DIN862()})
		require.NoError(t, err)
		columns := rapid.IntRange(0, 120).Draw(t, "columns")
		lines := strings.Split(strings.TrimSuffix(c.ResidualPlot(columns), "\n"), "\n")
		require.Len(t, lines, len(c.Rods)+2)
		for _, line := range lines[1:] {
			assert.LessOrEqual(t, len(line), max(columns, fewestColumns))
		}
		marks, crowded := 0, false
		for _, line := range lines[1 : len(lines)-1] {
			for _, mark := range line[12:] {
				switch {
				case mark == 'o' || mark == 'X':
					marks++
				case mark >= '2' && mark <= '9':
					marks += int(mark - '0')
				case mark == '+':
					crowded = true
				}
			}
			crowded = crowded || strings.Contains(line, "X")
		}
		if !crowded {
			assert.Equal(t, c.N, marks)
		}
	})
}

// Eyes have gone over this one.
func TestThePlotOfACalibration(t *testing.T) {
	const want = `residuals in mm, limits +-0.0105 for 95 % of readings
    4.000    |            o                  :           2                   |
    8.000    |                            3  :                               |
   12.000    |            o                  :           2                   |
            -0.0105                          0                          +0.0105
`
	assert.Equal(t, want, caliperRecord(t).Result.ResidualPlot(80))
}
