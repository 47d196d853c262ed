package bench

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"seamfit/internal/fit"
	"seamfit/internal/length"
	"seamfit/internal/metrology"
	"seamfit/internal/seam"
)

func TestTheSeamsCaliperRepeatsAsTheBenchDoes(t *testing.T) {
	at := time.Date(2026, 5, 17, 6, 0, 0, 0, time.UTC)
	model := fit.DefaultModel()
	model.Pooled = [3]fit.Pooled{{SD: 0.02, DOF: 9.9}, {SD: 0.04, DOF: 10}, {SD: 0.05, DOF: 40}}
	setup := &Setup{Model: model, Calibration: &metrology.Record{At: at.AddDate(0, -1, 0), ValidUntil: at.AddDate(0, 1, 0)}}
	widths := func(mm ...length.Length) (w []seam.Dimension) {
		for _, v := range mm {
			w = append(w, seam.Dimension{Value: v * length.Millimetre})
		}
		return w
	}
	few := setup.SeamCaliper(widths(4), at)
	assert.InDelta(t, model.RepeatabilitySD, few.RepeatabilitySD, 0, "9.9 degrees of freedom are too few")
	assert.True(t, math.IsInf(few.RepeatabilityDOF, 1))
	enough := setup.SeamCaliper(widths(3, 8, 10), at)
	assert.InDelta(t, 0.04, enough.RepeatabilitySD, 0, "of the class of the mean width, 7 mm")
	assert.InDelta(t, 10, enough.RepeatabilityDOF, 0)
	assert.InDelta(t, 0.05, setup.SeamCaliper(widths(11, 11), at).RepeatabilitySD, 0)
	assert.NotNil(t, enough.Correction)
	assert.Nil(t, setup.SeamCaliper(widths(7), at.AddDate(0, 2, 0)).Correction, "the calibration has run out")
	assert.InDelta(t, model.RepeatabilitySD, setup.SeamCaliper(nil, at).RepeatabilitySD, 0)
}
