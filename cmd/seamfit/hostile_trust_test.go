//go:build unix

package main

import (
	"context"
	"encoding/json"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/creack/pty"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// nasty are texts that would steer a terminal, turn a line around, or break a
// reader. Each has OWNED in it, to be found again.
func nasty() []string {
	return []string{
		"\x1b]0;OWNED\x07", "\x1b[2JOWNED", "OWNED\r\nOWNED\b\x7f", "\u009b31mOWNED", "OWNED\x9b2J\xff", "OWNED\u202egnp.exe\u2066",
	}
}

// requireHarmless finds a byte that a terminal would obey.
func requireHarmless(t *testing.T, what, text string) {
	t.Helper()
	require.True(t, utf8.ValidString(text), "%s: %q", what, text)
	for i, r := range text {
		if r != '\n' && (unicode.IsControl(r) || unicode.Is(unicode.Cf, r) || r == 0x2028 || r == 0x2029) {
			require.Failf(t, "a terminal would obey", "%s: %q", what, text[max(0, i-60):min(len(text), i+60)])
		}
	}
}

// written runs the program without a terminal and returns all that it wrote.
func written(t *testing.T, dir string, env []string, input string, args ...string) string {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), patience)
	defer cancel()
	cmd := exec.CommandContext(ctx, realProgram(t), args...)
	cmd.Dir, cmd.Env, cmd.Stdin = dir, env, strings.NewReader(input)
	cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true}
	out, _ := cmd.CombinedOutput() // most of these are refused, as they should be
	require.NoError(t, ctx.Err(), "%q does not end", args)
	require.NotContains(t, string(out), "goroutine ", "%q", args)
	return string(out)
}

// Whatever stands on the command line, in the environment, in a file or on
// standard input of any command: nothing of it reaches the terminal raw.
func TestTrustNoCommandHandsOnWhatSteersATerminal(t *testing.T) {
	dir := t.TempDir()
	a := &app{world: system()}
	texts := nasty()
	n := 0
	every(a.root(), func(cmd *cobra.Command) {
		path := strings.Fields(cmd.CommandPath())[1:]
		text := texts[n%len(texts)]
		n++
		named := "OWNED\x1b[2J\n'.csv"
		require.NoError(t, os.WriteFile(filepath.Join(dir, named), []byte(text+","+text+"\n"+text+",1\n"), 0o600))
		tries := [][]string{{"--help"}, {text}, {named}, {"--" + text}, {"--db", named}, {"--settings", named}}
		cmd.LocalNonPersistentFlags().VisitAll(func(f *pflag.Flag) {
			if f.Name == "listen" || f.Name == "help" {
				return // one waits for a port for ever
			}
			tries = append(tries, []string{"--" + f.Name + "=" + text}, []string{"--" + f.Name + "=" + named})
		})
		for _, args := range tries {
			all := append(append([]string{}, path...), args...)
			requireHarmless(t, strings.Join(path, " "), written(t, dir, homeIn(dir), text+"\n"+text, all...))
		}
	})
	for _, text := range texts {
		for _, name := range []string{"TERM", "LANG", "HOME", "XDG_DATA_HOME", "XDG_CONFIG_HOME", "TMPDIR", "NO_COLOR", "SEAMFIT_DB", "COLUMNS"} {
			for _, args := range [][]string{{"station"}, {"shift", "show"}, {"replay", "-"}, {"verify"}} {
				requireHarmless(t, name, written(t, dir, homeIn(dir, name+"="+text), "", args...))
			}
		}
		line, err := json.Marshal(map[string]string{"do": text, "species": text, "caliper": text + "\r", "scanner": text + "\r"})
		require.NoError(t, err)
		for _, input := range []string{string(line), text, `{"do":"` + text + `"}`, `{"caliper":"` + text + `"}`} {
			requireHarmless(t, "replay", written(t, dir, homeIn(dir), input, "replay", "-", "--acknowledge"))
		}
		toml, err := json.Marshal(text) // TOML's basic strings escape as JSON's do
		require.NoError(t, err)
		settings := filepath.Join(dir, "bench.toml")
		for _, body := range []string{"[bench]\nplace = " + string(toml) + "\ncatalogue = " + string(toml), text, "[" + string(toml) + "]\nx=1"} {
			require.NoError(t, os.WriteFile(settings, []byte(body), 0o600))
			requireHarmless(t, "settings", written(t, dir, homeIn(dir), "", "shift", "show", "--settings", settings))
			requireHarmless(t, "catalogue", written(t, dir, homeIn(dir), "", "catalogue", "check", settings))
		}
	}
}

// spoiltRecords is a database into which another program has written what no
// command of this one would take.
func spoiltRecords(t *testing.T, dir string) string {
	t.Helper()
	path := filepath.Join(dir, "it's 100% a?b#c.db")
	lines := shiftLines(1)
	out := written(t, dir, homeIn(dir), strings.Join(lines, "\n"), "replay", "-", "--db", path)
	require.NotContains(t, out, "refused")
	db := openRaw(t, path)
	defer db.Close()
	texts := append(nasty(), `<script>alert("OWNED")</script>`, `=HYPERLINK("http://owned","OWNED")`, "@OWNED", "+OWNED", "-OWNED", "\tOWNED")
	for i, text := range texts {
		id := idAt(time.Date(2031, 5, 17, 7, i, 0, 0, time.UTC), uint64(i))
		_, err := db.Exec(`INSERT INTO shift (id, started, started_offset, place, bander, scribe, permit, catalogue, training, clock_behind_ms, digest)
			SELECT ?, '2031-05-17T07:00:00.000Z', '+00:00', ?, ?, ?, ?, 'us-federal', 0, 0, digest FROM shift LIMIT 1`, id, text, text, text, text)
		require.NoError(t, err)
		_, err = db.Exec(`INSERT INTO handling (id, shift) VALUES (?, ?)`, id, id)
		require.NoError(t, err)
		_, err = db.Exec(`INSERT INTO fact (handling, seq, kind, at, at_offset, entered, entered_offset, by, typed, why, digest)
			SELECT ?, 1, 'bird', '2031-05-17T07:00:00.000Z', '+00:00', '2031-05-17T07:00:00.000Z', '+00:00', ?, ?, ?, digest FROM fact LIMIT 1`, id, text, text, text)
		require.NoError(t, err)
		_, err = db.Exec(`INSERT INTO fact_bird (handling, seq, species, age, sex, leg, site) VALUES (?, 1, ?, ?, ?, 'right', 'below')`, id, text, text, text)
		require.NoError(t, err)
	}
	return path
}

// Text that another program wrote into the records reaches neither the
// terminal nor a file as anything but text.
func TestTrustSpoiltRecordsSteerNothing(t *testing.T) {
	dir := t.TempDir()
	path := spoiltRecords(t, dir)
	for _, args := range [][]string{
		{"shift", "show"},
		{"verify"},
		{"bands", "show"},
		{"bands", "reconcile"},
		{"practice", "show"},
		{"calibrate", "show"},
		{"export", "--as", "csv", "--out", "csv"},
		{"export", "--as", "spreadsheet", "--out", "sheet"},
		{"export", "--as", "datapackage", "--out", "package"},
		{"report", "--out", "day.html", "--shift", "last"},
	} {
		for _, format := range []string{"text", "json"} {
			if format == "json" && len(args) > 2 {
				continue // written above
			}
			requireHarmless(t, strings.Join(args, " "), written(t, dir, homeIn(dir), "", append(args, "--db", path, "--format", format)...))
		}
	}
	files := 0
	require.NoError(t, filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
		require.NoError(t, err)
		ext := filepath.Ext(name)
		if d.IsDir() || ext != ".csv" && ext != ".html" && ext != ".json" {
			return nil
		}
		files++
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		text := strings.TrimPrefix(strings.ReplaceAll(string(data), "\r\n", "\n"), "\ufeff")
		requireHarmless(t, name, text)
		if ext == ".html" {
			assert.NotContains(t, text, "<script>alert", name)
		}
		if strings.Contains(name, "sheet") {
			for _, formula := range []string{`=HYPERLINK`, "@OWNED", "+OWNED", "-OWNED"} {
				assert.NotContains(t, text, "\n"+formula, name)
				assert.NotContains(t, text, ","+formula, name)
				assert.NotContains(t, text, `,"`+formula, name)
			}
		}
		return nil
	}))
	assert.Greater(t, files, 20)
	requireOwnedOnlyAsText(t, dir, path)
}

// requireOwnedOnlyAsText opens the station on the records and looks at every
// byte that it sends to the terminal.
func requireOwnedOnlyAsText(t *testing.T, dir, path string) {
	t.Helper()
	cmd := exec.Command(realProgram(t), "station", "--db", path)
	cmd.Env = homeIn(dir, "TERM=xterm-256color")
	tty, err := pty.StartWithSize(cmd, &pty.Winsize{Cols: 120, Rows: 40})
	require.NoError(t, err)
	defer tty.Close()
	var sent strings.Builder
	buffer := make([]byte, 64<<10)
	limit := time.AfterFunc(patience, func() { _ = cmd.Process.Kill() })
	defer limit.Stop()
	for asked := false; ; {
		n, err := tty.Read(buffer)
		sent.Write(buffer[:n])
		if err != nil {
			break
		}
		if !asked && strings.Count(sent.String(), "OWNED") > 1 {
			asked = true
			_, err = io.WriteString(tty, "\x1bOR\x1bOR\x11y") // other birds, then leave
			require.NoError(t, err)
		}
	}
	require.NoError(t, cmd.Wait(), "%q", sent.String())
	for _, text := range nasty()[:5] {
		assert.NotContains(t, sent.String(), text)
	}
}
