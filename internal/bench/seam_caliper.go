package bench

import (
	"time"

	"seamfit/internal/seam"
)

// SeamCaliper returns what is known of the caliper that read a closed band's
// widths at a time: the calibration that is in force, and how single readings
// repeat, by the bench's own readings of such widths where they are enough, else
// by the setting.
func (s *Setup) SeamCaliper(widths []seam.Dimension, at time.Time) seam.Caliper {
	m := s.model(at)
	c := seam.Caliper{MPE: m.MPE, Correction: m.Correction}
	sum := 0.0
	for _, w := range widths {
		sum += w.Value.MM()
	}
	c.RepeatabilitySD, c.RepeatabilityDOF, _ = m.SingleReading(sum / float64(max(len(widths), 1)))
	return c
}
