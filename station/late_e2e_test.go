//go:build linux || darwin

package station_test

import (
	"os/exec"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A sheet of paper through the real program, left in the middle of its bird and
// taken up again. The records then tell the sheet's times and its bander, and
// who typed.
func TestASheetOfPaperThroughTheRealProgram(t *testing.T) {
	b := newBench(t)
	b.run("--late")
	b.shows("Banding needs a permit and training")
	b.does(keyEnter, "LATE ENTRY")
	b.does("2021-05-16 05:40"+keyEnter, "Who types it in?")
	b.does("Ola Brent"+keyEnter, "place:")
	b.does("Hollow Skerry"+keyEnter, "bander:")
	b.does("Mira Tolland"+keyEnter, "permit:")
	b.does("P-77"+keyEnter, "takes the next bird of the sheet")
	b.does(keyF2, "caught at:")
	b.does("06:05"+keyEnter, "species:")
	b.does("common tern", "► Common Tern")
	b.does(keyEnter, "Which age?")
	b.does("a", "Which sex?")
	b.does("f", "Which leg gets the band?")
	b.does("r", "Reading 1 of 3, as the sheet has it")
	b.does("t", "width:")
	b.does("3.02"+keyEnter, "mm, 1 of 3, typed")
	b.shows("√ saved")
	b.does(keyCtrlQ, "1 bird not complete")
	b.does("y", "")
	require.Equal(t, 0, b.end())

	b.run("--late")
	b.does("2021-05-16 05:40"+keyEnter, "Who types it in?")
	b.does("Ola Brent"+keyEnter, "Do the sheet's birds belong to it?")
	b.does("y", "Common Tern caught 06:05")
	b.does("t", "width:")
	b.does("3.01"+keyEnter, "Width 3 of 3")
	b.does("3.03"+keyEnter, "3.02 ± 0.04 mm, 3 readings")
	b.does("1", "which metal?")
	b.does("a", "2 aluminium, fits")
	b.does("1232-40001"+keyEnter, "1232-40001 taken")
	b.does("f", "closing 1: flush")
	b.does(keyF9, "Not stated of the last closing: Edges meet all round.")
	b.confirms("001")
	b.does(keyF8, "left at:")
	b.does("06:11"+keyEnter, "Left the hand at 06:11:00")
	b.does("b", "Nothing is missing.")
	b.does(keyF9, "The record of bird 1 is complete.")
	b.shows("√ saved")
	b.does(keyCtrlQ, "")
	require.Equal(t, 0, b.end())

	birds := b.table("handlings")
	require.Len(t, birds, 1)
	assert.Equal(t, "true", birds[0]["complete"])
	assert.Contains(t, birds[0]["left_hand"], "06:11:00")
	facts := b.table("facts")
	require.Greater(t, len(facts), 15)
	for _, f := range facts {
		assert.Equal(t, "Mira Tolland", f["by"], f["kind"])
		assert.Equal(t, "Ola Brent", f["typed"], f["kind"])
		assert.Equal(t, "2021-05-16", f["at"][:10], f["kind"])
		assert.Greater(t, f["entered"], "2026", f["kind"])
	}
	cmd := exec.Command(program(t), "verify", "--db", b.db())
	cmd.Env = b.env
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, string(out))
}
