package store

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
)

func someSubmission(at time.Time, handlings ...string) Submission {
	s := Submission{ID: newID(), Map: "office", Columns: []string{"number", "age"}, At: at, By: "A. Holm"}
	for _, h := range handlings {
		s.Birds = append(s.Birds, SubmittedBird{Handling: h, Change: "new", Fields: []string{"1236-56701", "4"}})
	}
	return s
}

// submitted is what the records say was handed in.
func submitted(t *testing.T, s *Store, name string) map[string][]string {
	t.Helper()
	found := map[string][]string{}
	require.NoError(t, s.View(t.Context(), func(v *View) error {
		return v.Submitted(t.Context(), name, func(handling string, columns, row []string) error {
			assert.Equal(t, []string{"number", "age"}, columns)
			found[handling] = row
			return nil
		})
	}))
	return found
}

func TestTheLastRowOfEachBirdIsRemembered(t *testing.T) {
	w := newWorked(t)
	first, second := w.bandedAndComplete("1236-56701"), w.bandedAndComplete("1236-56702")
	place, err := w.store.SaveSubmission(t.Context(), someSubmission(w.now, first, second))
	require.NoError(t, err)
	assert.EqualValues(t, 1, place)
	again := someSubmission(w.now)
	again.Birds = []SubmittedBird{
		{Handling: first, Change: "corrected", Fields: []string{"1236-56701", "5"}},
		{Handling: second, Change: "withdrawn", Fields: []string{"1236-56702", "4"}},
	}
	place, err = w.store.SaveSubmission(t.Context(), again)
	require.NoError(t, err)
	assert.EqualValues(t, 2, place)
	assert.Equal(t, map[string][]string{first: {"1236-56701", "5"}}, submitted(t, w.store, "office"))
	assert.Empty(t, submitted(t, w.store, "another"), "each map has its own submissions")
	require.NoError(t, w.store.Verify(t.Context(), func(f Finding) error {
		t.Error(f)
		return nil
	}))
}

func TestASubmissionIsStoredWholeOrNotAtAll(t *testing.T) {
	w := newWorked(t)
	first := w.bandedAndComplete("1236-56701")
	for name, sub := range map[string]Submission{
		"twice": someSubmission(w.now, first, first), "unknown": someSubmission(w.now, first, newID()),
	} {
		_, err := w.store.SaveSubmission(t.Context(), sub)
		require.ErrorIs(t, err, bench.ErrRefused, name)
		assert.Empty(t, submitted(t, w.store, "office"))
	}
}

// What was marked comes back until its files are known to be in their place.
func TestASubmissionIsUnfinishedUntilItsFilesAreThere(t *testing.T) {
	w := newWorked(t)
	first, second := w.bandedAndComplete("1236-56701"), w.bandedAndComplete("1236-56702")
	unfinished := func(name string) (sub *Submission, place int64) {
		t.Helper()
		require.NoError(t, w.store.View(t.Context(), func(v *View) (err error) {
			sub, place, err = v.Unfinished(t.Context(), name)
			return err
		}))
		return sub, place
	}
	sub, _ := unfinished("office")
	assert.Nil(t, sub)
	one := someSubmission(w.now, first, second)
	one.Folder = "/cards/first"
	_, err := w.store.SaveSubmission(t.Context(), one)
	require.NoError(t, err)
	sub, place := unfinished("office")
	assert.EqualValues(t, 1, place)
	assert.Equal(t, &one, sub)
	sub, _ = unfinished("another")
	assert.Nil(t, sub)
	require.NoError(t, w.store.SubmissionOut(t.Context(), one.ID, one.Folder, w.now))
	sub, _ = unfinished("office")
	assert.Nil(t, sub)
	require.ErrorIs(t, w.store.SubmissionOut(t.Context(), one.ID, one.Folder, w.now), bench.ErrRefused, "once")
	require.ErrorIs(t, w.store.SubmissionOut(t.Context(), newID(), "", w.now), bench.ErrRefused, "of no submission")

	two := someSubmission(w.now)
	two.Birds = []SubmittedBird{
		{Handling: first, Change: "corrected", Fields: []string{"1236-56701", "5"}}, {Handling: second, Change: "withdrawn", Fields: []string{"1236-56702", "4"}},
	}
	_, err = w.store.SaveSubmission(t.Context(), two)
	require.NoError(t, err)
	sub, place = unfinished("office")
	assert.EqualValues(t, 2, place)
	assert.Equal(t, []string{"1236-56701", "4"}, sub.Birds[0].Was)
	assert.Equal(t, []string{"1236-56701", "4"}, sub.Birds[1].Was)
}

func TestTrainingIsNeverSubmitted(t *testing.T) {
	s, err := Open(t.Context(), t.TempDir()+"/training.db", Options{Closures: benchSetup(t).Book.Closures, Training: true})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	_, err = s.SaveSubmission(t.Context(), someSubmission(time.Date(2026, 5, 17, 6, 0, 0, 0, time.UTC)))
	require.ErrorIs(t, err, bench.ErrRefused)
	require.ErrorContains(t, err, "training records are never submitted")
}

func TestVerifyFindsARowAddedToASubmission(t *testing.T) {
	w := newWorked(t)
	first, second := w.bandedAndComplete("1236-56701"), w.bandedAndComplete("1236-56702")
	sub := someSubmission(w.now, first)
	_, err := w.store.SaveSubmission(t.Context(), sub)
	require.NoError(t, err)
	_, err = shell(t, w.store).ExecContext(t.Context(), `INSERT INTO submission_bird (submission, handling, change, fields) VALUES (?, ?, 'new', '["1236-56702","4"]')`, sub.ID, second)
	require.NoError(t, err)
	var found []Finding
	require.NoError(t, w.store.Verify(t.Context(), func(f Finding) error {
		found = append(found, f)
		return nil
	}))
	assert.Equal(t, []Finding{{"the rows of a submission were changed after they were stored", "submission " + sub.ID}}, found)
}
