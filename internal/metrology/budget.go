package metrology

import (
	"fmt"
	"math"
	"slices"

	"seamfit/internal/length"
)

// Budget is how an uncertainty is made up.
type Budget struct {
	Of             string // what it is the uncertainty of
	UMM            float64
	DOF            DOF // effective
	CoverageFactor float64
	ExpandedMM     float64
	Lines          []BudgetLine
}

// BudgetLine is one component of a budget: its standard uncertainty in
// millimetres, and its share of the variance.
type BudgetLine struct {
	Component    string
	Distribution string
	UMM          float64
	DOF          DOF
	Share        float64 // uᵢ²/u²
}

// The distributions of a budget.
const (
	normalT     = "normal, from repeats"
	normal      = "normal"
	rectangular = "rectangular"
)

// newBudget combines the lines (JCGM 100:2008, G.4), without those of 0.
func newBudget(of string, lines []BudgetLine) (Budget, error) {
	lines = slices.DeleteFunc(lines, func(l BudgetLine) bool { return l.UMM == 0 })
	parts := make([]Component, len(lines))
	for i, l := range lines {
		parts[i] = Component{l.UMM, float64(l.DOF)}
	}
	u, nu, err := Combine(parts)
	if err != nil {
		return Budget{}, fmt.Errorf("the budget of %s: %w", of, err)
	}
	for i := range lines {
		if u > 0 {
			lines[i].Share = (lines[i].UMM / u) * (lines[i].UMM / u)
		}
	}
	k := CoverageFactor(coverage, nu)
	return Budget{Of: of, UMM: u, DOF: DOF(nu), CoverageFactor: k, ExpandedMM: k * u, Lines: lines}, nil
}

// VerdictBudget returns the budget of U in the verdict on one rod, an index in
// Result.Rods: repeats, the rod's certificate, temperature, what all rods
// share, and the display. It returns ErrDomain for no such rod.
func (r Record) VerdictBudget(rod int) (Budget, error) {
	if rod < 0 || rod >= len(r.Result.Rods) {
		return Budget{}, fmt.Errorf("rod %d of %d: %w", rod+1, len(r.Result.Rods), ErrDomain)
	}
	of := r.Result.Rods[rod]
	sr, dof := r.Result.ResidualSDMM, float64(r.Result.N-2)
	repeats := "scatter about the line"
	if r.Result.RepeatabilityMM != nil {
		sr, dof = *r.Result.RepeatabilityMM, float64(r.Result.N-len(r.Result.Rods))
		repeats = "repeats within rods"
	}
	lines := []BudgetLine{{Component: fmt.Sprintf("%s, mean of %d", repeats, of.N), Distribution: normalT, UMM: sr / math.Sqrt(float64(of.N)), DOF: DOF(dof)}}
	lines = append(lines, r.rodLines(of.ReferenceMM)...)
	lines = append(lines,
		BudgetLine{Component: "what all rods share", Distribution: normal, UMM: r.Result.CommonUMM, DOF: Infinite()},
		BudgetLine{Component: "step of the display", Distribution: rectangular, UMM: Resolution(r.Conditions.Resolution.MM()), DOF: Infinite()},
	)
	return newBudget(fmt.Sprintf("the mean error on the rod of %.4f mm", of.ReferenceMM), lines)
}

// rodLines are the components of the rod with that reference.
func (r Record) rodLines(referenceMM float64) []BudgetLine {
	for _, p := range r.Conditions.Rods {
		if p.Reference.MM() == referenceMM {
			certificate := BudgetLine{Component: "the rod, by its certificate", Distribution: normal, UMM: p.CertificateU, DOF: Infinite()}
			if p.Rod.Class != "" && p.Rod.U == 0 {
				certificate.Component, certificate.Distribution = "the rod, by its class "+string(p.Rod.Class), rectangular
			}
			return []BudgetLine{certificate, {Component: "temperatures", Distribution: normal, UMM: p.ThermalU, DOF: Infinite()}}
		}
	}
	for _, reading := range r.Readings {
		if reading.Reference.MM() == referenceMM {
			return []BudgetLine{{Component: "the rod, as given", Distribution: normal, UMM: reading.RodU, DOF: Infinite()}}
		}
	}
	return nil
}

// CorrectionBudget returns the budget of the correction at a reading, in
// millimetres: the line, and what the rods bring (JCGM 100:2008, H.3.5).
func (r Record) CorrectionBudget(x float64) (Budget, error) {
	_, uLine, dof, _, _ := r.Result.At(x)
	return newBudget(fmt.Sprintf("the correction at %.3f mm", x), []BudgetLine{
		{Component: "the line", Distribution: normalT, UMM: uLine, DOF: DOF(dof)},
		{Component: "the rods, each by itself", Distribution: normal, UMM: r.Result.rodsOwn(x), DOF: Infinite()},
		{Component: "what all rods share", Distribution: normal, UMM: r.Result.CommonUMM, DOF: Infinite()},
	})
}

// WorstRod returns the index in Rods of the one whose |error| + U comes
// nearest to its limit of error, or passes it farthest.
func (r Record) WorstRod() int {
	worst, margin := 0, math.Inf(1)
	for i, rod := range r.Result.Rods {
		limit := r.LimitOf(rod).MM()
		if left := limit - math.Abs(rod.MeanErrorMM) - rod.ExpandedMM; left < margin {
			worst, margin = i, left
		}
	}
	return worst
}

// LimitOf returns the limit of error of a rod of the result.
func (r Record) LimitOf(rod RodResult) length.Length {
	for _, reading := range r.Readings {
		if reading.Reference.MM() == rod.ReferenceMM {
			return r.Conditions.MPE.Limit(reading.Reference)
		}
	}
	return 0
}
