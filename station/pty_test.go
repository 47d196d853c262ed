//go:build linux || darwin

package station_test

import (
	"encoding/csv"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/charmbracelet/x/vt"
	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
	"golang.org/x/term"
)

// What a terminal of the family of xterm sends for the keys that are not
// characters (its control sequences are documented with it; the terminfo
// entry xterm-256color names the same).
const (
	keyEnter = "\r"
	keyTab   = "\t"
	keyF2    = "\x1bOQ"
	keyF6    = "\x1b[17~"
	keyF8    = "\x1b[19~"
	keyF9    = "\x1b[20~"
	keyCtrlO = "\x0f"
	keyCtrlQ = "\x11"
)

// patience is how long the screen may take to show what is waited for: far
// longer than it does, since the machine may be busy.
const patience = 30 * time.Second

// bench is the real program in a terminal of its own: the file of its records,
// a terminal emulator, and a second terminal line as the caliper's port.
type realBench struct {
	t       *testing.T
	dir     string
	env     []string
	caliper *os.File // the caliper's end of its line
	port    string

	cmd   *exec.Cmd
	tty   *os.File
	emu   *display
	tape  *tape
	ended chan struct{} // closed when the program has ended
}

func newBench(t *testing.T) *realBench {
	t.Helper()
	dir := t.TempDir()
	line, slave, err := pty.Open()
	require.NoError(t, err)
	t.Cleanup(func() { line.Close(); slave.Close() })
	_, err = term.MakeRaw(int(slave.Fd()))
	require.NoError(t, err)
	return &realBench{
		t: t, dir: dir, caliper: line, port: slave.Name(),
		env: []string{"HOME=" + dir, "XDG_DATA_HOME=" + dir, "XDG_CONFIG_HOME=" + dir, "TERM=xterm-256color", "LANG=C.UTF-8", "PATH=" + os.Getenv("PATH")},
	}
}

func (b *realBench) db() string { return filepath.Join(b.dir, "records.db") }

// display is a terminal emulator that is written to by one goroutine and
// looked at by another.
type display struct {
	mu sync.Mutex
	vt *vt.Emulator
}

func (d *display) Write(p []byte) (int, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.vt.Write(p)
}

func (d *display) String() string {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.vt.String()
}

// tape is every byte that the program wrote to its terminal.
type tape struct {
	mu  sync.Mutex
	all []byte
}

func (p *tape) Write(b []byte) (int, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.all = append(p.all, b...)
	return len(b), nil
}

// from returns what was written after the first n bytes, without a character
// that only half has come yet.
func (p *tape) from(n int) string {
	p.mu.Lock()
	defer p.mu.Unlock()
	end := len(p.all)
	for back := 1; back < utf8.UTFMax && back <= end; back++ {
		if b := p.all[end-back]; utf8.RuneStart(b) {
			if !utf8.FullRune(p.all[end-back:]) {
				end -= back
			}
			break
		}
	}
	return string(p.all[min(n, end):end])
}

// whole reports whether the first screen is back, with its cursor.
func (d *display) whole() bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	return !d.vt.IsAltScreen() && !d.vt.CursorHidden()
}

// coloured counts the cells that have a colour.
func (d *display) coloured() int {
	d.mu.Lock()
	defer d.mu.Unlock()
	n := 0
	for y := range d.vt.Height() {
		for x := range d.vt.Width() {
			if cell := d.vt.CellAt(x, y); cell != nil && (cell.Style.Fg != nil || cell.Style.Bg != nil) {
				n++
			}
		}
	}
	return n
}

// run starts the station in a terminal of 80 by 24.
func (b *realBench) run(args ...string) {
	b.t.Helper()
	b.cmd = exec.Command(program(b.t), append([]string{"station", "--db", b.db()}, args...)...)
	b.cmd.Env = b.env
	var err error
	b.tty, err = pty.StartWithSize(b.cmd, &pty.Winsize{Cols: 80, Rows: 24})
	require.NoError(b.t, err)
	tty := b.tty
	b.emu = &display{vt: vt.NewEmulator(80, 24)}
	b.tape = &tape{}
	emu, all := b.emu, io.MultiWriter(b.tape, b.emu)
	go func() { _, _ = io.Copy(all, tty) }()    // ends with the program
	go func() { _, _ = io.Copy(tty, emu.vt) }() // what a terminal answers by itself
	b.ended = make(chan struct{})
	go func(cmd *exec.Cmd, ended chan<- struct{}) {
		_ = cmd.Wait() // its exit code is looked at by end
		close(ended)
	}(b.cmd, b.ended)
	b.t.Cleanup(func() {
		_ = b.cmd.Process.Kill()
		tty.Close()
	})
}

// text returns what the screen shows, as one line.
func (b *realBench) text() string { return strings.Join(strings.Fields(b.emu.String()), " ") }

// until waits until the condition holds.
func (b *realBench) until(what string, holds func() bool) {
	b.t.Helper()
	limit := time.NewTimer(patience)
	defer limit.Stop()
	again := time.NewTicker(10 * time.Millisecond)
	defer again.Stop()
	ended := b.ended
	for !holds() {
		select {
		case <-again.C:
		case <-ended: // what it has written is still on its way to the screen
			ended = nil
			limit.Reset(2 * time.Second)
		case <-limit.C:
			b.t.Fatalf("the screen does not show %q:\n%s", what, b.emu.String())
		}
	}
}

func (b *realBench) shows(parts ...string) {
	b.t.Helper()
	for _, part := range parts {
		b.until(part, func() bool { return strings.Contains(b.text(), part) })
	}
}

// does types, and waits for what the screen must then show.
func (b *realBench) does(keys, shows string) {
	b.t.Helper()
	_, err := io.WriteString(b.tty, keys)
	require.NoError(b.t, err)
	b.shows(shows)
}

// reads has the caliper send a line, and waits for what the screen must then
// show.
func (b *realBench) reads(line, shows string) {
	b.t.Helper()
	_, err := io.WriteString(b.caliper, line)
	require.NoError(b.t, err)
	b.shows(shows)
}

// settled waits until the port is open and past the time in which bytes are
// dropped as an opening's noise.
func (b *realBench) settled() {
	b.t.Helper()
	b.shows("caliper ready")
}

// end waits for the program's end and returns its exit code.
func (b *realBench) end() int {
	b.t.Helper()
	select {
	case <-b.ended:
		return b.cmd.ProcessState.ExitCode()
	case <-time.After(patience):
		b.t.Fatalf("the program does not end:\n%s", b.emu.String())
		return 0
	}
}

// table exports the records and returns one table, a map for each row.
func (b *realBench) table(name string) []map[string]string {
	b.t.Helper()
	dir := filepath.Join(b.t.TempDir(), "export")
	cmd := exec.Command(program(b.t), "export", "--as", "csv", "--out", dir, "--db", b.db())
	cmd.Env = b.env
	out, err := cmd.CombinedOutput()
	require.NoError(b.t, err, string(out))
	f, err := os.Open(filepath.Join(dir, name+".csv"))
	require.NoError(b.t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(b.t, err)
	var table []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, head := range rows[0] {
			m[head] = row[i]
		}
		table = append(table, m)
	}
	return table
}

// column returns one column of a table, as table does.
func (b *realBench) column(table, name string) (values []string) {
	b.t.Helper()
	for _, row := range b.table(table) {
		values = append(values, row[name])
	}
	return values
}
