package metrology

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"seamfit/internal/length"
)

// PlannedRod is a rod as a caliper is compared with it: at the temperatures
// of that day.
type PlannedRod struct {
	Rod Rod `json:"rod"`
	// Reference is what a perfect scale shows for the rod.
	Reference length.Length `json:"reference_nm"`
	// CertificateU and ThermalU are standard uncertainties in millimetres: the
	// certificate's (or its class's), and what the temperatures add.
	CertificateU float64 `json:"certificate_u_mm"`
	ThermalU     float64 `json:"thermal_u_mm"`
}

// U returns the standard uncertainty of the reference in millimetres.
func (p PlannedRod) U() float64 { return math.Hypot(p.CertificateU, p.ThermalU) }

// Temperatures are those of a calibration in degrees Celsius, with their
// standard uncertainty in kelvin and the expansion of the caliper's scale per
// kelvin. The zero value stands for temperatures that were not taken.
type Temperatures struct {
	Known          bool    `json:"known"`
	Scale          float64 `json:"scale_celsius"`
	Rods           float64 `json:"rods_celsius"`
	U              float64 `json:"u_k"`
	ScaleExpansion float64 `json:"scale_expansion_per_k"`
}

// Plan puts rods in order of their diameter and states each at the
// temperatures (see Thermal.Reference); a rod whose expansion is not known is
// taken as steel. Without temperatures the certified diameters stand. It
// returns a *RowError for fewer than two rods, two of one diameter, a class
// that has no tolerance there, or temperatures that no bench sees.
func Plan(rods []Rod, t Temperatures) ([]PlannedRod, error) {
	planned := make([]PlannedRod, 0, len(rods))
	for _, r := range rods {
		p, err := PlanRod(r, t)
		if err != nil {
			return nil, err
		}
		planned = append(planned, p)
	}
	slices.SortStableFunc(planned, func(a, b PlannedRod) int { return int(a.Reference - b.Reference) })
	for i := 1; i < len(planned); i++ {
		if planned[i].Reference == planned[i-1].Reference {
			return nil, &RowError{
				What: fmt.Sprintf("the rods %s and %s have one diameter, %v", planned[i-1].Rod.Name, planned[i].Rod.Name, planned[i].Reference),
				Mend: "take one of them",
			}
		}
	}
	if len(planned) < 2 {
		return nil, &RowError{
			What: fmt.Sprintf("a calibration needs rods of two diameters or more, and there are %d", len(planned)),
			Mend: "add rods to the register, better three, over the widths that you measure",
		}
	}
	return planned, nil
}

// Overdue returns a warning for each of the rods whose certificate has run
// out.
func Overdue(rods []PlannedRod, at time.Time) []string {
	var warnings []string
	for _, p := range rods {
		if p.Rod.Overdue(at) {
			warnings = append(warnings, fmt.Sprintf("the certificate of rod %s ran out on %s: have it certified anew", p.Rod.Name, p.Rod.Due.Format(time.DateOnly)))
		}
	}
	return warnings
}

// PlanRod states one rod at the temperatures, as Plan does. It returns a
// *RowError for a class that has no tolerance at the rod's diameter, or
// temperatures or an expansion that no bench sees.
func PlanRod(r Rod, t Temperatures) (PlannedRod, error) {
	u, err := r.StandardU()
	if err != nil {
		return PlannedRod{}, &RowError{What: fmt.Sprintf("rod %s: %v", r.Name, err), Mend: "enter it again with its uncertainty or another class"}
	}
	p := PlannedRod{Rod: r, Reference: r.Diameter, CertificateU: u}
	if !t.Known {
		return p, nil
	}
	thermal := Thermal{
		RodExpansion: r.Expansion, RodTemperature: t.Rods,
		ScaleExpansion: t.ScaleExpansion, ScaleTemperature: t.Scale, TemperatureU: t.U,
	}
	if r.Expansion == 0 {
		thermal.RodExpansion = SteelExpansion
	}
	p.Reference, p.ThermalU, err = thermal.Reference(r.Diameter)
	if errors.Is(err, ErrDomain) {
		return PlannedRod{}, &RowError{What: fmt.Sprintf("rod %s: %v", r.Name, err), Mend: "give the temperatures in degrees Celsius and the expansion per kelvin, like 11.5e-6"}
	}
	return p, err
}
