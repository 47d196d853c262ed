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

// agreement compares the range with q₀.₉₅(n, ν)·s_r (ISO 5725-6:1994,
// 5.2.2). s_r is the pooled SD or the setting, never the sample's own, with
// which the test could hardly ever fire.
func (m Model) agreement(s sample) (Agreement, error) {
	a := Agreement{RangeMM: s.spread, SRMM: m.RepeatabilitySD, Source: FromSetting, OK: true}
	nu := math.Inf(1)
	if p := m.Pooled[widthClass(s.read)]; p.DOF >= pooledEnough {
		a.SRMM, a.Source, nu = p.SD, FromPooled, p.DOF
	}
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
