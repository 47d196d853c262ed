package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/store"
)

// handing is a bench with one unbanded gull, and the office's map.
type handing struct {
	t    *testing.T
	home string
	now  time.Time
}

func newHanding(t *testing.T) *handing {
	t.Helper()
	h := &handing{t: t, home: t.TempDir(), now: time.Date(2026, 5, 17, 12, 0, 0, 0, time.UTC)}
	require.NoError(t, os.WriteFile(h.at("office.toml"), []byte("name = \"office\"\n[[column]]\nname = \"Kind\"\nfrom = \"species\"\n[[column]]\nname = \"Fate\"\nfrom = \"fate\"\n"), 0o600))
	h.bird("Larus argentatus")
	return h
}

func (h *handing) at(name string) string { return filepath.Join(h.home, name) }

func (h *handing) bird(species string) {
	h.t.Helper()
	h.now = h.now.Add(time.Hour)
	lines := []string{
		`{"do":"shift","place":"Skerry of Ness","bander":"A. Holm","permit":"P-17"}`,
		`{"do":"bird","species":"` + species + `","age":"adult","leg":"right"}`,
		`{"do":"fate","as":"unbanded","reason":"too cold"}`, `{"do":"complete"}`,
	}
	require.NoError(h.t, os.WriteFile(h.at("shift.jsonl"), []byte(strings.Join(lines, "\n")), 0o600))
	h.run("replay", h.at("shift.jsonl"))
}

// run runs a command that must succeed, and returns what it says.
func (h *handing) run(args ...string) (out, notes string) {
	h.t.Helper()
	code, out, notes := h.try(args...)
	require.Equal(h.t, exitDone, code, notes)
	return out, notes
}

func (h *handing) try(args ...string) (code int, out, notes string) {
	var stdout, stderr bytes.Buffer
	w := system()
	w.stdin, w.stdout, w.stderr, w.now = strings.NewReader(""), &stdout, &stderr, func() time.Time { return h.now }
	w.env = func(string) string { return "" }
	code = run(append(args, "--db", h.at("bench.db")), w)
	return code, stdout.String(), stderr.String()
}

func (h *handing) submit(folder string) (out, notes string) {
	h.t.Helper()
	return h.run("export", "--as", "table", "--map", h.at("office.toml"), "--out", h.at(folder), "--mark-submitted", "--by", "A. Holm")
}

func (h *handing) read(name string) string {
	h.t.Helper()
	data, err := os.ReadFile(h.at(name))
	require.NoError(h.t, err)
	return string(data)
}

// marked marks the one gull as the program does before its files get their
// name, and ends there.
func (h *handing) marked(folder string) (id string) {
	h.t.Helper()
	s, err := store.Open(h.t.Context(), h.at("bench.db"), store.Options{MustExist: true})
	require.NoError(h.t, err)
	defer func() { require.NoError(h.t, s.Close()) }()
	birds, err := s.OpenMatters(h.t.Context(), "")
	require.NoError(h.t, err)
	require.Empty(h.t, birds)
	sub := store.Submission{ID: system().newID(), Map: "office", Columns: []string{"Kind", "Fate"}, At: h.now, By: "A. Holm", Folder: h.at(folder)}
	require.NoError(h.t, s.View(h.t.Context(), func(v *store.View) error {
		return v.Rows(h.t.Context(), "handlings", []string{"handling", "species", "fate"}, func(values []any) error {
			text := func(i int) string { s, _ := values[i].(string); return s }
			sub.Birds = append(sub.Birds, store.SubmittedBird{Handling: text(0), Change: "new", Fields: []string{text(1), text(2)}})
			return nil
		})
	}))
	_, err = s.SaveSubmission(h.t.Context(), sub)
	require.NoError(h.t, err)
	return sub.ID
}

const gullRow = "Kind,Fate\r\nLarus argentatus,unbanded\r\n"

func TestASubmissionThatEndedBeforeItsFilesIsWrittenByTheNextRun(t *testing.T) {
	h := newHanding(t)
	id := h.marked("first")
	h.bird("Uria aalge") // after the crash
	_, notes := h.run("export", "--as", "table", "--map", h.at("office.toml"), "--out", h.at("look"))
	assert.Contains(t, notes, "submission 1 through this map is marked, and its files are not known to be in their place; run with --mark-submitted first")
	assert.Equal(t, "Kind,Fate\r\nUria aalge,unbanded\r\n", h.read("look/birds.csv"))

	out, notes := h.submit("again")
	assert.Contains(t, out, "marked as submission 1")
	assert.Contains(t, notes, "submission 1 was marked on 2026-05-17 13:00, and its files had not come to their place: these are its rows; run again for what is new since")
	assert.Equal(t, gullRow, h.read("again/birds.csv"), "the rows of then, and no others")
	assert.Contains(t, h.read("again/submission.json"), `"submission":"`+id+`"`)

	out, notes = h.submit("second")
	assert.Contains(t, out, "marked as submission 2")
	assert.Empty(t, notes)
	assert.Equal(t, "Kind,Fate\r\nUria aalge,unbanded\r\n", h.read("second/birds.csv"), "no bird twice, none lost")
}

func TestASubmissionWhoseFilesAreThereIsOnlyNoted(t *testing.T) {
	h := newHanding(t)
	id := h.marked("first")
	require.NoError(t, os.Mkdir(h.at("first"), 0o755))
	require.NoError(t, os.WriteFile(h.at("first/submission.json"), []byte(`{"submission":"`+id+`"}`), 0o600))
	h.bird("Uria aalge")
	_, notes := h.run("export", "--as", "table", "--map", h.at("office.toml"), "--out", h.at("look"))
	assert.Empty(t, notes)
	out, notes := h.submit("second")
	assert.Contains(t, out, "marked as submission 2")
	assert.Empty(t, notes)
	assert.Equal(t, "Kind,Fate\r\nUria aalge,unbanded\r\n", h.read("second/birds.csv"))
}

func TestARefusedMarkLeavesNoFiles(t *testing.T) {
	h := newHanding(t)
	require.NoError(t, os.WriteFile(h.at("taken"), nil, 0o600))
	code, _, notes := h.try("export", "--as", "table", "--map", h.at("office.toml"), "--out", h.at("taken"), "--mark-submitted", "--by", "A. Holm")
	assert.Equal(t, exitFailed, code)
	assert.Contains(t, notes, "name a new folder")
	out, _ := h.submit("first")
	assert.Contains(t, out, "marked as submission 1", "the refused one marked nothing")
	entries, err := os.ReadDir(h.home)
	require.NoError(t, err)
	for _, e := range entries {
		assert.False(t, strings.HasPrefix(e.Name(), "."), "no temporary name is left: %s", e.Name())
	}
}
