package settings

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/catalogue"
	"seamfit/internal/length"
)

func TestDefaultsSurviveTheirFile(t *testing.T) {
	data, err := Marshal(Default())
	require.NoError(t, err)
	t.Log(string(data))
	back, err := Load(data, "bench.toml")
	require.NoError(t, err)
	assert.Equal(t, Default(), back)
	assert.Contains(t, string(data), "mpe_mm = 0.02\n", "lengths are bare numbers")
}

func TestLengthsAreReadDigitForDigit(t *testing.T) {
	for text, want := range map[string]length.Length{
		"0.000001": 1, "0.1": 100_000, `"0.0305"`: 30_500, "1": length.Millimetre, `"0.0012 in"`: 30_480, `"0,03"`: 30_000,
	} {
		s, err := Load([]byte("[measure]\nrepeatability_sd_mm = "+text), "bench.toml")
		require.NoError(t, err, text)
		assert.Equal(t, want, s.Measure.RepeatabilitySD.Length, text)
	}
}

func TestWhatTheFileLeavesOutKeepsItsDefault(t *testing.T) {
	s, err := Load([]byte("[bench]\nreadings = 5\n"), "bench.toml")
	require.NoError(t, err)
	want := Default()
	want.Bench.Readings = 5
	assert.Equal(t, want, s)
}

func TestABrokenFileIsRefusedWithLineReasonAndMend(t *testing.T) {
	for text, want := range map[string]string{
		"[bench]\nreadinggs = 3":                   `b.toml, line 2: unknown key "bench.readinggs"`,
		"[bench]\nname = \"a\"\n\nreadings = 0":    "b.toml, line 4: bench.readings: 0 is out of range; use 1 to 10",
		"[measure]\nmpe_mm = \"wide\"":             "b.toml, line 2: measure.mpe_mm: not a length in millimetres",
		"[measure]\n\nmpe_mm = 1e-3":               "b.toml, line 3: measure.mpe_mm: not a length in millimetres",
		"[measure]\nmpe_mm = nan":                  "line 2: measure.mpe_mm: not a length",
		"[measure]\nmin_play = 0.4":                "line 2: measure.min_play: min_play must be at least 0 and below target_play; use 0.06",
		"[measure]\nmin_play = nan":                "line 2: measure.min_play",
		"[measure]\nmax_play = 0.1":                "line 2: measure.max_play",
		"[caliper]\nbaud = 1\n":                    "line 2: caliper.baud",
		"[caliper]\nframing = \"9X9\"\n":           `line 2: caliper.framing: "9X9" is no framing; write it like "7E2" or "8N1"`,
		"[caliper]\nunit = \"cm\"\n":               "line 2: caliper.unit",
		"[caliper]\nframing = \"8N1.5\"\n":         "line 2: caliper.framing",
		"[caliper]\nanswer_s = 0\n":                "line 2: caliper.answer_s: 0 is out of range; use 0.1 to 60",
		"[caliper]\nanswer_s = nan\n":              "line 2: caliper.answer_s",
		"[caliper]\nsteady_s = 31.0\n":             "line 2: caliper.steady_s",
		"[caliper]\nsteady_samples = 1\n":          "line 2: caliper.steady_samples",
		"[caliper]\nstreams = \"often\"\n":         `line 2: caliper.streams: "often" is no answer; use one of ["" "yes" "no"]`,
		"[caliper]\nid = \"\\u0007\"\n":            "line 2: caliper.id",
		"[bench]\nname = \"\\u001b[2J\"":           `line 2: bench.name: "\x1b[2J" holds a character`,
		"[bench]\nname = \"\"":                     "line 2: bench.name: is empty",
		"bench = 3":                                "line 1",
		"[bench\n":                                 "line 1",
		"[bench]\nreadings = \"three\"":            "line 2",
		"[bench]\ncatalogue_files = [\"\\u0007\"]": "line 2: bench.catalogue_files",
	} {
		_, err := Load([]byte(text), "b.toml")
		require.Error(t, err, text)
		assert.Contains(t, err.Error(), want, text)
		var refused *catalogue.FileError
		require.ErrorAs(t, err, &refused, text)
		assert.NotEmpty(t, refused.Mend, text)
		assert.NotContains(t, err.Error(), "\x1b")
	}
}

// Sources: play limits, Tarsus program of the Aranzadi Ringing Scheme
// (Ringing & Migration); MPE, DIN 862 for a 0.01 mm caliper up to 100 mm.
func TestSourcedDefaults(t *testing.T) {
	m := Default().Measure
	assert.InDelta(t, 0.06, m.MinPlay, 0)
	assert.InDelta(t, 0.60, m.MaxPlay, 0)
	assert.InDelta(t, 0.32, m.TargetPlay, 0)
	assert.Equal(t, 20*length.Micrometre, m.MPE.Length)
}

func FuzzLoad(f *testing.F) {
	data, err := Marshal(Default())
	require.NoError(f, err)
	f.Add(data)
	f.Add([]byte("[measure]\nmpe_mm = 0.02"))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := Load(data, "b.toml")
		if err != nil {
			return
		}
		again, err := Marshal(s)
		require.NoError(t, err)
		back, err := Load(again, "b.toml")
		require.NoError(t, err)
		require.Equal(t, s, back)
	})
}

func TestFurtherMeasuresAndPeople(t *testing.T) {
	for _, text := range []string{
		"[measure]\nfurther = [{ name = 'wing', unit = 'mm', method = 'flattened', at_most = 900 }]\n[people]\ntrainees = ['L. Bye']\n",
		"[people]\ntrainees = ['L. Bye']\n[[measure.further]]\nname = 'wing'\nunit = 'mm'\nmethod = 'flattened'\nat_most = 900\n",
	} {
		s, err := Load([]byte(text), "b.toml")
		require.NoError(t, err)
		assert.Equal(t, []FurtherMeasure{{"wing", "mm", "flattened", 900}}, s.Measure.Further)
		assert.Equal(t, []string{"L. Bye"}, s.People.Trainees)
		written, err := Marshal(s)
		require.NoError(t, err)
		back, err := Load(written, "b.toml")
		require.NoError(t, err)
		assert.Equal(t, s, back)
	}
	for text, want := range map[string]string{
		"[[measure.further]]\nunit = 'mm'":                                                                "measure.further[0].name: is empty",
		"[[measure.further]]\nname = 'mass'":                                                              "measure.further[0].unit: is empty",
		"[[measure.further]]\nname = 'mass'\nunit = 'g'\nat_most = -1":                                    "measure.further[0].at_most: -1 is out of range",
		"[[measure.further]]\nname = 'mass'\nunit = 'g'\n[[measure.further]]\nname = ' Mass'\nunit = 'g'": "is named twice",
		"[people]\nsupervisors = ['']":                                                                    "people.trainees: is empty",
		"[bench]\nbands_limit = 11":                                                                       "bench.bands_limit: 11 is out of range; use 0 to 10",
	} {
		_, err := Load([]byte(text), "b.toml")
		require.ErrorContains(t, err, want, text)
	}
}
