package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// benchAt runs command lines at times of its own, on one database.
type benchAt struct {
	t   *testing.T
	db  string
	now time.Time
}

func newBenchAt(t *testing.T) *benchAt {
	return &benchAt{t: t, db: filepath.Join(t.TempDir(), "bench.db"), now: time.Date(2026, 5, 17, 6, 0, 0, 0, time.UTC)}
}

func (b *benchAt) world(stdin string, out *bytes.Buffer) world {
	return world{
		stdin: strings.NewReader(stdin), stdout: out, stderr: out, env: func(string) string { return "" },
		now: func() time.Time { return b.now }, newID: func() string { return uuid.Must(uuid.NewV7()).String() },
	}
}

func (b *benchAt) run(code int, args ...string) string {
	b.t.Helper()
	var out bytes.Buffer
	require.Equal(b.t, code, run(append(args, "--db", b.db), b.world("", &out)), out.String())
	return out.String()
}

func (b *benchAt) file(name, text string) string {
	path := filepath.Join(b.t.TempDir(), name)
	require.NoError(b.t, os.WriteFile(path, []byte(text), 0o600))
	return path
}

// doubts returns what the station would show of the caliper now.
func (b *benchAt) doubts(settings string) []string {
	b.t.Helper()
	var out bytes.Buffer
	a := &app{world: b.world("", &out), dbPath: b.db, settingsPath: settings, format: "text"}
	files, err := a.load()
	require.NoError(b.t, err)
	records, err := a.openRecords(b.t.Context(), files.setup, true)
	require.NoError(b.t, err)
	defer func() { require.NoError(b.t, records.Close()) }()
	require.NoError(b.t, files.calibrated(b.t.Context(), records, b.now))
	cfg, err := a.stationConfig(b.t.Context(), files, records, stationFlags{})
	require.NoError(b.t, err)
	return cfg.Options.Doubts
}

const threeRods = "reference_mm,reading_mm\n4,4.05\n4,4.05\n8,8.05\n8,8.06\n12,12.05\n12,12.05\n"

func TestACalibrationThatHasRunOutIsToldAndCorrectsNothing(t *testing.T) {
	b := newBenchAt(t)
	readings := b.file("readings.csv", threeRods)
	b.run(exitDone, "calibrate", "--from", readings, "--store", "--by", "A. Holm", "--valid-days", "30")
	inForce := b.run(exitDone, "fit", "--width", "8.42,8.45,8.40", "--format", "json")
	assert.Contains(t, inForce, `"calibrated":true`)
	assert.NotContains(t, inForce, "ran out")
	assert.Empty(t, b.doubts(""))

	b.now = b.now.AddDate(0, 0, 31)
	expired := b.run(exitDone, "fit", "--width", "8.42,8.45,8.40", "--format", "json")
	assert.Contains(t, expired, `"calibrated":false`)
	assert.Contains(t, expired, "the caliper's calibration ran out on 2026-06-16: no correction until it is calibrated anew")
	assert.Contains(t, b.run(exitDone, "calibrate", "show"), "! EXPIRED on 2026-06-16")
	assert.Equal(t, []string{"The caliper's calibration ran out on 2026-06-16: readings are not corrected. Calibrate it."}, b.doubts(""))

	strict := b.file("bench.toml", "[measure]\nrequire_calibration = true\n")
	refused := b.run(exitFailed, "fit", "--width", "8.42", "--settings", strict)
	assert.Equal(t, "seamfit: the calibration of caliper \"caliper\" is expired, and this bench requires one; calibrate it, or set require_calibration = false\n", refused)

	b.run(exitDone, "calibrate", "--from", readings, "--store", "--by", "A. Holm", "--valid-days", "30")
	assert.Contains(t, b.run(exitDone, "fit", "--width", "8.42", "--settings", strict, "--format", "json"), `"calibrated":true`)
}

func TestARequiredCalibrationThatIsMissingIsTold(t *testing.T) {
	b := newBenchAt(t)
	b.run(exitDone, "calibrate", "rods", "add", "R-8", "--diameter", "8", "--u", "0.001", "--by", "A. Holm")
	strict := b.file("bench.toml", "[measure]\nrequire_calibration = true\n")
	assert.Equal(t, []string{"This bench requires a calibration, and the caliper has none: calibrate it before the first bird."}, b.doubts(strict))
	assert.Empty(t, b.doubts(""))
	assert.Contains(t, b.run(exitFailed, "fit", "--width", "8.42", "--settings", strict), "is missing, and this bench requires one")
}

// The station shows a check out of limits until there is a reason or a
// calibration.
func TestTheStationShowsACheckOutOfLimitsUntilItIsAnswered(t *testing.T) {
	b := newBenchAt(t)
	b.run(exitDone, "calibrate", "rods", "add", "R-8", "--diameter", "8", "--u", "0.001", "--by", "A. Holm")
	bad := func() {
		b.now = b.now.Add(time.Hour)
		b.run(exitFailed, "check", "--readings", "8.05,8.05,8.05", "--by", "A. Holm")
		doubts := b.doubts("")
		require.Len(t, doubts, 1)
		assert.Contains(t, doubts[0], "CALIPER IN DOUBT: the check on rod R-8 of 2026-05-17")
		assert.Contains(t, doubts[0], "seamfit check --go-on REASON")
	}
	bad()
	b.run(exitDone, "check", "--go-on", "the spare is broken", "--by", "A. Holm")
	assert.Empty(t, b.doubts(""))
	bad()
	b.now = b.now.Add(time.Hour)
	b.run(exitDone, "calibrate", "--from", b.file("readings.csv", threeRods), "--store", "--by", "A. Holm")
	assert.Empty(t, b.doubts(""))
	b.now = b.now.Add(time.Hour)
	b.run(exitDone, "check", "--readings", "8.05,8.05,8.05", "--by", "A. Holm")
	assert.Empty(t, b.doubts(""), "corrected, the same readings are right")
}

// Ten legs read three times give twenty degrees of freedom: from then on the
// bench's own repeatability counts.
func TestFitCountsHowTheBenchHasRepeatedBefore(t *testing.T) {
	b := newBenchAt(t)
	var events strings.Builder
	events.WriteString(`{"do":"shift","place":"Skerry of Ness","bander":"A. Holm","permit":"P-1"}` + "\n")
	for range 10 {
		events.WriteString(`{"do":"bird","species":"Larus argentatus","age":"adult","sex":"female","leg":"right"}` + "\n" +
			`{"caliper":"+8.40\r+8.42\r+8.44\r"}` + "\n" + `{"do":"fate","as":"unbanded"}` + "\n" + `{"do":"complete"}` + "\n")
	}
	before := b.run(exitDone, "fit", "--width", "8.42,8.45,8.40", "--format", "json")
	assert.Contains(t, before, `"s_r_mm":0.03,"source":"setting"`)
	b.run(exitDone, "replay", b.file("birds.jsonl", events.String()))
	after := b.run(exitDone, "fit", "--width", "8.42,8.45,8.40", "--format", "json")
	assert.Contains(t, after, `"s_r_mm":0.02,"source":"pooled"`)
	assert.Contains(t, b.run(exitDone, "fit", "--width", "8.42", "--pooled-sd", "0.05", "--pooled-dof", "20", "--format", "json"), `"s_r_mm":0.05`)
}
