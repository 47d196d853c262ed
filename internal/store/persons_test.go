package store

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
)

// shiftFact stores a fact of the shift as it is; the error is the guards'.
func (w *worked) tryShiftFact(kind, content string) error {
	ctx := context.Background()
	return w.store.transact(ctx, func() error {
		var previous string
		var seq int64
		if err := w.store.writer.QueryRowContext(ctx, `SELECT coalesce(f.digest, s.digest), coalesce(f.seq, 0) FROM shift s LEFT JOIN shift_fact f ON f.shift = s.id
			WHERE s.id = ? ORDER BY f.seq DESC LIMIT 1`, w.state.Shift.ID).Scan(&previous, &seq); err != nil {
			return err
		}
		values := []any{w.state.Shift.ID, seq + 1, kind, utc(w.now), offset(w.now), "A. Holm", content}
		return w.store.exec(ctx, insertInto("shift_fact", shiftFactColumns(), "digest"), append(values, digestOf(append([]any{previous}, values...)))...)
	})
}

func (w *worked) shiftFact(kind, content string) {
	require.NoError(w.t, w.tryShiftFact(kind, content))
}

// tryRow stores a fact of a kind as a row; the error is the guards'.
func (w *worked) tryRow(handling, by string, r row) error {
	ctx := context.Background()
	return w.store.transact(ctx, func() error {
		head := bench.Head{Handling: handling, At: w.now, Entered: w.now, By: by, Typed: by}
		var previous string
		if err := w.store.writer.QueryRowContext(ctx, "SELECT seq + 1, digest FROM fact WHERE handling = ? ORDER BY seq DESC LIMIT 1", handling).Scan(&head.Seq, &previous); err != nil {
			return err
		}
		if err := w.store.exec(ctx, insertFactSQL, handling, head.Seq, r.kind, utc(w.now), offset(w.now), utc(w.now), offset(w.now), by, by, 0, "", digest(previous, head, r)); err != nil {
			return err
		}
		return w.store.exec(ctx, insertInto("fact_"+r.kind, append([]string{"handling", "seq"}, columns(r.kind)...)), append([]any{handling, head.Seq}, r.values...)...)
	})
}

func (w *worked) lastClosing(handling string) (seq int64) {
	require.NoError(w.t, w.store.db.QueryRowContext(context.Background(), "SELECT seq FROM last_closing WHERE handling = ?", handling).Scan(&seq))
	return seq
}

// supervisedClosing has L. Bye, a trainee, close a band that A. Holm looks at.
func (w *worked) supervisedClosing(t *testing.T, number string) string {
	t.Helper()
	w.shiftFact("person", `{"name":"L. Bye","role":"trainee"}`)
	id := w.gull(number)
	w.do(bench.Look{When: w.when()})
	confirm := bench.Confirm{When: w.when(), All: true, ReadBack: number}
	confirm.By = "L. Bye"
	w.do(confirm)
	require.NoError(t, w.tryRow(id, "A. Holm", row{"supervised", []any{w.lastClosing(id), "[]"}}))
	require.NoError(t, w.tryRow(id, "A. Holm", row{"measure", []any{"wing", "typed", []byte{}, "412", "mm", "1", "", ""}}))
	require.NoError(t, w.tryRow(id, "A. Holm", row{"circumstances", []any{"N12", "", utc(w.now), offset(w.now), "nest"}}))
	return id
}

func TestATraineesClosingNeedsASupervisor(t *testing.T) {
	w := newWorked(t)
	confirmed := func(id string) bool {
		var yes bool
		require.NoError(t, w.store.db.QueryRowContext(t.Context(), "SELECT EXISTS (SELECT 1 FROM confirmed WHERE handling = ?)", id).Scan(&yes))
		return yes
	}
	w.shiftFact("person", `{"name":"L. Bye","role":"trainee"}`)
	w.shiftFact("person", `{"name":"A. Holm","role":"supervisor"}`)
	id := w.gull("1236-56701")
	w.do(bench.Look{When: w.when(), Findings: []string{"gap"}})
	require.ErrorContains(t, w.tryRow(id, "A. Holm", row{"supervised", []any{w.lastClosing(id), "[]"}}), "when its look was flush")
	w.do(bench.Look{When: w.when()})
	confirm := bench.Confirm{When: w.when(), All: true, ReadBack: "701"}
	confirm.By = "l. bye"
	w.do(confirm)
	require.False(t, confirmed(id))
	fate := row{"fate", []any{"banded", "", "A. Holm"}}
	require.ErrorContains(t, w.tryRow(id, "L. Bye", row{"supervised", []any{w.lastClosing(id), "[]"}}), "not their own supervisor")
	require.NoError(t, w.tryRow(id, "A. Holm", fate))
	require.ErrorContains(t, w.tryRow(id, "L. Bye", row{kind: "completion"}), "lacks a confirmed flush last closing")
	require.NoError(t, w.tryRow(id, "A. Holm", row{"supervised", []any{w.lastClosing(id), "[]"}}))
	require.True(t, confirmed(id))
	require.NoError(t, w.tryRow(id, "L. Bye", row{kind: "completion"}))
	requireWhole(t, w.store)
}

// SQLite folds the case of plain letters alone: the records know a trainee by the
// one spelling that the shift was told.
func TestATraineeIsKnownHoweverTheNameIsWritten(t *testing.T) {
	for _, written := range []string{"Åse Bye", "åse bye", "ÅSE  BYE "} {
		w := newWorked(t)
		w.do(bench.TellShift{When: w.when(), Detail: bench.Person{Name: "Åse Bye", Role: bench.RoleTrainee}})
		id := w.gull("1236-56701")
		w.do(bench.Look{When: w.when()})
		confirm := bench.Confirm{When: w.when(), All: true, ReadBack: "701"}
		confirm.By = written
		w.do(confirm)
		require.NoError(t, w.tryRow(id, "A. Holm", row{"fate", []any{"banded", "", "A. Holm"}}))
		require.ErrorContains(t, w.tryRow(id, "A. Holm", row{kind: "completion"}), "lacks a confirmed flush last closing", written)
	}
}

func TestFactsOfAShiftAreHeldToTheirForm(t *testing.T) {
	w := newWorked(t)
	w.bandedAndComplete("1236-56701")
	for _, fact := range []struct{ kind, content, refusal string }{
		{"person", `{"name":"A. Holm","role":"trainee"}`, "before the first closing"},
		{"person", `{"name":"","role":"scribe"}`, "CHECK"},
		{"person", `{"name":"K. Voe","role":"cook"}`, "CHECK"},
		{"person", `{"name":"K. Voe"}`, "CHECK"},
		{"place", `{"latitude":"91.0","longitude":"4.5"}`, "CHECK"},
		{"place", `{"latitude":"60.1","longitude":"east"}`, "CHECK"},
		{"place", `{"latitude":60.1,"longitude":"4.5"}`, "CHECK"},
		{"watch", `{"watch":"2026-05-17T06:30:00Z"}`, "CHECK"},
		{"instrument", `{"kind":"balance"}`, "CHECK"},
		{"weather", `{}`, "CHECK"},
		{"place", `[]`, "CHECK"},
	} {
		require.ErrorContains(t, w.tryShiftFact(fact.kind, fact.content), fact.refusal, "%s %s", fact.kind, fact.content)
	}
	w.shiftFact("person", `{"name":"K. Voe","role":"scribe"}`)
	require.ErrorContains(t, w.tryShiftFact("person", `{"name":"k. voe","role":"trainee"}`), "one role in a shift")
	w.shiftFact("place", `{"latitude":"-60.125","longitude":"4.5","accuracy_m":"8","datum":"WGS84"}`)
	w.shiftFact("watch", `{"watch":"2026-05-17T06:30:00Z","clock":"2026-05-17T06:30:02Z"}`)
	w.shiftFact("instrument", `{"kind":"spring balance","name":"B-2","note":""}`)
	requireWhole(t, w.store)
	id := w.gull("1236-56702")
	for _, value := range []string{"", "-", ".5", "5.", "1.2.3", "1e3", "--4", "4-5", " 7"} {
		require.ErrorContains(t, w.tryRow(id, "A. Holm", row{"measure", []any{"mass", "typed", []byte{}, value, "g", "", "", ""}}), "CHECK", "%q", value)
	}
	for _, value := range []string{"0", "412", "-3.25", "412.50"} {
		require.NoError(t, w.tryRow(id, "A. Holm", row{"measure", []any{"mass", "typed", []byte{}, value, "g", "0.5", "", ""}}), "%q", value)
	}
}
