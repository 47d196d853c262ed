//go:build linux && trust

package main

import (
	"math/rand/v2"
	"os/exec"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// durable are the system calls by which the records reach the disk: the file
// is made, pages and the log are written and synced, the log is copied into
// the file, shortened and removed, and a line is acknowledged.
func durable() []string {
	return []string{"openat", "pwrite64", "fsync", "ftruncate", "unlink", "write"}
}

// injecting runs the real program, unchanged, under strace, which has the
// kernel do something else at chosen system calls.
func injecting(t testing.TB, call, injection string, args ...string) *exec.Cmd {
	t.Helper()
	strace, err := exec.LookPath("strace")
	require.NoError(t, err, "install strace")
	return exec.Command(strace, append([]string{
		"-f", "-qq", "-o", "/dev/null", "-e", "trace=" + call, "-e", "inject=" + call + ":" + injection, realProgram(t),
	}, args...)...)
}

// Killed on entering a system call that has to do with the disk, whichever and
// however many went before: between two writes of a commit, between the write
// and its sync, after the commit and before its acknowledgement, while the log
// is copied into the file.
func TestTrustKilledAtEveryStepToTheDisk(t *testing.T) {
	c := newCrashing(t, 40)
	random := rand.New(rand.NewPCG(3, 4))
	done := map[string]int{}
	for total, tries := 0, 0; total < *kills; tries++ {
		require.Less(t, tries, 20**kills, "the program is not killed")
		call := durable()[tries%len(durable())]
		lines := 1 + random.IntN(8)
		most := 4 // of the rare calls
		switch call {
		case "openat":
			most = 20
		case "pwrite64":
			most = 12 * lines
		case "fsync", "write":
			most = 2 * lines
		}
		when := strconv.Itoa(1 + random.IntN(most))
		if c.killed(injecting(t, call, "signal=KILL:when="+when, c.replay()...), lines, hooks{}) {
			done[call]++
			total++
		}
	}
	t.Logf("%d kills, on entering %v: %d whole shifts of %d lines, and %d lines of another", *kills, done, c.files-2, len(c.lines), c.next)
	for _, call := range durable() {
		require.True(t, *kills < 50 || done[call] > 0, "never killed at %s", call)
	}
}
