//go:build unix

package main

import (
	"bytes"
	"database/sql"
	"fmt"
	"io"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/vt"
	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
	"golang.org/x/term"
)

// A whole shift in the real program, bird after bird as fast as it goes (two
// thousand are a long day's): from the last byte of a caliper's line to the
// screen that says saved, against a bare insert of one row by the same driver
// with the same durability, in turns; and whether time and memory stay as
// they were.
func BenchmarkShift(b *testing.B) {
	s := newSitter(b)
	bare := newBare(b)
	var ours, theirs []time.Duration
	var early, late int64
	const first = 40001
	for n := 0; b.Loop(); n++ {
		s.opens()
		for i, r := range []struct{ line, shows string }{
			{"+3.02\r", "mm, 1 of 3"},
			{"+3.01\r", "mm, 2 of 3"},
			{"+3.03\r", "3 readings"},
		} {
			// Whichever comes second finds the disk awake: they take turns.
			first := (n*3+i)%2 == 0
			if first {
				theirs = append(theirs, bare.insert(b, n*3+i))
			}
			ours = append(ours, s.reads(r.line, r.shows))
			if !first {
				theirs = append(theirs, bare.insert(b, n*3+i))
			}
		}
		s.closes(first + n)
		if n == 99 {
			early = residentKiB(b, s.cmd.Process.Pid)
		}
	}
	late = residentKiB(b, s.cmd.Process.Pid)
	for name, times := range map[string][]time.Duration{"saved": ours, "bare": theirs} {
		b.ReportMetric(ms(percentile(times, 0.5)), name+"-p50-ms")
		b.ReportMetric(ms(percentile(times, 0.99)), name+"-p99-ms")
	}
	tenth := max(len(ours)/10, 1)
	b.ReportMetric(ms(percentile(ours[:tenth], 0.5)), "first-tenth-ms")
	b.ReportMetric(ms(percentile(ours[len(ours)-tenth:], 0.5)), "last-tenth-ms")
	b.ReportMetric(float64(early)/1024, "early-MiB")
	b.ReportMetric(float64(late)/1024, "late-MiB")
}

// bare is a table of one row a reading, written as plainly as can be.
type bare struct{ insertion *sql.Stmt }

func newBare(b *testing.B) *bare {
	b.Helper()
	u := url.URL{Scheme: "file", OmitHost: true, Path: filepath.Join(b.TempDir(), "bare.db"), RawQuery: url.Values{
		"_pragma": {"journal_mode(WAL)", "synchronous(FULL)", "busy_timeout(5000)"}, "_txlock": {"immediate"},
	}.Encode()}
	db, err := sql.Open("sqlite", u.String())
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, db.Close()) })
	db.SetMaxOpenConns(1)
	_, err = db.Exec("CREATE TABLE reading (id INTEGER PRIMARY KEY, at TEXT NOT NULL, raw BLOB NOT NULL, value_nm INTEGER NOT NULL) STRICT")
	require.NoError(b, err)
	st, err := db.Prepare("INSERT INTO reading (id, at, raw, value_nm) VALUES (?, ?, ?, ?)")
	require.NoError(b, err)
	return &bare{st}
}

func (t *bare) insert(b *testing.B, id int) time.Duration {
	return timed(func() {
		_, err := t.insertion.Exec(id, time.Now().UTC().Format(time.RFC3339Nano), []byte("+3.02"), 3_020_000)
		require.NoError(b, err)
	})
}

// sitter works at the real station in a terminal, with a caliper.
type sitter struct {
	b       *testing.B
	cmd     *exec.Cmd
	tty     *os.File
	caliper *os.File
	pieces  chan piece // what came and is not drawn yet
	screen  *vt.Emulator
	shown   string
	at      time.Time // when the last piece came that is drawn
}

// piece is output of the program and when it came, whenever it is looked at.
type piece struct {
	at    time.Time
	bytes []byte
}

func newSitter(b *testing.B) *sitter {
	b.Helper()
	dir := b.TempDir()
	caliper, end, err := pty.Open()
	require.NoError(b, err)
	_, err = term.MakeRaw(int(end.Fd()))
	require.NoError(b, err)
	b.Cleanup(func() { _ = end.Close(); _ = caliper.Close() })
	s := &sitter{b: b, caliper: caliper, pieces: make(chan piece, 1024), screen: vt.NewEmulator(80, 24)}
	s.cmd = exec.Command(realProgram(b), "station", "--db", filepath.Join(dir, "bench.db"), "--caliper", end.Name())
	s.cmd.Env = homeIn(dir, "TERM=xterm-256color")
	s.tty, err = pty.StartWithSize(s.cmd, &pty.Winsize{Cols: 80, Rows: 24})
	require.NoError(b, err)
	b.Cleanup(func() {
		_ = s.cmd.Process.Kill()
		_ = s.cmd.Wait()
		_ = s.tty.Close()
	})
	go s.listen()
	go func() { _, _ = io.Copy(io.Discard, s.screen) }() // what a terminal answers by itself
	for _, a := range []struct{ keys, shows string }{
		{"", "Banding needs"},
		{"\r", "place:"},
		{"Hollow Skerry\r", "bander:"},
		{"Mira Tolland\r", "permit:"},
		{"P-77\r", "The shift is open."},
		{"", "caliper ready"},
	} {
		s.does(a.keys, a.shows)
	}
	return s
}

// listen notes when output comes, before anything else is done with it.
func (s *sitter) listen() {
	buffer := make([]byte, 16<<10)
	for {
		n, err := s.tty.Read(buffer)
		s.pieces <- piece{time.Now(), bytes.Clone(buffer[:n])}
		if err != nil {
			return
		}
	}
}

func (s *sitter) does(keys, shows string) {
	s.b.Helper()
	_, err := io.WriteString(s.tty, keys)
	require.NoError(s.b, err)
	s.until(shows)
}

// until draws what comes until the screen shows all that is waited for.
func (s *sitter) until(shows ...string) {
	s.b.Helper()
	limit := time.NewTimer(patience)
	defer limit.Stop()
	missing := func(part string) bool { return !strings.Contains(s.shown, part) }
	for slices.ContainsFunc(shows, missing) {
		select {
		case p := <-s.pieces:
			_, err := s.screen.Write(p.bytes)
			require.NoError(s.b, err)
			s.shown, s.at = strings.Join(strings.Fields(s.screen.String()), " "), p.at
		case <-limit.C:
			require.Fail(s.b, "not shown", "%q in %s", shows, s.shown)
		}
	}
}

// reads has the caliper send a line, and returns how long it took until the
// screen showed the reading, and that it was saved.
func (s *sitter) reads(line, shows string) time.Duration {
	s.b.Helper()
	s.until("√ saved")
	began := time.Now()
	_, err := io.WriteString(s.caliper, line)
	require.NoError(s.b, err)
	s.until(shows, "√ saved")
	return s.at.Sub(began)
}

func (s *sitter) opens() {
	s.b.Helper()
	s.does("\x1bOQ", "species:")
	s.does("common tern", "► Common Tern")
	s.does("\r", "Which age?")
	s.does("a", "Which sex?")
	s.does("f", "Which leg gets the band?")
	s.does("r", "Reading 1 of 3")
}

func (s *sitter) closes(number int) {
	s.b.Helper()
	s.does("1", "which metal?")
	s.does("a", "2 aluminium, fits")
	s.does(fmt.Sprintf("1232-%05d\r", number), fmt.Sprintf("number 1232-%05d taken", number))
	s.does("f", "closing 1: flush")
	s.does("e", "√ e Edges")
	s.does("r", "√ r Turns")
	s.does("a", "√ a Nothing")
	s.does("i", "√ i Rims")
	s.does(fmt.Sprintf("%03d\r", number%1000), "The closing is confirmed.")
	s.does("\x1b[19~", "Left the hand at")
	s.does("b", "Nothing is missing.")
	s.does("\x1b[20~", "is complete.")
}
