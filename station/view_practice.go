package station

import (
	"fmt"
	"strings"
)

// practiceLines tell, before the first bird and between two, for which of the
// planned bands the bander has met the bench target.
func (v *view) practiceLines(columns int) []line {
	p := v.s.Bench.Setup.Practice
	shift := v.s.Bench.Shift
	if len(p.Planned) == 0 || shift == nil || shift.Training {
		return nil
	}
	var met, open []string
	for _, k := range p.Planned {
		name := k.Size + " " + k.Metal
		if p.MetBy(v.s.Bander, k) {
			met = append(met, name)
		} else {
			open = append(open, name)
		}
	}
	lines := wrapped("", fmt.Sprintf("Closings practised by %s (advice, never a licence):", v.s.Bander), plain, columns)
	if len(met) > 0 {
		lines = append(lines, wrapped("√ ", "bench target met: "+strings.Join(met, ", "), plain, columns)...)
	}
	if len(open) > 0 {
		text := "keep practising: " + strings.Join(open, ", ")
		if p.Required {
			text += " (this bench asks for the reason where such a band is chosen)"
		}
		lines = append(lines, wrapped("! ", text, wrong, columns)...)
	}
	return lines
}
