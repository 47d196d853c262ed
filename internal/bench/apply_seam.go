package bench

import (
	"slices"
	"strings"
)

func (a *applying) look(h Handling, c Look) []Blocker {
	band, ok := h.CurrentBand()
	if !ok {
		return refuse(NumberMissing, "No band is taken for this bird: scan or type the number of the band first.")
	}
	findings, blockers := a.findings(c.Findings)
	if blockers != nil {
		return blockers
	}
	a.record(ClosingLooked{Head: a.head(h.ID), Band: band.ID, Findings: findings})
	return nil
}

// findings checks the findings and puts them in the order of the list, each
// once.
func (a *applying) findings(told []string) ([]string, []Blocker) {
	var known []string
	for _, finding := range a.state.Setup.Book.Findings {
		known = append(known, finding.ID)
	}
	for _, id := range told {
		if !slices.Contains(known, id) {
			return nil, refuse(FindingUnknown, "A look does not find %q: say one of %s, or nothing for flush.", id, strings.Join(known, ", "))
		}
	}
	var found []string
	for _, id := range known {
		if slices.Contains(told, id) {
			found = append(found, id)
		}
	}
	return found, nil
}

// confirm takes statements about the last closing and the number read off the
// band. A read-back that does not match is recorded: it blocks the record
// until one of the two is corrected.
func (a *applying) confirm(h Handling, c Confirm) []Blocker {
	closing, ok := h.LastClosing()
	if !ok {
		return refuse(ClosingMissing, "No closing to confirm: close the band and look all round the seam first.")
	}
	if !closing.Flush() {
		return refuse(ClosingNotFlush, "The last look found %s: a closing is confirmed only when its look was flush.", findingWords(closing.Findings))
	}
	statements, blockers := a.statements(h, c)
	if blockers != nil {
		return blockers
	}
	back, blockers := a.readBack(c.ReadBack)
	if blockers != nil {
		return blockers
	}
	for _, st := range statements {
		a.record(StatementMade{Head: a.head(h.ID), Closing: closing.Seq, Statement: st})
	}
	if back != "" && back != h.Confirmation.ReadBack {
		a.record(NumberReadBack{Head: a.head(h.ID), Closing: closing.Seq, Digits: back})
	}
	return nil
}

// readBack returns the digits that were read off the band, "" for none.
func (a *applying) readBack(text string) (string, []Blocker) {
	if strings.TrimSpace(text) == "" {
		return "", nil
	}
	tail, err := a.state.Setup.Pattern.Tail(text)
	if err != nil || len(tail) < readBackLeast {
		return "", refuse(ReadBackShort, "Key the last three digits on the band, or all of its number.")
	}
	return tail, nil
}

// readBackLeast is how many digits prove that the band was read: three tell a
// thousand neighbours of a string apart.
const readBackLeast = 3

// statements returns the statements of c that have not been made yet.
func (a *applying) statements(h Handling, c Confirm) ([]string, []Blocker) {
	if len(c.Statements) == 0 && !c.All {
		return nil, nil
	}
	band, _ := h.CurrentBand()
	kind, ok := h.closureKind(band, a.state.Setup.Book)
	if !ok {
		return nil, refuse(SizeMissing, "No size chosen, so the closure's statements are not known: choose the size and metal.")
	}
	var declared, wanted []string
	for _, st := range kind.Statements {
		declared = append(declared, st.ID)
		if c.All || slices.Contains(c.Statements, st.ID) {
			wanted = append(wanted, st.ID)
		}
	}
	for _, id := range c.Statements {
		if !slices.Contains(declared, id) {
			return nil, refuse(StatementUnknown, "A %s closure has no statement %q: it has %s.", kind.Name, id, strings.Join(declared, ", "))
		}
	}
	return slices.DeleteFunc(wanted, func(id string) bool { return slices.Contains(h.Confirmation.Statements, id) }), nil
}
