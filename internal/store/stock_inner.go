package store

import (
	"context"
	"encoding/json"
	"math"

	"seamfit/internal/bench"
	"seamfit/internal/fit"
	"seamfit/internal/length"
	"seamfit/internal/metrology"
	"seamfit/internal/seam"
)

// MeasuredInner returns the inner diameters of bands where they come closed, by
// size and metal, from the newest string of each of which outer diameter and
// thickness were measured; mpe is the limit of error of the caliper that did it:
//
//	inner = D − 2t,   u² = s²(D)·(1+1/n) + 4·s²(t)·(1+1/m) + 5·mpe²/3
//
// with D and t the means of the n and m values and s their standard deviations
// (0 of one value, which shows no scatter): the band that a bird gets is a
// further one of its string, as far from the mean as any. The caliper's errors
// on both count as independent: they are not, which makes the true u smaller.
func (s *Store) MeasuredInner(ctx context.Context, mpe length.Length) (map[bench.BandKind]fit.Inner, error) {
	inner := map[bench.BandKind]fit.Inner{}
	err := s.View(ctx, func(v *View) error {
		return v.eachOf(ctx, `SELECT n.size, n.metal, e.measures FROM band_string n
			JOIN stock_event e ON e.string = n.id AND e.kind = 'measured'
			 AND json_array_length(e.measures, '$.outer_nm') > 0 AND json_array_length(e.measures, '$.thickness_nm') > 0
			ORDER BY n.id, e.seq`, nil, func(r []any) error {
			var m seam.StringMeasures
			if err := json.Unmarshal([]byte(text(r[2])), &m); err != nil {
				return err
			}
			value, err := innerOf(m, mpe)
			if err == nil && value.Value > 0 { // the newest comes last
				inner[bench.BandKind{Size: text(r[0]), Metal: text(r[1])}] = value
			}
			return err
		})
	})
	return inner, s.fail("read", err)
}

func innerOf(m seam.StringMeasures, mpe length.Length) (fit.Inner, error) {
	outer, uOuter, err := meanOf(m.Outer)
	if err != nil {
		return fit.Inner{}, err
	}
	wall, uWall, err := meanOf(m.Thickness)
	if err != nil {
		return fit.Inner{}, err
	}
	value, err := length.FromMM(outer - 2*wall)
	if err != nil {
		return fit.Inner{}, err
	}
	caliper := math.Sqrt(5) * metrology.Rectangular(mpe.MM())
	return fit.Inner{Value: value, U: math.Hypot(math.Hypot(uOuter, 2*uWall), caliper)}, nil
}

// meanOf returns the mean of lengths in millimetres and the standard uncertainty
// with which it stands for a further one, from their scatter; 0 for one.
func meanOf(lengths []length.Length) (mean, u float64, err error) {
	values := make([]float64, len(lengths))
	for i, l := range lengths {
		values[i] = l.MM()
	}
	summary, err := metrology.Summarise(values)
	if err != nil {
		return 0, 0, err
	}
	return summary.Mean, summary.SD * math.Sqrt(1+1/float64(len(values))), nil
}
