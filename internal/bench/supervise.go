package bench

import (
	"slices"
	"strings"
)

// Supervise is a second person's look at the last closing, after it was looked
// at as flush. By is the supervisor. No findings: it is flush to that eye too,
// and what a trainee confirmed may count. A finding is a finding of that same
// closing, which is then not flush any more: what was said of it is void, and
// the band is worked on or taken off.
type Supervise struct {
	When
	Findings []string
}

// Supervised is that look. It belongs to the closing with that sequence, and is
// no working of the seam: it doesn't count as a closing.
type Supervised struct {
	Head
	Closing  int
	Findings []string
}

func (a *applying) supervise(h Handling, c Supervise) []Blocker {
	closing, ok := h.LastClosing()
	if !ok {
		return refuse(ClosingMissing, "No closing to look at: close the band and look all round the seam first.")
	}
	if !closing.Flush() {
		return refuse(ClosingNotFlush, "The last look found %s: a supervisor looks once the band is closed flush.", findingWords(closing.Findings))
	}
	head := a.head(h.ID)
	if blockers := h.notSupervisor(head.By); blockers != nil {
		return blockers
	}
	findings, blockers := a.findings(c.Findings)
	if blockers != nil {
		return blockers
	}
	if len(findings) == 0 && h.Confirmation.Supervised != "" {
		return nil
	}
	a.record(Supervised{Head: head, Closing: closing.Seq, Findings: findings})
	return nil
}

// notSupervisor refuses a look by a trainee, and by another where the shift
// names its supervisors.
func (h Handling) notSupervisor(name string) []Blocker {
	if h.People.Role(name) == RoleTrainee {
		return refuse(NotSupervisor, "%s is a trainee in this shift: a supervisor looks for themselves, and says so.", name)
	}
	supervisors := h.People.Named(RoleSupervisor)
	if len(supervisors) == 0 || h.People.Role(name) == RoleSupervisor {
		return nil
	}
	return refuse(NotSupervisor, "%s is no supervisor of this shift: %s looks.", name, strings.Join(supervisors, " or "))
}

// supervisorBlockers keeps a record from being complete while what confirms its
// closing was said by a trainee and no supervisor has looked.
func (h Handling) supervisorBlockers() []Blocker {
	if h.Confirmation.Supervised != "" {
		return nil
	}
	for _, by := range h.Confirmation.By {
		if h.People.Role(by) == RoleTrainee {
			return refuse(SupervisorMissing, "%s is a trainee, and the supervisor has not looked: a supervisor looks at the closed band before the record is complete.", by)
		}
	}
	return nil
}

func (h *Handling) foldSupervised(f Supervised) {
	if len(f.Findings) == 0 {
		h.Confirmation.Supervised = f.By
		return
	}
	h.Confirmation = Confirmation{}
	for i := range h.Closings {
		if h.Closings[i].Seq == f.Closing {
			h.Closings[i].Findings = f.Findings
		}
	}
}

// said notes who spoke of the closing.
func (c *Confirmation) said(by string) {
	if !slices.Contains(c.By, by) {
		c.By = append(c.By, by)
	}
}
