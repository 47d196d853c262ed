//go:build unix

package main

import (
	"context"
	"database/sql"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
	"seamfit/internal/export"
	"seamfit/internal/store"
)

// Speed is shown beside what a person would use otherwise; .ci/speed runs these
// benchmarks and sets their figures against the aims.

// The birds of the small and the large file: a thousand readings and a million.
const (
	fewBirds  = 1_000 / readingsOfABird
	manyBirds = 1_000_000 / readingsOfABird
)

// median and percentile of what was timed, in the unit that metrics are told in.
func percentile(times []time.Duration, p float64) time.Duration {
	sorted := slices.Clone(times)
	slices.Sort(sorted)
	return sorted[min(int(float64(len(sorted))*p), len(sorted)-1)]
}

func ms(d time.Duration) float64 { return d.Seconds() * 1000 }

func timed(f func()) time.Duration {
	began := time.Now()
	f()
	return time.Since(began)
}

// From the start of the program to its first screen, with an open shift and no
// reading, and with a million; in turns.
func BenchmarkStart(b *testing.B) {
	paths := []string{copied(b, recordsOf(b, 0)), copied(b, recordsOf(b, manyBirds))}
	var times [2][]time.Duration
	var memory [2]int64
	for b.Loop() {
		for i, path := range paths {
			took, rss := startOnce(b, path)
			times[i] = append(times[i], took)
			memory[i] = max(memory[i], rss)
		}
	}
	for i, name := range []string{"empty", "million"} {
		b.ReportMetric(ms(percentile(times[i], 0.5)), name+"-ms")
		b.ReportMetric(float64(memory[i])/1024, name+"-MiB")
	}
}

// startOnce starts the station and returns how long it took until its first
// screen stood, and its memory then in KiB.
func startOnce(b *testing.B, path string) (took time.Duration, rss int64) {
	b.Helper()
	cmd := exec.Command(realProgram(b), "station", "--db", path)
	cmd.Env = homeIn(b.TempDir(), "TERM=xterm-256color")
	began := time.Now()
	tty, err := pty.StartWithSize(cmd, &pty.Winsize{Cols: 80, Rows: 24})
	require.NoError(b, err)
	defer tty.Close()
	seen := make([]byte, 0, 64<<10)
	for !strings.Contains(string(seen), "Hollow Skerry") {
		n, err := tty.Read(seen[len(seen):cap(seen)])
		require.NoError(b, err, "%q", seen)
		seen = seen[:len(seen)+n]
	}
	took = time.Since(began)
	rss = residentKiB(b, cmd.Process.Pid)
	require.NoError(b, cmd.Process.Kill())
	_ = cmd.Wait()
	return took, rss
}

// copied is a copy that a benchmark may write to.
func copied(b *testing.B, path string) string {
	b.Helper()
	to := filepath.Join(b.TempDir(), "bench.db")
	from, err := os.Open(path)
	require.NoError(b, err)
	defer from.Close()
	f, err := os.OpenFile(to, os.O_CREATE|os.O_WRONLY, 0o600)
	require.NoError(b, err)
	_, err = io.Copy(f, from)
	require.NoError(b, err)
	require.NoError(b, f.Close())
	return to
}

// opened are the small and the large file, for writing.
func opened(b *testing.B) (stores [2]*store.Store, setup *bench.Setup) {
	b.Helper()
	known, err := (&app{world: worldOfSpeed()}).load()
	require.NoError(b, err)
	for i, birds := range []int{fewBirds, manyBirds} {
		s, err := store.Open(b.Context(), copied(b, recordsOf(b, birds)), store.Options{Closures: known.setup.Book.Closures})
		require.NoError(b, err)
		b.Cleanup(func() { require.NoError(b, s.Close()) })
		stores[i] = s
	}
	return stores, known.setup
}

// inTurns times the same work on both files.
func inTurns(b *testing.B, work func(i, n int)) {
	b.Helper()
	var times [2][]time.Duration
	for n := 0; b.Loop(); n++ {
		for i := range times {
			times[i] = append(times[i], timed(func() { work(i, n) }))
		}
	}
	b.ReportMetric(ms(percentile(times[0], 0.5))*1000, "thousand-µs")
	b.ReportMetric(ms(percentile(times[1], 0.5))*1000, "million-µs")
}

// What the records know of a number.
func BenchmarkLookUp(b *testing.B) {
	stores, _ := opened(b)
	birds := []int{fewBirds, manyBirds}
	inTurns(b, func(i, n int) {
		n = n * 7919 % birds[i]
		st, err := stores[i].Standing(context.Background(), fmt.Sprintf("%04d-%05d", 10*(100+n/100000)+6, n%100000))
		require.NoError(b, err)
		require.NotEmpty(b, st.Handling)
	})
}

// The next bird: its handling is begun and committed.
func BenchmarkNextHandling(b *testing.B) {
	stores, _ := opened(b)
	shifts := make([]*bench.Shift, len(stores))
	for i, s := range stores {
		var err error
		shifts[i], err = s.LastShift(b.Context())
		require.NoError(b, err)
	}
	at := time.Now()
	inTurns(b, func(i, n int) {
		h := bench.Head{Handling: idAt(at.Add(time.Duration(n)*time.Second), uint64(n)), Seq: 1, At: at, Entered: at, By: "Mira Tolland"}
		bird := bench.BirdTold{Head: h, Shift: shifts[i].ID, Bird: bench.Bird{Species: "Larus argentatus", Site: bench.SiteBelow}}
		require.NoError(b, stores[i].Save(context.Background(), []bench.Fact{bird}))
	})
}

// What the bench measured on such birds before.
func BenchmarkHistory(b *testing.B) {
	stores, setup := opened(b)
	like := bench.Likeness{Species: setup.Book.Species[3].Scientific, Age: "adult"}
	inTurns(b, func(i, _ int) {
		h, err := stores[i].History(context.Background(), like)
		require.NoError(b, err)
		require.Positive(b, h.N)
	})
}

// A million readings as a data package, and the same rows by the sqlite3 shell.
func BenchmarkExport(b *testing.B) {
	path := recordsOf(b, manyBirds)
	script := dumpScript(b, path)
	var ours, theirs []time.Duration
	var memory int64
	for b.Loop() {
		dir := b.TempDir()
		cmd := exec.Command(realProgram(b), "export", "--as", "datapackage", "--out", filepath.Join(dir, "package"), "--db", path)
		cmd.Env = homeIn(dir)
		ours = append(ours, timed(func() {
			out, err := cmd.CombinedOutput()
			require.NoError(b, err, "%s", out)
		}))
		usage, ok := cmd.ProcessState.SysUsage().(*syscall.Rusage)
		require.True(b, ok)
		memory = max(memory, usage.Maxrss)
		shell := exec.Command("sqlite3", "-readonly", path)
		shell.Dir, shell.Stdin = dir, strings.NewReader(script)
		theirs = append(theirs, timed(func() {
			out, err := shell.CombinedOutput()
			require.NoError(b, err, "%s", out)
		}))
	}
	b.ReportMetric(percentile(ours, 0.5).Seconds(), "package-s")
	b.ReportMetric(percentile(theirs, 0.5).Seconds(), "shell-s")
	b.ReportMetric(float64(memory)/1024, "package-MiB")
}

// dumpScript has the shell write every table of the export that holds rows; the
// others go by other names in the file.
func dumpScript(b *testing.B, path string) string {
	b.Helper()
	db, err := sql.Open("sqlite", "file:"+path+"?mode=ro")
	require.NoError(b, err)
	defer db.Close()
	script := ".mode csv\n.headers on\n"
	for _, t := range export.Tables() {
		columns := make([]string, len(t.Columns))
		for i, c := range t.Columns {
			columns[i] = `"` + c.Name + `"`
		}
		query := fmt.Sprintf("SELECT %s FROM %s ORDER BY %s", strings.Join(columns, ", "), t.Name, strings.Join(t.Key, ", "))
		st, err := db.Prepare(query)
		if err != nil {
			continue // of stock, calibrations and merges, which this file has none of
		}
		require.NoError(b, st.Close())
		script += fmt.Sprintf(".once %s.csv\n%s;\n", t.Name, query)
	}
	return script
}

// residentKiB is what a running program holds in memory.
func residentKiB(b *testing.B, pid int) int64 {
	b.Helper()
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	require.NoError(b, err)
	for line := range strings.Lines(string(status)) {
		if rest, ok := strings.CutPrefix(line, "VmRSS:"); ok {
			var n int64
			_, err := fmt.Sscan(rest, &n)
			require.NoError(b, err)
			return n
		}
	}
	require.Fail(b, "no memory in the status")
	return 0
}
