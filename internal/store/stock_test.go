package store

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/length"
	"seamfit/internal/seam"
)

func (w *worked) number(text string) bands.Number {
	n, err := w.state.Setup.Pattern.Parse(text)
	require.NoError(w.t, err)
	return n
}

func (w *worked) string(first string, count int64) BandString {
	run, err := bands.RunOf(w.number(first), count)
	require.NoError(w.t, err)
	w.when()
	return BandString{ID: newID(), Run: run, Size: "6", Metal: "stainless steel", At: w.now, Entered: w.now, By: "A. Holm"}
}

func (w *worked) receive(first string, count int64) {
	require.NoError(w.t, w.store.Receive(context.Background(), []BandString{w.string(first, count)}))
}

func (w *worked) event(kind bands.EventKind, holder string, numbers ...string) StockEvent {
	w.when()
	return StockEvent{Kind: kind, Numbers: numbers, At: w.now, Entered: w.now, By: "A. Holm", Holder: holder, Reason: "told so"}
}

func (w *worked) stock(kind bands.EventKind, holder string, numbers ...string) {
	require.NoError(w.t, w.store.Record(context.Background(), []StockEvent{w.event(kind, holder, numbers...)}))
}

func (w *worked) standing(number string) bench.Standing {
	st, err := w.store.Standing(context.Background(), number)
	require.NoError(w.t, err)
	return st
}

func (w *worked) refused(c bench.Command, code bench.Code) string {
	if number, ok := bench.NumberOf(w.state, c); ok {
		c = bench.WithStanding(c, w.standing(number))
	}
	_, _, blockers := bench.Apply(w.state, c)
	require.Len(w.t, blockers, 1, "%T %+v", c, c)
	require.Equal(w.t, code, blockers[0].Code, blockers[0].Mend)
	return blockers[0].Mend
}

// load reads a handling as a settlement needs it.
func (w *worked) load(id string) bench.Handling {
	h, err := w.store.Load(context.Background(), id)
	require.NoError(w.t, err)
	return h
}

func (w *worked) settle(numbers map[string]string) bench.Settle {
	c := bench.Settle{When: w.when(), ID: newID(), Reason: "both bands seen again"}
	ids := make([]string, 0, len(numbers))
	for id := range numbers {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	for _, id := range ids {
		c.Records = append(c.Records, bench.Renumbering{Handling: w.load(id), Number: numbers[id], Standing: w.standing(numbers[id])})
	}
	return c
}

// unnumbered opens a bird with its size chosen and no number yet.
func (w *worked) unnumbered() string {
	id := newID()
	w.do(bench.OpenBird{When: w.when(), ID: id, Bird: bench.Bird{Species: "Larus argentatus", Age: "adult", Leg: bench.LegRight}})
	c, err := bench.TypedReading(w.when(), "8.42", length.MM)
	require.NoError(w.t, err)
	w.do(c)
	w.do(bench.ChooseSize{When: w.when(), Size: "6", Metal: "stainless steel"})
	return id
}

func TestAStringAndItsOrder(t *testing.T) {
	w := newWorked(t)
	assert.False(t, w.standing("1236-56701").StockKept)
	b := w.string("1236-56701", 100)
	b.Missing, b.Doubled = []bands.Number{w.number("1236-56703")}, []bands.Number{w.number("1236-56704")}
	require.NoError(t, w.store.Receive(t.Context(), []BandString{b}))
	assert.Equal(t, bench.Standing{StockKept: true, State: bands.InStock, Size: "6", Metal: "stainless steel"}, w.standing("1236-56701"))
	assert.Empty(t, w.standing("1236-56703").State, "a number that the maker left out is not known")
	assert.Equal(t, bands.Rejected, w.standing("1236-56704").State, "of a doubled number neither band is used")

	nextFor := func(holder string) string { return w.offer(holder).Next }
	assert.Empty(t, nextFor("A. Holm"), "nothing is opened yet")
	w.stock(bands.EventOpened, "A. Holm", "1236-56701", "1236-56702", "1236-56705", "1236-56706")
	w.stock(bands.EventOpened, "K. Voe", "1236-56707", "1236-56708")
	assert.Equal(t, "1236-56701", nextFor("a. holm"))
	assert.Equal(t, "1236-56707", nextFor("K.  Voe"))
	assert.Empty(t, nextFor("N. Body"))
	w.stock(bands.EventPassed, "A. Holm", "1236-56707")
	assert.Equal(t, "1236-56708", nextFor("K. Voe"))

	id := w.unnumbered()
	mend := w.refused(bench.GiveNumber{When: w.when(), Number: "1236-56702"}, bench.NumberOutOfOrder)
	assert.Contains(t, mend, "1236-56701")
	assert.Contains(t, mend, "one digit off?", "a typing error is pointed out")
	w.refused(bench.GiveNumber{When: w.when(), Number: "1236-56708"}, bench.NumberNotIssued)
	w.refused(bench.GiveNumber{When: w.when(), Number: "1236-56704"}, bench.NumberDestroyed)
	mend = w.refused(bench.GiveNumber{When: w.when(), Number: "1236-65701"}, bench.NumberUnknown)
	assert.Contains(t, mend, "is it 1236-56701? two digits swapped")

	w.do(bench.GiveNumber{When: w.when(), Number: "1236-56702", Reason: "the one before it fell into the grass"})
	h, _ := w.state.Handling(id)
	assert.False(t, h.Disputed(), "skipping is a reason, not a dispute")
	assert.Equal(t, "1236-56705", nextFor("A. Holm"), "what was told as skipped is not offered")
	assert.Equal(t, bands.Opened, w.standing("1236-56701").State)
	w.do(bench.GiveNumber{When: w.when(), Number: "1236-56705"})
	assert.Equal(t, "1236-56702", nextFor("A. Holm"), "back in its place")
	w.do(bench.Look{When: w.when()})
	assert.Equal(t, bands.OnBird, w.standing("1236-56705").State)
	w.do(bench.Remove{When: w.when(), Reason: "overlap"})
	assert.Equal(t, bands.Destroyed, w.standing("1236-56705").State)
	w.stock(bands.EventLost, "", "1236-56701")
	assert.Equal(t, bands.Lost, w.standing("1236-56701").State)
	w.stock(bands.EventFound, "", "1236-56701")
	assert.Equal(t, bands.Lost, w.standing("1236-56701").State, "lost then found is not used")
	mend = w.refused(bench.GiveNumber{When: w.when(), Number: "1236-56701"}, bench.NumberDestroyed)
	assert.Contains(t, mend, "lost and found again is not used")
	requireWhole(t, w.store)
}

func requireWhole(t require.TestingT, s *Store) {
	require.NoError(t, s.Verify(context.Background(), func(f Finding) error {
		require.Fail(t, "verify found something", "%+v", f)
		return nil
	}))
}

func TestNothingHalfIsReceived(t *testing.T) {
	w := newWorked(t)
	w.receive("1236-56701", 100)
	overlapping := w.string("1236-56791", 100)
	fine := w.string("1236-57901", 100)
	err := w.store.Receive(t.Context(), []BandString{fine, overlapping})
	require.ErrorContains(t, err, "1236-56791 to 1236-56890 overlaps the string 1236-56701 to 1236-56800, received 2026-05-17: 1236-56791 is in both")
	var refused *StockError
	require.ErrorAs(t, err, &refused)
	assert.Empty(t, w.standing("1236-57901").State, "the other string neither")
	require.NoError(t, w.store.Receive(t.Context(), []BandString{fine}))

	odd := w.string("1236-60001", 2)
	odd.Missing = []bands.Number{w.number("1236-60003")}
	require.ErrorContains(t, w.store.Receive(t.Context(), []BandString{odd}), "1236-60003")
	odd.Missing = []bands.Number{w.number("1236-60001"), w.number("1236-60002")}
	require.ErrorContains(t, w.store.Receive(t.Context(), []BandString{odd}), "nothing of 1236-60001 to 1236-60002 came")

	err = w.store.Record(t.Context(), []StockEvent{
		w.event(bands.EventOpened, "A. Holm", "1236-56701"), w.event(bands.EventFound, "", "1236-56702"),
	})
	var event *bands.EventError
	require.ErrorAs(t, err, &event)
	assert.Equal(t, bands.InStock, w.standing("1236-56701").State)
	require.ErrorContains(t, w.store.Record(t.Context(), []StockEvent{w.event(bands.EventLost, "", "1236-99901")}), "is in no string that was received")
	id := w.unnumbered()
	w.do(bench.GiveNumber{When: w.when(), Number: "1236-56701"})
	w.do(bench.Look{When: w.when()})
	require.ErrorContains(t, w.store.Record(t.Context(), []StockEvent{w.event(bands.EventLost, "", "1236-56701")}), "tell it in the record of its bird")
	assert.NotEmpty(t, id)
}

func TestTheStockAndTheSizeMustAgree(t *testing.T) {
	w := newWorked(t)
	five := w.string("1235-10001", 10)
	five.Size = "5"
	soft := w.string("1236-20001", 10)
	soft.Metal = "aluminium"
	right := w.string("1236-30001", 10)
	require.NoError(t, w.store.Receive(t.Context(), []BandString{five, soft, right}))
	id := w.unnumbered()
	w.refused(bench.GiveNumber{When: w.when(), Number: "1235-10001"}, bench.NumberWrongSize)
	w.refused(bench.GiveNumber{When: w.when(), Number: "1236-20001"}, bench.NumberWrongMetal)
	w.do(bench.GiveNumber{When: w.when(), Number: "1236-30001"})
	w.refused(bench.ChooseSize{When: w.when(), Size: "6", Metal: "incoloy"}, bench.NumberWrongMetal)
	w.do(bench.GiveNumber{When: w.when(), Number: "1235-10001", Reason: "it is on the leg"})
	h := w.load(id)
	assert.True(t, h.Disputed())
	w.do(bench.Look{When: w.when()})
	w.do(bench.Confirm{When: w.when(), All: true, ReadBack: "001"})
	w.do(bench.TellFate{When: w.when(), Fate: bench.FateBanded})
	w.refused(bench.Complete{When: w.when()}, bench.NumberDisputed)
	w.refused(w.settle(map[string]string{id: "1235-10001"}), bench.StillDisputed)
	w.do(bench.ChooseSize{When: w.when(), Size: "5", Metal: "stainless steel", Reason: "size 5 was on the pliers"})
	h = w.load(id)
	assert.False(t, h.Disputed(), "size and number agree again")
	w.do(bench.Complete{When: w.when()})
	requireWhole(t, w.store)
}

func TestTwoRecordsAreSettledTogether(t *testing.T) {
	w := newWorked(t)
	w.receive("1236-56701", 100)
	first := w.bandedAndComplete("1236-56701")
	second := w.unnumbered()
	w.do(bench.GiveNumber{When: w.when(), Number: "1236-56702"})
	w.do(bench.Look{When: w.when()})
	w.do(bench.GiveNumber{When: w.when(), Number: "1236-56701", Reason: "read off the leg twice"})
	w.do(bench.Confirm{When: w.when(), All: true, ReadBack: "701"})
	w.do(bench.TellFate{When: w.when(), Fate: bench.FateBanded})
	w.refused(bench.Complete{When: w.when()}, bench.NumberDisputed)
	assert.True(t, w.load(first).Disputed())

	w.refused(bench.Settle{When: w.when(), ID: newID(), Records: []bench.Renumbering{{Handling: w.load(first), Number: "1236-56702"}}}, bench.ReasonMissing)
	w.refused(w.settle(map[string]string{first: "1236-56701", second: "1236-56701"}), bench.StillDisputed)
	w.refused(w.settle(map[string]string{first: "1236-99999", second: "1236-56701"}), bench.StillDisputed)
	w.do(w.settle(map[string]string{first: "1236-56702", second: "1236-56701"}))
	for id, number := range map[string]string{first: "1236-56702", second: "1236-56701"} {
		h := w.load(id)
		assert.False(t, h.Disputed(), number)
		assert.Equal(t, number, h.Bands[0].Number)
		assert.Equal(t, id, w.standing(number).Handling)
	}
	assert.True(t, w.load(first).Done(), "complete again, though 701 was read back")
	w.do(bench.Complete{When: w.when()})

	// Complete and closed records are swapped too.
	w.unnumbered()
	w.do(w.settle(map[string]string{first: "1236-56701", second: "1236-56702"}))
	assert.True(t, w.load(first).Done())
	assert.True(t, w.load(second).Done())
	facts, err := w.store.Facts(t.Context(), first)
	require.NoError(t, err)
	last := facts[len(facts)-1].Key()
	assert.Equal(t, "both bands seen again", last.Why)
	requireWhole(t, w.store)
}

func TestARunThatSlippedByOneIsRenumbered(t *testing.T) {
	w := newWorked(t)
	w.receive("1236-56701", 100)
	numbers := map[string]string{}
	for i := range 4 {
		id := w.bandedAndComplete(fmt.Sprintf("1236-5670%d", i+1))
		numbers[id] = fmt.Sprintf("1236-5670%d", i+2)
	}
	w.do(w.settle(numbers))
	for id, number := range numbers {
		h := w.load(id)
		assert.Equal(t, number, h.Bands[0].Number)
		assert.True(t, h.Done(), number)
	}
	assert.Equal(t, bands.InStock, w.standing("1236-56701").State, "the first is free again")
	requireWhole(t, w.store)
}

// What a settlement's caller has not seen, the records refuse.
func TestASettlementThatLeavesADisputeIsRefusedWhole(t *testing.T) {
	w := newWorked(t)
	first := w.bandedAndComplete("1236-56701")
	w.bandedAndComplete("1236-56702")
	c := w.settle(map[string]string{first: "1236-56702"})
	c.Records[0].Standing = bench.Standing{}
	_, facts, blockers := bench.Apply(bench.State{Setup: w.state.Setup}, c)
	require.Empty(t, blockers)
	err := w.store.Save(t.Context(), facts)
	require.ErrorIs(t, err, bench.ErrRefused)
	require.ErrorContains(t, err, "a record would still be disputed")
	assert.Equal(t, "1236-56701", w.load(first).Bands[0].Number)
}

func TestTwoBenchesRaceForOneNumber(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bench.db")
	a := begun(t, openStore(t, path))
	b := begun(t, openStore(t, path))
	a.receive("1236-56701", 100)
	ida, idb := a.unnumbered(), b.unnumbered()
	// Both look before either takes.
	standing := a.standing("1236-56701")
	assert.Equal(t, standing, b.standing("1236-56701"))
	give := bench.GiveNumber{Number: "1236-56701", Standing: standing}
	results := make(chan error, 2)
	for _, w := range []*worked{a, b} {
		c := give
		c.When = w.when()
		next, facts, blockers := bench.Apply(w.state, c)
		require.Empty(t, blockers)
		w.state = next
		go func() { results <- w.store.Save(context.Background(), facts) }()
	}
	errs := []error{<-results, <-results}
	refused := slices.DeleteFunc(errs, func(err error) bool { return err == nil })
	require.Len(t, refused, 1, "one takes it, the other is refused")
	require.ErrorIs(t, refused[0], bench.ErrRefused)
	claimants, err := a.store.Claimants(t.Context(), "1236-56701")
	require.NoError(t, err)
	require.Len(t, claimants, 1)
	assert.Contains(t, []string{ida, idb}, claimants[0])

	// The stock, too, may have gone on meanwhile.
	stale := a.standing("1236-56702")
	b.stock(bands.EventLost, "", "1236-56702")
	w, err := Open(t.Context(), path, Options{Closures: benchSetup(t).Book.Closures})
	require.NoError(t, err)
	c := begun(t, w)
	c.unnumbered()
	_, facts, blockers := bench.Apply(c.state, bench.GiveNumber{When: c.when(), Number: "1236-56702", Standing: stale})
	require.Empty(t, blockers)
	require.ErrorIs(t, w.Save(t.Context(), facts), bench.ErrRefused)
	require.NoError(t, w.Close())
}

func TestAShiftIsClosedWhenEveryBirdIsTold(t *testing.T) {
	w := newWorked(t)
	shift := w.state.Shift.ID
	w.gull("1236-56701")
	require.ErrorIs(t, w.store.CloseShift(t.Context(), shift, w.now, "A. Holm", ""), bench.ErrRefused)
	w.do(bench.TellFate{When: w.when(), Fate: bench.FateEscaped})
	require.NoError(t, w.store.CloseShift(t.Context(), shift, w.now, "A. Holm", ""))
	require.ErrorIs(t, w.store.CloseShift(t.Context(), shift, w.now, "A. Holm", ""), bench.ErrRefused)
	state, err := w.store.Resume(t.Context(), w.state.Setup)
	require.NoError(t, err)
	assert.Nil(t, state.Shift)
	assert.Len(t, state.Handlings, 1, "the escape stays an open matter")
}

func TestVerifyFindsAChangedStock(t *testing.T) {
	for _, change := range []struct{ trigger, text string }{
		{"stock_mark_no_update", "UPDATE stock_mark SET state = 'returned'"},
		{"stock_mark_no_delete", "DELETE FROM stock_mark"},
		{"stock_event_no_update", "UPDATE stock_event SET reason = 'another'"},
		{"stock_number_no_update", "UPDATE stock_number SET place = place + 100"},
		{"stock_number_no_delete", "DELETE FROM stock_number WHERE place = 50"},
		{"band_string_no_update", "UPDATE band_string SET size = '5'"},
	} {
		w := newWorked(t)
		w.receive("1236-56701", 100)
		w.stock(bands.EventRejected, "", "1236-56701")
		requireWhole(t, w.store)
		var guard string
		db := shell(t, w.store)
		require.NoError(t, db.QueryRowContext(t.Context(), "SELECT sql FROM sqlite_schema WHERE name = ?", change.trigger).Scan(&guard))
		for _, text := range []string{"DROP TRIGGER " + change.trigger, change.text, guard} {
			_, err := db.ExecContext(t.Context(), text)
			require.NoError(t, err, text)
		}
		found := 0
		require.NoError(t, w.store.Verify(t.Context(), func(Finding) error { found++; return nil }))
		assert.Positive(t, found, change.text)
	}
}

// modelled is where a number ought to be, told step by step in the plainest
// way: the stock's last word, and what the birds say over it.
type modelled struct {
	told    bands.State
	onBirds map[string]bands.State // by handling
}

func (m modelled) state() bands.State {
	best := m.told
	for _, s := range m.onBirds {
		switch {
		case s == bands.OnBird:
			return bands.OnBird
		case s == bands.Destroyed:
			best = bands.Destroyed
		case best == bands.InStock:
			best = bands.Opened
		}
	}
	return best
}

func TestEachNumberIsInExactlyOneStateAndTheCountsAddUp(t *testing.T) {
	s := openStore(t, filepath.Join(t.TempDir(), "bench.db"))
	runs := 0
	rapid.Check(t, func(t *rapid.T) {
		w := begun(t, s)
		first := w.number(fmt.Sprintf("888-%05d", 1+10*runs))
		runs++
		run, err := bands.RunOf(first, 6)
		require.NoError(t, err)
		require.NoError(t, s.Receive(context.Background(), []BandString{{
			ID: newID(), Run: run, Size: "6", Metal: "stainless steel", At: w.now, Entered: w.now, By: "A. Holm",
		}}))
		model := map[string]*modelled{}
		var numbers []string
		for n := range run.All() {
			numbers = append(numbers, n.String())
			model[n.String()] = &modelled{told: bands.InStock, onBirds: map[string]bands.State{}}
		}
		for range rapid.IntRange(1, 25).Draw(t, "steps") {
			number := rapid.SampledFrom(numbers).Draw(t, "number")
			if rapid.Bool().Draw(t, "stock") {
				w.stockStep(t, model, number)
			} else {
				w.birdStep(t, number)
				w.remodel(model)
			}
		}
		w.requireAccount(t, run, model)
	})
}

func (w *worked) stockStep(t *rapid.T, model map[string]*modelled, number string) {
	kind := rapid.SampledFrom([]bands.EventKind{
		bands.EventRejected, bands.EventOpened, bands.EventPassed, bands.EventLost, bands.EventFound, bands.EventReturned,
		bands.EventDestroyed, bands.EventCounted,
	}).Draw(t, "kind")
	m := model[number]
	want, refusal := kind.After(number, m.state())
	err := w.store.Record(context.Background(), []StockEvent{w.event(kind, "A. Holm", number)})
	if refusal != nil {
		require.Equal(t, refusal, err)
		return
	}
	require.NoError(t, err)
	if want != m.state() || kind == bands.EventPassed {
		m.told = want
	}
}

func (w *worked) birdStep(t *rapid.T, number string) {
	reason := rapid.SampledFrom([]string{"", "a reason"}).Draw(t, "reason")
	switch rapid.IntRange(0, 6).Draw(t, "bird step") {
	case 0:
		w.unnumbered()
	case 1, 2, 3:
		w.try(bench.GiveNumber{When: w.when(), Number: number, Reason: reason})
	case 4:
		w.try(bench.Look{When: w.when()})
	case 5:
		w.try(bench.Remove{When: w.when(), Reason: reason})
	default:
		w.try(bench.TellFate{When: w.when(), Fate: bench.FateEscaped})
	}
}

// remodel takes what the birds of this bench say, from its state.
func (w *worked) remodel(model map[string]*modelled) {
	for _, m := range model {
		clear(m.onBirds)
	}
	for _, h := range w.state.Handlings {
		for _, b := range h.Bands {
			m := model[b.Number]
			if m != nil && m.onBirds[h.ID] != bands.OnBird && (m.onBirds[h.ID] != bands.Destroyed || b.State == bands.OnBird) {
				m.onBirds[h.ID] = b.State
			}
		}
	}
}

func (w *worked) requireAccount(t require.TestingT, run bands.Run, model map[string]*modelled) {
	account, err := w.store.Reconcile(context.Background())
	require.NoError(t, err)
	i := slices.IndexFunc(account.Strings, func(c bands.StringCount) bool { return c.First == run.First().String() })
	require.GreaterOrEqual(t, i, 0)
	got := account.Strings[i]
	require.True(t, got.AddsUp(), "%+v", got)
	want := bands.StringCount{First: got.First, Last: got.Last, Size: "6", Metal: "stainless steel", Received: int(run.Count()), Doubtful: got.Doubtful}
	for number, m := range model {
		require.Equal(t, m.state(), w.standing(number).State, number)
		want.Add(m.state())
	}
	require.Equal(t, want, got)
}

func TestWhatIsDoubtfulAndWhatChangedSinceTheCount(t *testing.T) {
	w := newWorked(t)
	w.receive("1236-56701", 10)
	w.stock(bands.EventOpened, "A. Holm", "1236-56701", "1236-56702", "1236-56703", "1236-56704")
	account := func() Account {
		a, err := w.store.Reconcile(t.Context())
		require.NoError(t, err)
		return a
	}
	assert.True(t, account().Balanced)
	w.stock(bands.EventCounted, "", "1236-56701", "1236-56702", "1236-56703", "1236-56704", "1236-56705")

	w.bandedAndComplete("1236-56701")
	w.unnumbered()
	w.do(bench.GiveNumber{When: w.when(), Number: "1236-56703", Reason: "the one before it rolled away"})
	w.do(bench.Look{When: w.when()})
	w.stock(bands.EventLost, "", "1236-56704")
	w.stock(bands.EventFound, "", "1236-56704")
	w.do(bench.OpenBird{When: w.when(), ID: newID(), Bird: bench.Bird{Species: "Larus argentatus", Leg: bench.LegRight}})
	w.do(bench.TellFound{When: w.when(), Number: "1236-56706", Then: bench.ThenLeft})

	got := account()
	assert.False(t, got.Balanced)
	require.True(t, got.Strings[0].AddsUp())
	assert.Equal(t, []bands.Doubt{
		{Number: "1236-56702", Why: "passed over, and not accounted for: the one before it rolled away"},
		{Number: "1236-56704", Why: "lost and found again: tell it as destroyed or returned"},
		{Number: "1236-56706", Why: "found on a bird, and no record has put it there"},
	}, got.Doubts)
	assert.Equal(t, []string{"1236-56702", "1236-56704", "1236-56706"}, got.Strings[0].Doubtful)
	changed := map[string]Change{}
	for _, c := range got.Changed {
		changed[c.Number] = c
	}
	assert.Equal(t, Change{"1236-56701", true, bands.OnBird}, changed["1236-56701"])
	assert.Equal(t, Change{"1236-56704", true, bands.Lost}, changed["1236-56704"])
	assert.Equal(t, Change{"1236-56707", false, bands.InStock}, changed["1236-56707"])
	assert.NotContains(t, changed, "1236-56702")
	assert.NotContains(t, changed, "1236-56706", "not seen then, and not here now")

	// Each account for itself ends its doubt.
	w.stock(bands.EventDestroyed, "", "1236-56704", "1236-56702")
	assert.Len(t, account().Doubts, 1)
}

func TestTheWholeHistoryOfANumber(t *testing.T) {
	w := newWorked(t)
	w.receive("1236-56701", 10)
	w.stock(bands.EventOpened, "A. Holm", "1236-56701")
	w.bandedAndComplete("1236-56701")
	w.do(bench.OpenBird{When: w.when(), ID: newID(), Bird: bench.Bird{Species: "Larus argentatus", Leg: bench.LegRight}})
	w.do(bench.TellFound{When: w.when(), Number: "1236-56701", Condition: "worn thin", Then: bench.ThenReplaced})
	h, err := w.store.NumberHistory(t.Context(), "1236-56701")
	require.NoError(t, err)
	assert.Equal(t, bands.Destroyed, h.State, "taken off by another record than put it on")
	var told []string
	for _, e := range h.Entries {
		told = append(told, e.What)
	}
	assert.Equal(t, []string{
		"received", "opened", "taken for a bird", "closing", "left the hand banded", "found on a bird, replaced", "taken off, destroyed",
	}, told)

	like, err := w.store.NumbersLike(t.Context(), "1236-5670?")
	require.NoError(t, err)
	assert.Len(t, like, 9)
	like, err = w.store.NumbersLike(t.Context(), "1?36-56[01")
	require.NoError(t, err)
	assert.Empty(t, like)
	h, err = w.store.NumberHistory(t.Context(), "1236-99999")
	require.NoError(t, err)
	assert.Empty(t, h.Entries)
}

func TestMeasuresAndCountsOfAString(t *testing.T) {
	w := newWorked(t)
	w.receive("1236-56701", 10)
	none, err := w.store.LastMeasures(t.Context(), "1236-56701")
	require.NoError(t, err)
	assert.Empty(t, none.Outer)
	e := w.event(bands.EventMeasured, "", "1236-56702")
	e.Measures = seam.StringMeasures{Outer: []length.Length{11_400_000, 11_420_000}, Thickness: []length.Length{1_020_000}}
	require.NoError(t, w.store.Record(t.Context(), []StockEvent{e}))
	got, err := w.store.LastMeasures(t.Context(), "1236-56709")
	require.NoError(t, err)
	assert.Equal(t, e.Measures, got, "one measurement speaks for its string")
	later := w.event(bands.EventMeasured, "", "1236-56703")
	later.Measures = seam.StringMeasures{Height: []length.Length{9_530_000}, Thickness: []length.Length{1_040_000}}
	require.NoError(t, w.store.Record(t.Context(), []StockEvent{later}))
	got, err = w.store.LastMeasures(t.Context(), "1236-56709")
	require.NoError(t, err)
	later.Measures.Outer = e.Measures.Outer
	assert.Equal(t, later.Measures, got, "the newest of each; what was not measured again stands")
	beside, err := w.store.NumbersBeside(t.Context(), []string{"1236-56702", "1236-99999"})
	require.NoError(t, err)
	assert.Len(t, beside, 10)
	assert.Equal(t, Located{"1236-56701", bands.InStock}, beside[0])
}

// D = (11.40 + 11.42)/2 = 11.41, t = 1.02: inner 11.41 − 2.04 = 9.37 mm.
// s(D) = 0.01·√2, so u² = 0.0002·(1 + 1/2) + 5·0.02²/3 = 0.0003 + 0.000667:
// u = 0.031091 mm.
func TestTheMeasuredInnerDiameterOfClosedBands(t *testing.T) {
	w := newWorked(t)
	w.receive("1236-56701", 10)
	measure := func(number string, m seam.StringMeasures) {
		e := w.event(bands.EventMeasured, "", number)
		e.Measures = m
		require.NoError(t, w.store.Record(t.Context(), []StockEvent{e}))
	}
	kind := bench.BandKind{Size: "6", Metal: "stainless steel"}
	measure("1236-56702", seam.StringMeasures{Outer: []length.Length{11_400_000, 11_420_000}, Thickness: []length.Length{1_020_000}})
	measure("1236-56703", seam.StringMeasures{Height: []length.Length{9_530_000}, Outer: []length.Length{11_500_000}})
	got, err := w.store.MeasuredInner(t.Context(), 20_000)
	require.NoError(t, err)
	require.Len(t, got, 1, "without the wall's thickness nothing is known of the inside")
	assert.Equal(t, length.Length(9_370_000), got[kind].Value)
	assert.InDelta(t, 0.031091, got[kind].U, 1e-6)

	w.receive("1236-57701", 10)
	measure("1236-57702", seam.StringMeasures{Outer: []length.Length{11_440_000}, Thickness: []length.Length{1_020_000}})
	got, err = w.store.MeasuredInner(t.Context(), 20_000)
	require.NoError(t, err)
	assert.Equal(t, length.Length(9_400_000), got[kind].Value, "the newest string's")
}

// A bench that has used ten thousand bands is asked as fast as a new one; the
// figure for any size is what the benchmark prints.
func BenchmarkStandingInALargeStock(b *testing.B) {
	s, err := Open(b.Context(), filepath.Join(b.TempDir(), "bench.db"), Options{Closures: benchSetup(b).Book.Closures})
	require.NoError(b, err)
	defer func() { require.NoError(b, s.Close()) }()
	w := begun(b, s)
	for i := range 20 {
		first := fmt.Sprintf("%d-00001", 1000+i)
		w.receive(first, 1000)
		run, err := bands.RunOf(w.number(first), 1000)
		require.NoError(b, err)
		var numbers []string
		for n := range run.All() {
			numbers = append(numbers, n.String())
		}
		w.stock(bands.EventOpened, "A. Holm", numbers...)
		w.bulk(b, numbers[:500])
	}
	for b.Loop() {
		w.standing("1010-00601")
		offer, err := s.Offer(b.Context(), bench.Tubing{Holder: "A. Holm", Size: "6", Metal: "stainless steel"})
		require.NoError(b, err)
		require.Equal(b, "1000-00501", offer.Next)
	}
}

// bulk bands one bird for each number, in one transaction.
func (w *worked) bulk(b *testing.B, numbers []string) {
	var facts []bench.Fact
	state := w.state
	for _, number := range numbers {
		state.Handlings = nil
		for _, c := range []bench.Command{
			bench.OpenBird{When: w.when(), ID: newID(), Bird: bench.Bird{Species: "Larus argentatus", Leg: bench.LegRight}},
			bench.GiveNumber{When: w.when(), Number: number, Standing: bench.Standing{StockKept: true, State: bands.Opened}},
			bench.Look{When: w.when()},
			bench.TellFate{When: w.when(), Fate: bench.FateBanded},
		} {
			next, told, blockers := bench.Apply(state, c)
			require.Empty(b, blockers)
			state, facts = next, append(facts, told...)
		}
	}
	require.NoError(b, w.store.Save(b.Context(), facts))
}

// A band that was taken and never looked at is where the bird is, if it left as
// banded or unconfirmed; else it is back on its tubing.
func TestABandThatWasNeverLookedAtIsAccountedFor(t *testing.T) {
	for fate, want := range map[bench.Fate]bands.State{
		bench.FateBanded: bands.OnBird, bench.FateUnconfirmed: bands.OnBird,
		bench.FateUnbanded: bands.Opened, bench.FateEscaped: bands.Opened, bench.FateDied: bands.Opened,
	} {
		t.Run(string(fate), func(t *testing.T) {
			w := newWorked(t)
			w.receive("1236-56701", 2)
			w.stock(bands.EventOpened, "A. Holm", w.run("1236-56701", 2)...)
			id := w.gull("1236-56701")
			w.do(bench.TellFate{When: w.when(), Fate: fate, Reason: "flew off as the pliers opened"})
			assert.Equal(t, want, w.standing("1236-56701").State)
			h := w.load(id)
			if want == bands.OnBird {
				require.Len(t, h.Bands, 1)
				assert.Equal(t, want, h.StateOf(h.Bands[0]))
			} else {
				assert.Empty(t, h.Bands)
			}
			states := map[string]string{}
			require.NoError(t, w.store.View(t.Context(), func(v *View) error {
				return v.Rows(t.Context(), "bands", []string{"number", "state"}, func(r []any) error {
					states[text(r[0])] = text(r[1])
					return nil
				})
			}))
			if want == bands.OnBird {
				assert.Equal(t, map[string]string{"1236-56701": "on bird"}, states)
			}
			// A fate told wrongly is told anew.
			w.do(bench.TellFate{When: w.when(), Fate: bench.FateUnbanded, Reason: "the band was still in the pliers"})
			assert.Equal(t, bands.Opened, w.standing("1236-56701").State)
			assert.Equal(t, "1236-56701", w.standing("1236-56702").Next, "it comes next again")
			requireWhole(t, w.store)
		})
	}
}

func TestABandFoundOnAnotherSpeciesIsDoubtful(t *testing.T) {
	w := newWorked(t)
	w.receive("1236-56701", 2)
	w.stock(bands.EventOpened, "A. Holm", w.run("1236-56701", 2)...)
	w.bandedAndComplete("1236-56701")
	for _, species := range []string{"Larus argentatus", "", "Larus marinus"} {
		w.do(bench.OpenBird{When: w.when(), ID: newID(), Bird: bench.Bird{Species: species, Leg: bench.LegRight}})
		w.do(bench.TellFound{When: w.when(), Number: "1236-56701", Condition: "worn", Then: bench.ThenLeft})
		account, err := w.store.Reconcile(t.Context())
		require.NoError(t, err)
		if species != "Larus marinus" {
			require.Empty(t, account.Doubts)
			continue
		}
		require.Len(t, account.Doubts, 1)
		assert.Equal(t, "found on a bird of another species than it was put on", account.Doubts[0].Why)
	}
}

func TestTheLegOfAFoundBandIsThatWhichItIsOn(t *testing.T) {
	w := newWorked(t)
	w.do(bench.OpenBird{When: w.when(), ID: newID(), Bird: bench.Bird{Species: "Larus argentatus", Leg: bench.LegRight}})
	w.do(bench.TellFound{When: w.when(), Number: "1236-56701", Leg: bench.LegLeft, Condition: "worn", Then: bench.ThenLeft})
	legs := []string{}
	require.NoError(t, w.store.View(t.Context(), func(v *View) error {
		return v.Rows(t.Context(), "handlings", []string{"leg"}, func(r []any) error {
			legs = append(legs, text(r[0]))
			return nil
		})
	}))
	assert.Equal(t, []string{"left"}, legs)
	assert.Equal(t, bench.LegLeft, w.load(w.state.Active).BandedLeg())
}

// A number that was destroyed and is read off a bird is doubtful until somebody
// finds out which of the two is so, whatever is done about the band.
func TestADestroyedNumberFoundOnABirdIsDoubtful(t *testing.T) {
	for _, c := range []struct {
		then bench.Then
		why  string
	}{
		{bench.ThenLeft, "found on a bird, and destroyed by the records"},
		{bench.ThenReplaced, "taken off a bird, and destroyed before that by the records"},
	} {
		w := newWorked(t)
		w.receive("1236-56701", 2)
		w.stock(bands.EventOpened, "A. Holm", w.run("1236-56701", 2)...)
		w.gull("1236-56701")
		w.do(bench.Look{When: w.when(), Findings: []string{"gap"}})
		w.do(bench.Remove{When: w.when(), Reason: "would not close"})
		w.do(bench.OpenBird{When: w.when(), ID: newID(), Bird: bench.Bird{Species: "Larus argentatus", Leg: bench.LegRight}})
		w.do(bench.TellFound{When: w.when(), Number: "1236-56701", Condition: "worn", Then: c.then})
		account, err := w.store.Reconcile(t.Context())
		require.NoError(t, err)
		assert.False(t, account.Balanced)
		assert.Contains(t, account.Doubts, bands.Doubt{Number: "1236-56701", Why: c.why})
	}
}
