//go:build linux || darwin

package station_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// runs has a command of the real program done on the same records, and returns
// what it writes.
func (b *realBench) runs(args ...string) string {
	b.t.Helper()
	cmd := exec.Command(program(b.t), append(args, "--db", b.db())...)
	cmd.Env = b.env
	out, err := cmd.CombinedOutput()
	require.NoError(b.t, err, string(out))
	return string(out)
}

// The stock's numbers and the settings' shift through the real program: the
// last number of what is opened, what comes after it, a slip that hits another
// number, and what a found band's number tells.
func TestStockAndShiftThroughTheRealProgram(t *testing.T) {
	b := newBench(t)
	settings := filepath.Join(b.dir, "bench.toml")
	require.NoError(t, os.WriteFile(settings, []byte("[shift]\nplace = 'Hollow Skerry'\npermit = 'P-77'\nlatitude = '56.184'\nlongitude = '-4.012'\n"+
		"instruments = [{ kind = 'balance', name = 'B-2', note = '' }]\n[people]\nbanders = ['Mira Tolland']\n"), 0o600))
	b.runs("bands", "receive", "1232-40001", "--count", "100", "--size", "2", "--metal", "aluminium", "--by", "Ada Renn")
	b.runs("bands", "open", "1232-40001..2", "--to", "Mira Tolland", "--by", "Ada Renn")

	b.run("--settings", settings)
	b.shows("Banding needs a permit and training")
	b.does(keyEnter, "Enter Hollow Skerry")
	b.does(keyEnter, "Enter Mira Tolland")
	b.does(keyEnter, "Enter P-77")
	b.does(keyEnter, "The shift is open.")
	b.does("\x10", "latitude 56.184, longitude -4.012 (WGS 84)")
	b.shows("balance B-2")
	b.does("w", "What does your watch say?")
	b.does("00:00\r", ", at ")
	b.does(keyEnter, "begins a bird")

	sized := func() {
		t.Helper()
		b.tells("common tern", "Common Tern", "a", "f")
		for i, width := range []string{"3.02", "3.01", "3.03"} {
			b.does("t", "width:")
			b.does(width+keyEnter, []string{"1 of 3, typed", "2 of 3, typed", "3 readings"}[i])
		}
		b.does("1", "which metal?")
		b.does("a", "2 aluminium, fits")
	}
	sized()
	b.shows("Enter 1232-40001, the next one", "2 of this string left on the tubing. Next in stock: 1232-40003")
	b.does("1232-40012"+keyEnter, "in stock and not opened (is it 1232-40002? one digit off)")
	b.does("x", "1232-40001, the next one")
	b.does("\x15"+keyEnter, "Number 1232-40001 is taken.")
	sized()
	b.shows("Enter 1232-40002, the next one", "The last of its string on the tubing. Next in stock: 1232-40003")
	b.does(keyEnter, "Number 1232-40002 is taken. It was the last of its string on the tubing.")
	b.does(keyF2, "species:")
	b.does("\x06", "found band:")
	b.does("1232-4?001"+keyEnter, "1232-40001 in these records:")
	b.shows("opened: to Mira Tolland", "taken for a bird, Sterna hirundo")
	b.does(keyCtrlQ, "Leave the station?")
	b.does("y", "")
	require.Equal(t, 0, b.end())

	shown := b.runs("shift", "show", "--settings", settings)
	for _, told := range []string{"latitude 56.184, longitude -4.012 (WGS 84)\n", "balance B-2\n", "compared at", "birds 3, complete 0"} {
		assert.Contains(t, shown, told)
	}
}
