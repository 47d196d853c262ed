package store

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func findings(t *testing.T, s *Store) []Finding {
	t.Helper()
	var all []Finding
	require.NoError(t, s.Verify(t.Context(), func(f Finding) error {
		all = append(all, f)
		return nil
	}))
	return all
}

// Whoever gets round the triggers, by taking one out and putting it back, is
// still found.
func TestVerifyFindsWhatWasChangedBehindTheGuards(t *testing.T) {
	w, id := fullStory(t)
	require.NoError(t, w.store.QuickCheck(t.Context()))
	require.Empty(t, findings(t, w.store))
	db := shell(t, w.store)
	tamper := func(trigger string, changes ...string) {
		var text string
		require.NoError(t, db.QueryRowContext(t.Context(), "SELECT sql FROM sqlite_schema WHERE name = ?", trigger).Scan(&text))
		for _, change := range append(append([]string{"DROP TRIGGER " + trigger}, changes...), text) {
			_, err := db.ExecContext(t.Context(), change)
			require.NoError(t, err, change)
		}
	}
	tamper("fact_reading_no_update", "UPDATE fact_reading SET value_nm = value_nm + 1 WHERE handling = '"+id+"' AND seq = 2")
	all := findings(t, w.store)
	require.Len(t, all, 1)
	assert.Equal(t, Finding{"a fact was changed after it was stored", "handling " + id + ", fact 2 (reading)"}, all[0])

	tamper("fact_reading_no_update", "UPDATE fact_reading SET value_nm = value_nm - 1 WHERE handling = '"+id+"' AND seq = 2")
	require.Empty(t, findings(t, w.store))

	tamper("fact_reading_no_delete", "DELETE FROM fact_reading WHERE handling = '"+id+"' AND seq = 3")
	assert.Contains(t, findings(t, w.store), Finding{"a fact has no content", "handling " + id + ", fact 3 (reading)"})

	tamper("shift_no_update", "UPDATE shift SET permit = 'another'")
	assert.Contains(t, findings(t, w.store), Finding{"a row was changed after it was stored", "shift " + w.state.Shift.ID})

	_, err := db.ExecContext(t.Context(), "DROP TRIGGER band_number_once")
	require.NoError(t, err)
	assert.Contains(t, findings(t, w.store), Finding{"a table or guard is missing", "trigger band_number_once"})
}
