//go:build unix

package main

import (
	"bufio"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

var kills = flag.Int("kills", 25, "how often the tests of crashes kill the program")

// shiftLines is a shift of so many birds as replay reads it: bands that need a
// second closing, bands taken off, birds that escape and stay open.
func shiftLines(birds int) []string {
	lines := []string{`{"do":"shift","place":"Hollow Skerry","bander":"Mira Tolland","permit":"P-77"}`}
	add := func(format string, args ...any) { lines = append(lines, fmt.Sprintf(format, args...)) }
	number := 40000
	for bird := range birds {
		number++
		add(`{"do":"bird","species":"Larus argentatus","age":"adult","leg":"right"}`)
		for _, w := range []int{842, 840, 843} {
			add(`{"caliper":"+%d.%02d\r"}`, w/100, w%100+bird%5)
		}
		if bird%11 == 10 {
			add(`{"do":"fate","as":"escaped"}`)
			continue
		}
		add(`{"do":"size","size":"6","metal":"stainless steel","reason":"as listed"}`)
		add(`{"scanner":"1236-%d\r"}`, number)
		if bird%3 == 1 {
			add(`{"do":"look","findings":["gap"]}`)
		}
		if bird%7 == 6 {
			add(`{"do":"look","findings":["overlap"]}`)
			add(`{"do":"remove","reason":"overlap that can't be opened"}`)
			number++
			add(`{"scanner":"1236-%d\r"}`, number)
		}
		add(`{"do":"look","findings":[]}`)
		add(`{"do":"confirm","statements":"all","read_back":"%03d"}`, number%1000)
		add(`{"do":"fate","as":"banded"}`)
		add(`{"do":"complete"}`)
	}
	return lines
}

// crashing is a shift that is played into one file by one process after
// another, each killed.
type crashing struct {
	t     *testing.T
	dir   string
	db    string
	lines []string
	after []string // what the records hold after so many lines
	next  int      // the first line that is not in the records
	files int
}

func newCrashing(t *testing.T, birds int) *crashing {
	c := &crashing{t: t, dir: t.TempDir(), lines: shiftLines(birds), after: []string{""}}
	c.begin()
	in, feed, err := os.Pipe()
	require.NoError(t, err)
	defer in.Close()
	defer feed.Close()
	next := func() { // tells one line, so that the records can be looked at after each
		if told := len(c.after) - 1; told < len(c.lines) {
			_, err := io.WriteString(feed, c.lines[told]+"\n")
			require.NoError(t, err)
			return
		}
		require.NoError(t, feed.Close())
	}
	c.play(exec.Command(realProgram(t), c.replay()...), in, hooks{
		started: func(*os.Process) { next() },
		acknowledged: func(int) {
			c.after = append(c.after, c.held(c.db))
			next()
		},
	})
	require.Len(t, c.after, len(c.lines)+1)
	c.begin()
	return c
}

// begin takes a new file.
func (c *crashing) begin() {
	c.files++
	c.db = filepath.Join(c.dir, fmt.Sprintf("bench%d.db", c.files))
	c.next = 0
}

func (c *crashing) replay() []string { return []string{"replay", "-", "--db", c.db, "--acknowledge"} }

// hooks are told what a process does.
type hooks struct {
	started      func(p *os.Process)
	acknowledged func(n int)
}

// play feeds lines to a process and returns how many of them it acknowledged
// before it ended.
func (c *crashing) play(cmd *exec.Cmd, lines io.Reader, on hooks) int {
	c.t.Helper()
	cmd.Dir, cmd.Env = c.dir, homeIn(c.dir)
	cmd.Stdin = lines
	var errs strings.Builder
	cmd.Stderr = &errs
	out, err := cmd.StdoutPipe()
	require.NoError(c.t, err)
	require.NoError(c.t, cmd.Start())
	if on.started != nil {
		on.started(cmd.Process)
	}
	n := 0
	answers := bufio.NewScanner(out)
	for answers.Scan() {
		require.NotContains(c.t, answers.Text(), "refused", "line %d", c.next+n+1)
		if !strings.HasSuffix(answers.Text(), ": saved") {
			continue // the outcome, at the end
		}
		n++
		if on.acknowledged != nil {
			on.acknowledged(n)
		}
	}
	if cmd.Wait() != nil {
		require.Equal(c.t, -1, cmd.ProcessState.ExitCode(), "ended by itself: %s", errs.String())
	}
	return n
}

// killed plays on, up to so many lines, with a process that is meant to be
// killed, and looks at what it left. It reports whether the process was killed.
func (c *crashing) killed(cmd *exec.Cmd, lines int, on hooks) bool {
	c.t.Helper()
	rest := c.lines[c.next:]
	rest = rest[:min(lines, len(rest))]
	told := c.next + c.play(cmd, strings.NewReader(strings.Join(rest, "\n")+"\n"), on)
	c.next = c.found(told)
	if c.next == len(c.lines) {
		c.begin()
	}
	return cmd.ProcessState.ExitCode() != 0
}

// found returns how many lines the records hold. It must be all that were
// acknowledged, and at most the one that was being told when the end came.
func (c *crashing) found(told int) int {
	c.t.Helper()
	copied := c.aside()
	c.sound(copied)
	held := c.held(copied)
	if held == c.after[told] {
		return told
	}
	require.Less(c.t, told, len(c.lines), "more is in the records than was told")
	require.Equal(c.t, c.after[told+1], held, "after %d acknowledged lines", told)
	return told + 1
}

// aside copies the file as the crash left it, so that looking at it does not
// mend it for the process that goes on.
func (c *crashing) aside() string {
	c.t.Helper()
	copied := filepath.Join(c.dir, "copy.db")
	for _, end := range []string{"", "-wal", "-journal"} {
		_ = os.Remove(copied + end)
		data, err := os.ReadFile(c.db + end)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		require.NoError(c.t, err)
		require.NoError(c.t, os.WriteFile(copied+end, data, 0o600))
	}
	_ = os.Remove(copied + "-shm")
	return copied
}

// sound runs SQLite's checks and the program's own. A file that was not yet
// begun is sound.
func (c *crashing) sound(path string) {
	c.t.Helper()
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return
	}
	out, errs, code := runReal(c.t, c.dir, "verify", "--db", path)
	require.Zero(c.t, code, "%s%s", out, errs)
	db := openRaw(c.t, path)
	defer db.Close()
	var ok string
	require.NoError(c.t, db.QueryRow("PRAGMA integrity_check").Scan(&ok))
	require.Equal(c.t, "ok", ok)
	var broken int
	require.NoError(c.t, db.QueryRow("SELECT count(*) FROM pragma_foreign_key_check").Scan(&broken))
	require.Zero(c.t, broken)
}

func openRaw(t testing.TB, path string) *sql.DB {
	t.Helper()
	u := url.URL{Scheme: "file", OmitHost: true, Path: path}
	db, err := sql.Open("sqlite", u.String())
	require.NoError(t, err)
	return db
}

// heldSQL tells all that the lines told, in order: birds are known by their
// place, since each run gives identifiers of its own.
const heldSQL = `SELECT f.handling, concat_ws(' ', f.seq, f.kind,
	(SELECT concat_ws(' ', species, age, leg) FROM fact_bird x WHERE x.handling = f.handling AND x.seq = f.seq),
	(SELECT concat_ws(' ', raw, value_nm, means) FROM fact_reading x WHERE x.handling = f.handling AND x.seq = f.seq),
	(SELECT concat_ws(' ', readings, mean_mm) FROM fact_estimate x WHERE x.handling = f.handling AND x.seq = f.seq),
	(SELECT concat_ws(' ', size, metal, reason) FROM fact_size x WHERE x.handling = f.handling AND x.seq = f.seq),
	(SELECT concat_ws(' ', band, event, number, reason) FROM fact_band x WHERE x.handling = f.handling AND x.seq = f.seq),
	(SELECT concat_ws(' ', band, findings) FROM fact_closing x WHERE x.handling = f.handling AND x.seq = f.seq),
	(SELECT concat_ws(' ', closing, statement) FROM fact_statement x WHERE x.handling = f.handling AND x.seq = f.seq),
	(SELECT concat_ws(' ', closing, digits) FROM fact_read_back x WHERE x.handling = f.handling AND x.seq = f.seq),
	(SELECT fate FROM fact_fate x WHERE x.handling = f.handling AND x.seq = f.seq),
	EXISTS (SELECT 1 FROM fact_completion x WHERE x.handling = f.handling AND x.seq = f.seq),
	EXISTS (SELECT 1 FROM open_handling o WHERE o.handling = f.handling))
	FROM fact f ORDER BY f.handling, f.seq`

// held returns a digest of what the records hold, "" when that is nothing.
func (c *crashing) held(path string) string {
	c.t.Helper()
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return ""
	}
	db := openRaw(c.t, path)
	defer db.Close()
	var shifts int
	err := db.QueryRow("SELECT count(*) FROM shift").Scan(&shifts)
	if err != nil && strings.Contains(err.Error(), "no such table") {
		return "" // the schema was not made yet
	}
	require.NoError(c.t, err)
	if shifts == 0 {
		return ""
	}
	sum := sha256.New()
	fmt.Fprintln(sum, shifts)
	rows, err := db.Query(heldSQL)
	require.NoError(c.t, err)
	defer rows.Close()
	birds := map[string]int{}
	for rows.Next() {
		var id, told string
		require.NoError(c.t, rows.Scan(&id, &told))
		if _, known := birds[id]; !known {
			birds[id] = len(birds) + 1
		}
		fmt.Fprintln(sum, birds[id], told)
	}
	require.NoError(c.t, rows.Err())
	return hex.EncodeToString(sum.Sum(nil))
}

// The real program, killed by SIGKILL at random moments of a shift: nothing
// that it acknowledged is lost, nothing stands twice, and the next one goes on
// where it stood.
func TestTrustKilledAtRandomMoments(t *testing.T) {
	c := newCrashing(t, 40)
	random := rand.New(rand.NewPCG(1, 2))
	for done := 0; done < *kills; {
		lines := 1 + random.IntN(30)
		after := random.IntN(lines + 1) // acknowledged lines; 0: while it opens the records
		wait := time.Duration(random.IntN(2000)) * time.Microsecond
		if after == 0 {
			wait *= 25
		}
		var process *os.Process
		killing := func() *time.Timer {
			return time.AfterFunc(wait, func() { _ = process.Kill() }) // it may have ended by itself
		}
		var timer *time.Timer
		if c.killed(exec.Command(realProgram(t), c.replay()...), lines, hooks{
			started: func(p *os.Process) {
				if process = p; after == 0 {
					timer = killing()
				}
			},
			acknowledged: func(n int) {
				if n == after {
					timer = killing()
				}
			},
		}) {
			done++
		}
		if timer != nil {
			timer.Stop()
		}
	}
	t.Logf("%d kills: %d whole shifts of %d lines, and %d lines of another", *kills, c.files-2, len(c.lines), c.next)
}
