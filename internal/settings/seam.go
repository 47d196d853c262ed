package settings

import (
	"fmt"

	"seamfit/internal/length"
)

// Seam is against what a closed band is judged from measurements, on practice
// dowels, removed bands and in spot checks. No published limit was found: all
// of it is bench settings, and the banding office's rules come first.
type Seam struct {
	Gap        Millimetres `toml:"gap_mm" comment:"Widest gap between the edges, as seen outside (bench setting)."`
	Overlap    Millimetres `toml:"overlap_mm" comment:"By how much the edges may have passed each other, judged from a band smaller round than flush (bench setting)."`
	OutOfRound Millimetres `toml:"out_of_round_mm" comment:"Largest less smallest width; above it an overlap is suspected (bench setting)."`
	Offset     Millimetres `toml:"offset_mm" comment:"Edges out of line sideways: height over the string's (bench setting)."`
	Clearance  Millimetres `toml:"clearance_mm" comment:"Least room between leg and band at the narrowest (bench setting)."`
	FlushRisk  float64     `toml:"flush_risk" comment:"Probability of a gap over its limit up to which a band is called flush (bench setting)."`
	OuterSD    Millimetres `toml:"outer_sd_mm" comment:"SD of the outer diameter between bands of one string, while too few are measured (bench setting)."`
	NominalU   Millimetres `toml:"nominal_outer_u_mm" comment:"Standard uncertainty of an outer diameter that is computed, not measured (bench setting)."`
	ThicknessU Millimetres `toml:"thickness_u_mm" comment:"Standard uncertainty of a band's thickness (bench setting)."`
	OnLeg      bool        `toml:"on_leg" comment:"Let the station measure a band on a living leg, for spot checks; else only bands that were taken off (bench setting)."`
}

// Practice is when closings on a dowel meet the bench target. All of it is
// bench settings; the target is advice, never a licence.
type Practice struct {
	UnskilledRate float64 `toml:"unskilled_failure_rate" comment:"Part of closings that an unskilled hand does not close flush at first look (bench setting)."`
	SkilledRate   float64 `toml:"skilled_failure_rate" comment:"The same of a skilled hand (bench setting)."`
	Risk          float64 `toml:"false_target_risk" comment:"Probability that an unskilled hand meets the target all the same (bench setting)."`
	Within        int     `toml:"within_closings" comment:"Number of closings for which that probability holds (bench setting)."`
	LapseDays     int     `toml:"lapse_days" comment:"Days without a practice closing after which the target has to be met anew; 0 = never (bench setting)."`

	Planned  []string `toml:"planned" comment:"Sizes and metals of the bands planned, like 6 stainless steel: their targets are told at the shift's start."`
	Required bool     `toml:"required" comment:"Ask for a reason where a bander chooses bands whose target is not met; else it is advice. Never a licence."`
}

// The defaults are those of seam.DefaultLimits and seam.DefaultScheme.
func defaultSeam() (Seam, Practice) {
	um := func(n length.Length) Millimetres { return Millimetres{n * length.Micrometre} }
	judged := Seam{
		Gap: um(300), Overlap: um(300), OutOfRound: um(250), Offset: um(200), Clearance: um(100), FlushRisk: 0.05,
		OuterSD: um(20), NominalU: um(100), ThicknessU: um(20),
	}
	practised := Practice{
		UnskilledRate: 0.5, SkilledRate: 0.1, Risk: 0.05, Within: 50, LapseDays: 180, Planned: []string{},
	}
	return judged, practised
}

func (s *Settings) seamRules() []rule {
	var rules []rule
	for _, v := range []struct {
		key   string
		value Millimetres
	}{
		{"seam.gap_mm", s.Seam.Gap},
		{"seam.overlap_mm", s.Seam.Overlap},
		{"seam.out_of_round_mm", s.Seam.OutOfRound},
		{"seam.offset_mm", s.Seam.Offset},
		{"seam.clearance_mm", s.Seam.Clearance},
		{"seam.outer_sd_mm", s.Seam.OuterSD},
		{"seam.nominal_outer_u_mm", s.Seam.NominalU},
		{"seam.thickness_u_mm", s.Seam.ThicknessU},
	} {
		const most = 5 * length.Millimetre
		rules = append(rules, rule{
			v.key, v.value.Length >= 0 && v.value.Length <= most,
			fmt.Sprintf("%v is out of range", v.value.Length), fmt.Sprintf("use 0 to %v", most),
		})
	}
	p := s.Practice
	// Written so that NaN fails too.
	return append(rules,
		rule{"seam.flush_risk", s.Seam.FlushRisk >= 0.0001 && s.Seam.FlushRisk <= 0.4, fmt.Sprintf("%g is out of range", s.Seam.FlushRisk), "use 0.0001 to 0.4"},
		rule{"practice.unskilled_failure_rate", p.UnskilledRate <= 0.95 && p.UnskilledRate > p.SkilledRate, "unskilled_failure_rate must be above skilled_failure_rate and at most 0.95", "use 0.5"},
		rule{"practice.skilled_failure_rate", p.SkilledRate >= 0.01, "skilled_failure_rate must be at least 0.01", "use 0.1"},
		rule{"practice.false_target_risk", p.Risk >= 0.001 && p.Risk <= 0.4, fmt.Sprintf("%g is out of range", p.Risk), "use 0.001 to 0.4"},
		rule{"practice.within_closings", p.Within >= 10 && p.Within <= 500, fmt.Sprintf("%d is out of range", p.Within), "use 10 to 500"},
		rule{"practice.lapse_days", p.LapseDays >= 0 && p.LapseDays <= 3650, fmt.Sprintf("%d is out of range", p.LapseDays), "use 0 to 3650"},
	)
}
