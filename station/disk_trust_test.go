//go:build linux && trust

package station_test

import (
	"bufio"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// suffers has the kernel do something else at system calls of the running
// program, which is not changed, until the returned function is called.
func (b *realBench) suffers(call, injection string) (mended func()) {
	b.t.Helper()
	strace, err := exec.LookPath("strace")
	require.NoError(b.t, err, "install strace")
	cmd := exec.Command(strace, "-f", "-o", filepath.Join(b.t.TempDir(), "calls"), "-p", strconv.Itoa(b.cmd.Process.Pid),
		"-e", "trace="+call, "-e", "inject="+call+":"+injection)
	said, err := cmd.StderrPipe()
	require.NoError(b.t, err)
	require.NoError(b.t, cmd.Start())
	lines := bufio.NewReader(said)
	line, err := lines.ReadString('\n')
	require.NoError(b.t, err)
	require.Contains(b.t, line, "attached")
	go func() { _, _ = io.Copy(io.Discard, lines) }() // ends with strace
	return func() {
		b.t.Helper()
		require.NoError(b.t, cmd.Process.Signal(os.Interrupt))
		_ = cmd.Wait() // its exit code tells of the signal
	}
}

// count asks the file, while the station works on it.
func (b *realBench) count(query string) int {
	b.t.Helper()
	out, err := exec.Command("sqlite3", "-readonly", "-cmd", ".timeout 5000", b.db(), query).Output()
	require.NoError(b.t, err)
	n, err := strconv.Atoi(strings.TrimSpace(string(out)))
	require.NoError(b.t, err)
	return n
}

const howManyReadings = "SELECT count(*) FROM fact_reading"

// The disk fails while a bird is in the hand: the station says why and how to
// mend it, keeps on the screen what it can't save, works on, and saves all of
// it by itself when the disk is well again.
func TestTrustTheDiskFails(t *testing.T) {
	for name, c := range map[string]struct{ call, injection, says string }{
		"full":       {"pwrite64", "error=ENOSPC", "make room on the disk"},
		"quota":      {"pwrite64", "error=EDQUOT", "quota"},
		"read-only":  {"pwrite64", "error=EROFS", "check the disk or card"},
		"breaks":     {"pwrite64", "error=EIO", "check the disk or card"},
		"no syncing": {"fsync", "error=EIO", "check the disk or card"},
	} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t)
			b.run("--caliper", b.port)
			b.opensShift()
			b.settled()
			b.tells("common tern", "Common Tern", "a", "f")
			b.reads("+3.02\r", "mm, 1 of 3")
			b.shows("√ saved")
			mended := b.suffers(c.call, c.injection)
			b.reads("+3.01\r", "mm, 2 of 3")
			b.shows("NOT SAVED", c.says)
			assert.NotContains(t, b.text(), "√ saved")
			b.reads("+3.03\r", "3.02 ± 0.04 mm, 3 readings")
			b.does("1", "which metal?")
			b.does("a", "2 aluminium")
			assert.Equal(t, 1, b.count(howManyReadings), "what is not saved is not in the file")
			mended()
			b.shows("√ saved")
			assert.Equal(t, 3, b.count(howManyReadings))
			b.does("1232-40001"+keyEnter, "1232-40001 taken")
			b.shows("√ saved")
			b.does(keyCtrlQ, "IN THE HAND")
			b.does("y", "")
			require.Equal(t, 0, b.end())
			b.verified()
			assert.Equal(t, []string{"+3.02", "+3.01", "+3.03"}, b.column("readings", "raw"))
		})
	}
}

// A card that takes seconds for each sync: the screen stays alive, readings
// wait in their order, and nothing is called saved before its commit.
func TestTrustASlowDisk(t *testing.T) {
	b := newBench(t)
	b.run("--caliper", b.port)
	b.opensShift()
	b.settled()
	b.tells("common tern", "Common Tern", "a", "f")
	b.shows("√ saved")
	before := b.count("SELECT count(*) FROM fact")
	mended := b.suffers("fsync", "delay_enter=4s")
	b.reads("+3.02\r", "mm, 1 of 3")
	b.reads("+3.01\r", "mm, 2 of 3")
	b.does("t", "width:") // the keys are heard
	b.does("3.03"+keyEnter, "3.02 ± 0.04 mm, 3 readings")
	shown := b.text()
	held := b.count("SELECT count(*) FROM fact")
	assert.Equal(t, before, held, "the first commit has not come through")
	assert.Contains(t, shown, "saving")
	assert.NotContains(t, shown, "√ saved")
	b.shows("√ saved")
	assert.Equal(t, 3, b.count(howManyReadings), "saved means committed")
	mended()
	b.does(keyCtrlQ, "IN THE HAND")
	b.does("y", "")
	require.Equal(t, 0, b.end())
	b.verified()
}
