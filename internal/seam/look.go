package seam

import "slices"

// Missed returns what was measured wrong and a look did not find: reasons for
// another look. What the look found and the measurement did not stands; a
// judgement never takes a finding away.
func (j Judgement) Missed(look []string) []string {
	var missed []string
	for _, id := range j.Findings {
		if !slices.Contains(look, id) {
			missed = append(missed, id)
		}
	}
	return missed
}
