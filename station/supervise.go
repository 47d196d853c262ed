package station

import (
	"strings"

	"seamfit/internal/bench"
)

// keySupervise begins a supervisor's look at the closing.
const keySupervise = 'v'

// supervisable reports whether a supervisor may look now: the last look was
// flush, and nobody has looked after it.
func (s State) supervisable(h bench.Handling) bool {
	closing, ok := h.LastClosing()
	return ok && closing.Flush() && h.Confirmation.Supervised == "" && len(h.People.Named(bench.RoleTrainee)) > 0
}

// supervisorEntered takes the name of who looks; an empty line stands for the
// only supervisor that the shift names.
func (t *turn) supervisorEntered() {
	name := strings.Join(strings.Fields(t.s.Desk.Typed), " ")
	h, _ := t.s.bird()
	if named := h.People.Named(bench.RoleSupervisor); name == "" && len(named) == 1 {
		name = named[0]
	}
	if name == "" {
		t.refuse([]bench.Blocker{{Code: CodeNotTyped, Mend: "Who looks? Type the name, then Enter."}})
		return
	}
	t.quiet()
	t.s.Desk.Marked = nil
	t.question(AskSupervised)
	t.s.Desk.Supervisor = name
}

// supervise records the supervisor's look.
func (t *turn) supervise(findings []string) {
	c := bench.Supervise{When: t.when(), Findings: findings}
	c.By = t.s.Desk.Supervisor
	if !t.ask(c) {
		t.question(AskSupervisor)
		return
	}
	t.turnTo(StepSeam)
	if len(findings) > 0 {
		t.say("Found by " + c.By + ": the closing is not flush. Mend the seam and look again, or remove the band.")
		return
	}
	t.advance()
	t.s.Message = c.By + " looked, and found the seam flush."
}

// supervisedKey takes the keys of that look: as of any other.
func (t *turn) supervisedKey(h bench.Handling, r rune) {
	if r == keyFlush {
		t.flushLook(t.supervise)
		return
	}
	if id, ok := wordsOf(t.s.defectKeys(h), r); ok {
		t.mark(id)
	}
}

func (v *view) superviseLines(a Ask, columns int) []line {
	d := v.s.Desk
	if a == AskSupervisor {
		lines := []line{words("A supervisor looks at the closed band. Who? Esc goes back."), fieldLine("supervisor:", d.Typed)}
		if named := v.h.People.Named(bench.RoleSupervisor); len(named) == 1 {
			lines = append(lines, say(piece{"Enter", key}, piece{" " + named[0], plain}))
		}
		return lines
	}
	lines := []line{
		say(piece{d.Supervisor + " looks all round the seam, and says what there is:", strong}),
		say(piece{string(keyFlush), key}, piece{" flush: nothing wrong", plain}),
	}
	lines = append(lines, v.findingLines(columns)...)
	if len(d.Marked) > 0 {
		lines = append(lines, say(piece{"Enter", key}, piece{" records what is marked", plain}))
	}
	return lines
}

// supervisedLine says whether a supervisor has looked, where there is a trainee;
// nothing where there is none.
func (v *view) supervisedLine() []line {
	switch by := v.h.Confirmation.Supervised; {
	case by != "":
		return []line{say(piece{"√ ", good}, piece{by + " looked, and found it flush", plain})}
	case hasCode(v.blockers, bench.SupervisorMissing):
		return []line{say(piece{"· ", plain}, piece{string(keySupervise), key}, piece{" a supervisor looks: a trainee confirmed it", plain})}
	case v.s.supervisable(v.h):
		return []line{say(piece{"  ", plain}, piece{string(keySupervise), key}, piece{" a supervisor looks too", plain})}
	default:
		return nil
	}
}
