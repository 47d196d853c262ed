package fit

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"seamfit/internal/catalogue"
	"seamfit/internal/length"
	"seamfit/internal/metrology"
)

// WornBand is a band that a bird came back with, whose wall was measured then.
type WornBand struct {
	Species, Metal, Size string
	Years                float64         // since it was put on
	Wall                 []length.Length // as it is now
	New                  []length.Length // of new bands of its string; none measured: nil
}

// tableStep is the last digit of the table of sizes, a thousandth of an inch.
const tableStep = 25_400 * length.Nanometre

// worn is one band's loss as a part of its new wall, with its standard
// uncertainty, and the years that it took.
type worn struct{ loss, u, years float64 }

// BenchWear pools what bands have lost by species and metal. Of a band with the
// wall t after y years and t₀ when new,
//
//	loss = 1 − t/t₀,   u²(loss) = u²(t)/t₀² + t²·u²(t₀)/t₀⁴
//
// and of the n bands of a species and metal
//
//	r = Σ loss/Σ y,   u²(r) = max[Σ (lossᵢ − r·yᵢ)²·n/(n−1), Σ u²(lossᵢ)] / (Σ y)²
//
// that is, bands count by the years that they were worn (the ratio estimate of
// survey sampling and its variance; the formula from memory), and one band has
// the uncertainty of its own measurement. u(t) is √(s²/n + MPE²/3) of n readings, s
// the larger of their own SD and the setting. t₀ is measured on new bands of the
// string, or for aluminium the table's; the table is of aluminium bands, so that
// a band of another metal without a measured string is left out, as is one worn
// for no time. A pooled rate that is not above 0 is left out too: it shows no
// wear. The rates come in the order of the names.
func BenchWear(bands []WornBand, sizes *catalogue.Catalogue, m Model) []catalogue.Wear {
	type kind struct{ species, metal string }
	pooled := map[kind][]worn{}
	for _, b := range bands {
		if w, ok := b.worn(sizes, m); ok {
			k := kind{b.Species, b.Metal}
			pooled[k] = append(pooled[k], w)
		}
	}
	var rates []catalogue.Wear
	for k, all := range pooled {
		rate, u := pool(all)
		if !(rate > 0 && rate < 1) {
			continue
		}
		rates = append(rates, catalogue.Wear{
			Species: k.species, Metal: k.metal, PerYear: rate, U: u, Birds: len(all),
			Source: fmt.Sprintf("bench's own: %s", bandCount(len(all))), Mark: catalogue.FromUser,
		})
	}
	slices.SortFunc(rates, func(a, b catalogue.Wear) int {
		return strings.Compare(a.Species+"\x00"+a.Metal, b.Species+"\x00"+b.Metal)
	})
	return rates
}

func bandCount(n int) string {
	if n == 1 {
		return "1 band"
	}
	return fmt.Sprintf("%d bands", n)
}

func pool(all []worn) (rate, u float64) {
	losses, years, own := 0.0, 0.0, 0.0
	for _, w := range all {
		losses, years, own = losses+w.loss, years+w.years, own+w.u*w.u
	}
	rate = losses / years
	scatter := 0.0
	for _, w := range all {
		scatter += (w.loss - rate*w.years) * (w.loss - rate*w.years)
	}
	if n := float64(len(all)); n > 1 {
		scatter *= n / (n - 1)
	}
	return rate, math.Sqrt(max(scatter, own)) / years
}

// worn returns what the band has lost; false where it can't be told.
func (b WornBand) worn(sizes *catalogue.Catalogue, m Model) (worn, bool) {
	wall, uWall, ok := m.wall(b.Wall)
	if !ok || !(b.Years > 0) {
		return worn{}, false
	}
	fresh, uFresh, ok := m.wall(b.New)
	if !ok {
		size, known := sizes.Size(b.Size)
		if !known || size.Thickness <= 0 || b.Metal != aluminium {
			return worn{}, false
		}
		fresh, uFresh = size.Thickness.MM(), metrology.Rectangular(tableStep.MM()/2)
	}
	return worn{
		loss: 1 - wall/fresh, years: b.Years,
		u: math.Hypot(uWall/fresh, wall*uFresh/(fresh*fresh)),
	}, true
}

// aluminium is the metal that the tables' thicknesses are of.
const aluminium = "aluminium"

// wall returns the mean of readings of a wall in millimetres and its standard
// uncertainty; false for none.
func (m Model) wall(readings []length.Length) (mean, u float64, ok bool) {
	if len(readings) == 0 {
		return 0, 0, false
	}
	values := make([]float64, len(readings))
	for i, r := range readings {
		values[i] = r.MM()
	}
	summary, err := metrology.Summarise(values)
	if err != nil || summary.Mean <= 0 {
		return 0, 0, false
	}
	s := max(summary.SD, m.RepeatabilitySD)
	return summary.Mean, math.Hypot(s/math.Sqrt(float64(len(values))), metrology.Rectangular(m.MPE.MM())), true
}
