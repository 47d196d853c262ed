package settings

import (
	"fmt"

	"seamfit/internal/length"
)

// Calibration is how calipers are calibrated against rods and checked before
// a shift.
type Calibration struct {
	ReadingsPerRod  int         `toml:"readings_per_rod" comment:"Readings of each rod in a calibration, 1 to 50 (bench setting)."`
	ValidDays       int         `toml:"valid_days" comment:"Days for which a calibration holds; 0 = without end (bench setting)."`
	RepeatabilitySD Millimetres `toml:"repeatability_sd_mm" comment:"SD of repeated readings of one rod, while no calibration has measured it (bench setting)."`
	ScaleExpansion  float64     `toml:"scale_expansion_per_k" comment:"Thermal expansion of the caliper's scale per kelvin (steel: 11.5e-6)."`
	TemperatureU    float64     `toml:"temperature_u_k" comment:"Standard uncertainty of the temperatures of rods and caliper, in kelvin (bench setting)."`

	CheckReadings int         `toml:"check_readings" comment:"Readings of the rod in a check before a shift, 1 to 20 (bench setting)."`
	CheckHistory  int         `toml:"check_history" comment:"Checks from which on the control limits come from their own history, 3 to 100 (bench setting)."`
	CheckLimit    Millimetres `toml:"check_limit_mm" comment:"Largest error of a check at any time, and the only limit while there is too little history (bench setting)."`

	MPE []MPEStep `toml:"mpe" comment:"Limits of error by diameter; the last row holds beyond it as well (DIN 862, 0.01 mm digital caliper: 20 µm up to 100 mm, then 30 µm)."`
}

// MPEStep is one row of the table of limits of error.
type MPEStep struct {
	UpTo  Millimetres `toml:"up_to_mm"`
	Limit Millimetres `toml:"limit_mm"`
}

func defaultCalibration() Calibration {
	um := func(n length.Length) Millimetres { return Millimetres{n * length.Micrometre} }
	return Calibration{
		ReadingsPerRod: 5, ValidDays: 90, RepeatabilitySD: um(10), ScaleExpansion: 11.5e-6, TemperatureU: 1,
		CheckReadings: 3, CheckHistory: 8, CheckLimit: um(30),
		MPE: []MPEStep{{um(100_000), um(20)}, {um(300_000), um(30)}},
	}
}

func (s *Settings) calibrationRules() []rule {
	c := &s.Calibration
	within := func(key string, v, least, most int) rule {
		return rule{"calibration." + key, v >= least && v <= most, fmt.Sprintf("%d is out of range", v), fmt.Sprintf("use %d to %d", least, most)}
	}
	const mm = length.Millimetre
	upTo := func(key string, v Millimetres, most length.Length) rule {
		return rule{
			"calibration." + key, v.Length >= length.Nanometre && v.Length <= most,
			fmt.Sprintf("%v is out of range", v.Length), fmt.Sprintf("use %v to %v", length.Nanometre, most),
		}
	}
	rules := []rule{
		within("readings_per_rod", c.ReadingsPerRod, 1, 50),
		within("valid_days", c.ValidDays, 0, 3650),
		upTo("repeatability_sd_mm", c.RepeatabilitySD, mm),
		// Written so that NaN fails too.
		{"calibration.scale_expansion_per_k", c.ScaleExpansion >= 0 && c.ScaleExpansion <= 1e-4, fmt.Sprintf("%g is out of range", c.ScaleExpansion), "use 0 to 1e-4; steel has 11.5e-6"},
		{"calibration.temperature_u_k", c.TemperatureU >= 0 && c.TemperatureU <= 20, fmt.Sprintf("%g is out of range", c.TemperatureU), "use 0 to 20"},
		within("check_readings", c.CheckReadings, 1, 20),
		within("check_history", c.CheckHistory, 3, 100),
		upTo("check_limit_mm", c.CheckLimit, mm),
		{"calibration.mpe", len(c.MPE) > 0, "no limit of error is given", "give one row at least, or take the table out"},
	}
	for i, step := range c.MPE {
		ascending := step.UpTo.Length > 0 && (i == 0 || step.UpTo.Length > c.MPE[i-1].UpTo.Length)
		rules = append(rules,
			rule{fmt.Sprintf("calibration.mpe[%d].up_to_mm", i), ascending, "the rows do not ascend", "order them by up_to_mm, each above the one before"},
			rule{
				fmt.Sprintf("calibration.mpe[%d].limit_mm", i), step.Limit.Length > 0 && step.Limit.Length <= 5*mm,
				fmt.Sprintf("%v is out of range", step.Limit.Length), fmt.Sprintf("use above 0 to %v", 5*mm),
			})
	}
	return rules
}
