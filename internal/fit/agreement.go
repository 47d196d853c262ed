package fit

import (
	"fmt"
	"math"

	"seamfit/internal/metrology"
)

// Where the repeatability SD behind the critical range comes from.
const (
	FromPooled  = "pooled"
	FromSetting = "setting"
)

// Agreement tells whether the readings of one leg lie as close together as
// repeats of one thing do.
type Agreement struct {
	RangeMM float64 `json:"range_mm"` // largest less smallest reading
	// CriticalRangeMM is the range that such readings exceed once in twenty
	// times; 0 for a single reading, which has nothing to agree with.
	CriticalRangeMM float64 `json:"critical_range_mm"`
	SRMM            float64 `json:"s_r_mm"`
	Source          string  `json:"source"` // "pooled" or "setting"
	OK              bool    `json:"ok"`
}

// SingleReading returns the SD of single readings of a width in millimetres,
// its degrees of freedom, and where it comes from: the bench's own of that class
// of width once it has ten degrees of freedom, else the setting with infinitely
// many.
func (m Model) SingleReading(mm float64) (sd, dof float64, source string) {
	if p := m.Pooled[widthClass(mm)]; p.DOF >= pooledEnough {
		return p.SD, p.DOF, FromPooled
	}
	return m.RepeatabilitySD, math.Inf(1), FromSetting
}

// agreement compares the range with q₀.₉₅(n, ν)·s_r (ISO 5725-6:1994,
// 5.2.2). s_r is the pooled SD or the setting, never the sample's own, with
// which the test could hardly ever fire.
func (m Model) agreement(s sample) (Agreement, error) {
	a := Agreement{RangeMM: s.spread, OK: true}
	var nu float64
	a.SRMM, nu, a.Source = m.SingleReading(s.read)
	if s.n < 2 {
		return a, nil
	}
	q, err := metrology.CriticalRangeFactor(s.n, nu)
	if err != nil {
		return Agreement{}, fmt.Errorf("the critical range: %w", err)
	}
	a.CriticalRangeMM = q * a.SRMM
	a.OK = a.RangeMM <= a.CriticalRangeMM
	return a, nil
}
