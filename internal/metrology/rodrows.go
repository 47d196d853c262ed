package metrology

import (
	"fmt"
	"math"

	"seamfit/internal/length"
)

// What marks a reading as mistyped rather than wrong: off, unlike the others,
// by more than the larger of half a millimetre and ten robust SDs of all
// errors, and by more than a tenth of the rod.
const (
	farOff       = length.Millimetre / 2
	farOffSpread = 10
	farOffPart   = 0.1
)

// checkRows refuses readings that no calibration can use.
func checkRows(rows []RodReading) error {
	if len(rows) < fewestReadings {
		return &RowError{
			What: fmt.Sprintf("there are %d readings, fewer than %d", len(rows), fewestReadings),
			Mend: "read two rods or more of different diameters, three times each",
		}
	}
	us := map[length.Length]float64{}
	for _, r := range rows {
		if math.IsNaN(r.RodU) || math.IsInf(r.RodU, 0) || r.RodU < 0 {
			return &RowError{r.Line, fmt.Sprintf("the rod's uncertainty is %g mm", r.RodU), "give 0 or a positive number of millimetres"}
		}
		if u, seen := us[r.Reference]; seen && u != r.RodU {
			return &RowError{
				r.Line, fmt.Sprintf("the rod of %v has the uncertainties %g mm and %g mm", r.Reference, u, r.RodU),
				"give each rod one uncertainty",
			}
		}
		us[r.Reference] = r.RodU
		if inOtherUnit(r) {
			return &RowError{
				r.Line, fmt.Sprintf("the reading %v of a rod of %v looks like inches taken for millimetres", r.Reading, r.Reference),
				"give both in millimetres",
			}
		}
	}
	if len(us) < 2 {
		return &RowError{
			What: fmt.Sprintf("all readings are of one diameter, %v", rows[0].Reference),
			Mend: "read rods of at least two diameters, better three",
		}
	}
	return checkMistyped(rows)
}

// inOtherUnit reports whether one of the two is 25.4 times the other, within
// two in a hundred.
func inOtherUnit(r RodReading) bool {
	a, b := r.Reference.MM(), r.Reading.MM()
	if a <= 0 || b <= 0 {
		return false
	}
	factor := max(a/b, b/a) / length.Inch.MM()
	return math.Abs(factor-1) < 0.02
}

// checkMistyped refuses the reading that is farthest off, if it must be a slip
// of the pen.
func checkMistyped(rows []RodReading) error {
	errs := make([]float64, len(rows))
	for i, r := range rows {
		errs[i] = (r.Reading - r.Reference).MM()
	}
	median, spread, err := RobustSpread(errs)
	if err != nil {
		return err
	}
	limit := max(farOff.MM(), farOffSpread*spread)
	worst := -1
	for i, r := range rows {
		off := math.Abs(errs[i] - median)
		part := farOffPart * max(r.Reference.Abs(), r.Reading.Abs()).MM()
		if off > limit && off > part && (worst < 0 || off > math.Abs(errs[worst]-median)) {
			worst = i
		}
	}
	if worst < 0 {
		return nil
	}
	r := rows[worst]
	return &RowError{
		r.Line, fmt.Sprintf("the reading %v of a rod of %v is off by %v, unlike the others", r.Reading, r.Reference, r.Reading-r.Reference),
		"correct it, or take it out",
	}
}
