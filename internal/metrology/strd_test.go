package metrology

import (
	"bufio"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/length"
)

// strd reads the data of a NIST Statistical Reference Dataset: from line 61.
func strd(t testing.TB, name string) [][]float64 {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "reference", "strd", name+".dat"))
	require.NoError(t, err)
	defer f.Close()
	var rows [][]float64
	lines := bufio.NewScanner(f)
	for n := 1; lines.Scan(); n++ {
		fields := strings.Fields(lines.Text())
		if n < 61 || len(fields) == 0 {
			continue
		}
		row := make([]float64, len(fields))
		for i, field := range fields {
			row[i] = number(t, field)
		}
		rows = append(rows, row)
	}
	require.NoError(t, lines.Err())
	return rows
}

func column(rows [][]float64, i int) []float64 {
	out := make([]float64, len(rows))
	for j := range rows {
		out[j] = rows[j][i]
	}
	return out
}

// NIST StRD, univariate summary statistics: certified mean and standard
// deviation. In NumAcc3 and Michelso the data as doubles carry less than the
// certified digits; see the least digits.
func TestNISTUnivariate(t *testing.T) {
	for _, c := range []struct {
		name             string
		n                int
		mean, sd, digits float64
	}{
		{"NumAcc1", 3, 10000002, 1, 15},
		{"NumAcc3", 1001, 1000000.2, 0.1, 9},
		{"Mavro", 50, 2.001856, 0.000429123454003053, 12},
		{"Michelso", 100, 299.8524, 0.0790105478190518, 12},
	} {
		s, err := Summarise(column(strd(t, c.name), 0))
		require.NoError(t, err)
		assert.Equal(t, c.n, s.N)
		requireDigits(t, 14, c.mean, s.Mean, c.name+" mean")
		requireDigits(t, c.digits, c.sd, s.SD, c.name+" SD")
	}
}

// NIST StRD, linear regression: Norris.
func TestNISTNorris(t *testing.T) {
	rows := strd(t, "Norris")
	line, err := FitLine(column(rows, 1), column(rows, 0), nil, 0)
	require.NoError(t, err)
	requireDigits(t, 12, -0.262323073774029, line.Offset, "B0")
	requireDigits(t, 12, 1.00211681802045, line.Slope, "B1")
	requireDigits(t, 12, 0.232818234301152, line.OffsetSE, "SE of B0")
	requireDigits(t, 12, 0.429796848199937e-03, line.SlopeSE, "SE of B1")
	requireDigits(t, 12, 0.884796396144373, line.ResidualSD, "residual SD")
	requireDigits(t, 12, 26.6173985294224, line.SumOfSquares, "residual sum of squares")
	assert.Equal(t, 34.0, line.DOF)
}

// NIST StRD NoInt1: a line through the origin.
func TestNISTNoInt1(t *testing.T) {
	rows := strd(t, "NoInt1")
	line, err := FitProportional(column(rows, 1), column(rows, 0))
	require.NoError(t, err)
	requireDigits(t, 13, 2.07438016528926, line.Slope, "B1")
	requireDigits(t, 13, 0.165289256198347e-01, line.SlopeSE, "SE of B1")
	requireDigits(t, 13, 3.56753034006338, line.ResidualSD, "residual SD")
	assert.Equal(t, 10.0, line.DOF)
}

// NIST StRD Pontius is a parabola, each load taken twice. The straight line
// and its lack of fit are computed from the data with mpmath 1.2.1 at 40
// digits.
func TestNISTPontiusByAStraightLine(t *testing.T) {
	rows := strd(t, "Pontius")
	line, err := FitLine(column(rows, 1), column(rows, 0), nil, 0)
	require.NoError(t, err)
	requireDigits(t, 12, 0.00614968421052631579, line.Offset, "B0")
	requireDigits(t, 12, 7.22102581453634085e-7, line.Slope, "B1")
	requireDigits(t, 12, 0.000713205167465612364, line.OffsetSE, "SE of B0")
	requireDigits(t, 12, 3.96914780404424771e-10, line.SlopeSE, "SE of B1")
	requireDigits(t, 12, 0.00217127259605675035, line.ResidualSD, "residual SD")

	var xs []float64
	var groups [][]float64
	index := map[float64]int{}
	for _, row := range rows {
		i, seen := index[row[1]]
		if !seen {
			i = len(xs)
			index[row[1]] = i
			xs, groups = append(xs, row[1]), append(groups, nil)
		}
		groups[i] = append(groups[i], row[0])
	}
	lack, err := FitLackOfFit(xs, groups)
	require.NoError(t, err)
	assert.Equal(t, []float64{18, 20}, []float64{lack.DOFLine, lack.DOFPure})
	requireDigits(t, 11, 0.000178225988082706767, lack.SSLine, "SS of the means about the line")
	requireDigits(t, 10, 9.2215e-7, lack.SSRepeats, "SS of the repeats")
	requireDigits(t, 10, 214.74692365390876, lack.F, "F")
	requireDigits(t, 8, 5.50371738178495188e-19, lack.P, "p")
}

// NIST StRD, one-way analysis of variance. SmLs04 has seven constant leading
// digits: about 9 digits are what double precision holds of its data.
func TestNISTAnalysisOfVariance(t *testing.T) {
	for _, c := range []struct {
		name                                string
		df1, df2, ssB, ssW, f, rSquared, sd float64
		digits                              float64
	}{
		{"SiRstv", 4, 20, 5.11462616e-02, 2.1663656e-01, 1.18046237440255e+00, 1.90999039051129e-01, 1.04076068334656e-01, 12},
		{"SmLs01", 8, 180, 1.68, 1.8, 21, 4.82758620689655e-01, 0.1, 12},
		{"SmLs04", 8, 180, 1.68, 1.8, 21, 4.82758620689655e-01, 0.1, 9},
		{"AtmWtAg", 1, 46, 3.638341875e-09, 1.04951729166667e-08, 1.59467335677930e+01, 2.57426544538321e-01, 1.51048314446410e-05, 10},
	} {
		var groups [][]float64
		for _, row := range strd(t, c.name) {
			for len(groups) < int(row[0]) {
				groups = append(groups, nil)
			}
			groups[int(row[0])-1] = append(groups[int(row[0])-1], row[1])
		}
		a, err := AnalyseOneWay(groups)
		require.NoError(t, err, c.name)
		assert.Equal(t, []float64{c.df1, c.df2}, []float64{a.DFBetween, a.DFWithin})
		requireDigits(t, c.digits, c.ssB, a.SSBetween, c.name+" SS between")
		requireDigits(t, c.digits, c.ssW, a.SSWithin, c.name+" SS within")
		requireDigits(t, c.digits, c.f, a.F, c.name+" F")
		requireDigits(t, c.digits, c.rSquared, a.RSquared, c.name+" R²")
		requireDigits(t, c.digits, c.sd, a.ResidualSD, c.name+" residual SD")
	}
}

// Pontius through a calibration: lack of fit is that of the straight line,
// though references are a million times the readings.
func TestPontiusAsACalibration(t *testing.T) {
	var rows []RodReading
	for _, row := range strd(t, "Pontius") {
		reference, err := length.FromMM(row[1])
		require.NoError(t, err)
		reading, err := length.FromMM(row[0])
		require.NoError(t, err)
		rows = append(rows, RodReading{Reference: reference, Reading: reading})
	}
	c, err := Calibrate(rows, CalibrationSetup{})
	require.NoError(t, err)
	requireDigits(t, 10, 214.74692365390876, *c.LackOfFit.F, "F")
	requireDigits(t, 10, math.Sqrt(9.2215e-7/20), *c.RepeatabilityMM, "repeatability")
}

// Norris through a calibration: the correction y − x as a function of x has
// the certified line's offset and errors, and its slope less one.
func TestNorrisAsACalibration(t *testing.T) {
	var rows []RodReading
	for _, row := range strd(t, "Norris") {
		reference, err := length.FromMM(row[0])
		require.NoError(t, err)
		reading, err := length.FromMM(row[1])
		require.NoError(t, err)
		rows = append(rows, RodReading{Reference: reference, Reading: reading})
	}
	c, err := Calibrate(rows, CalibrationSetup{})
	require.NoError(t, err)
	requireDigits(t, 10, -0.262323073774029, c.OffsetMM, "B0")
	assert.InDelta(t, 1.00211681802045-1, c.Slope, 5e-14, "B1 − 1")
	requireDigits(t, 10, 0.232818234301152, c.OffsetSEMM, "SE of B0")
	requireDigits(t, 10, 0.429796848199937e-03, c.SlopeSE, "SE of B1")
	requireDigits(t, 10, 0.884796396144373, c.ResidualSDMM, "residual SD")
}
