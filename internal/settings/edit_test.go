package settings

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"seamfit/internal/catalogue"
	"seamfit/internal/length"
)

func usePort(s *Settings) { s.Caliper.Port, s.Caliper.Baud = "/dev/ttyUSB0", 9600 }

func TestEditKeepsWhatThePersonWrote(t *testing.T) {
	for _, c := range []struct{ what, before, after string }{
		{
			"values, comments and order",
			"# our bench\n[caliper] # the blue one\nbaud = 4800 # slow\nport = '' # none yet\n\n[bench]\nname = \"ness\"\n",
			"# our bench\n[caliper] # the blue one\nbaud = 9600 # slow\nport = '/dev/ttyUSB0' # none yet\n\n[bench]\nname = \"ness\"\n",
		},
		{
			"keys that are left out",
			"[caliper]\nname = 'blue' # its name\n\n# the rest\n[bench]\nreadings = 5\n",
			"[caliper]\nname = 'blue' # its name\nport = '/dev/ttyUSB0'\nbaud = 9600\n\n# the rest\n[bench]\nreadings = 5\n",
		},
		{"an empty table", "[caliper]\n[bench]\n", "[caliper]\nport = '/dev/ttyUSB0'\nbaud = 9600\n[bench]\n"},
		{"a file without the table", "[bench]\nreadings = 5", "[bench]\nreadings = 5\n\n[caliper]\nport = '/dev/ttyUSB0'\nbaud = 9600\n"},
		{"dotted keys", "caliper.port = \"a\"\ncaliper . baud=300\n", "caliper.port = '/dev/ttyUSB0'\ncaliper . baud=9600\n"},
		{"lines that end with CRLF", "[caliper]\r\nbaud = 300\r\n", "[caliper]\r\nbaud = 9600\r\nport = '/dev/ttyUSB0'\r\n"},
		{"no end of the last line", "[caliper]\nport = 'a'", "[caliper]\nport = '/dev/ttyUSB0'\nbaud = 9600"},
		{"only comments", "# nothing yet\n", "# nothing yet\n\n[caliper]\nport = '/dev/ttyUSB0'\nbaud = 9600\n"},
	} {
		got, err := Edit([]byte(c.before), "bench.toml", usePort)
		require.NoError(t, err, c.what)
		assert.Equal(t, c.after, string(got), c.what)
	}
}

func TestEditMakesAWholeFileOfNone(t *testing.T) {
	got, err := Edit(nil, "bench.toml", usePort)
	require.NoError(t, err)
	want := Default()
	usePort(&want)
	whole, err := Marshal(want)
	require.NoError(t, err)
	assert.Equal(t, string(whole), string(got))
}

func TestEditNamesTheLinesThatItCannotPut(t *testing.T) {
	for _, text := range []string{
		"caliper = { port = 'a', baud = 300 }\n",
		"caliper.port = 'a'\n", // baud has no place: the table would be defined twice
	} {
		_, err := Edit([]byte(text), "bench.toml", usePort)
		var refused *catalogue.FileError
		require.ErrorAs(t, err, &refused, text)
		assert.NotEmpty(t, refused.Mend, text)
	}
	_, err := Edit([]byte("[caliper]\nport = 3\n"), "bench.toml", usePort)
	assert.ErrorContains(t, err, "bench.toml, line 2")
	_, err = Edit(nil, "bench.toml", func(s *Settings) { s.Caliper.Baud = 1 })
	assert.ErrorContains(t, err, "caliper.baud", "what would be refused is never written")
}

func TestEditChangesExactlyWhatItIsAskedTo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := ""
		for _, line := range []string{
			"name = 'blue'", "port = \"/dev/a#b\" # c", "baud = 300", "framing = '8N1'", "id = 'usb:1:2:3'", "steady_s = 0.5",
		} {
			if rapid.Bool().Draw(t, line) {
				text += line + "\n"
			}
		}
		data := []byte("[caliper]\n" + text + "[measure]\nmpe_mm = 0.03 # mine\n")
		before, err := Load(data, "b.toml")
		require.NoError(t, err)
		want := before
		change := func(s *Settings) {
			s.Caliper.Port = rapid.StringMatching(`[a-z/#'" \\=é]{0,12}`).Draw(t, "port")
			s.Caliper.Baud = rapid.IntRange(50, 115200).Draw(t, "baud")
			s.Scanner.Code39Check = rapid.Bool().Draw(t, "check")
			s.Caliper.AnswerS = rapid.Float64Range(0.1, 60).Draw(t, "answer")
			s.Measure.MPE.Length = length.Length(rapid.Int64Range(0, 5e6).Draw(t, "mpe"))
		}
		got, err := Edit(data, "b.toml", func(s *Settings) {
			change(s)
			want = *s
		})
		require.NoError(t, err)
		back, err := Load(got, "b.toml")
		require.NoError(t, err)
		require.Equal(t, want, back)
		require.Contains(t, string(got), "# mine")
	})
}

func FuzzEdit(f *testing.F) {
	f.Add([]byte("[caliper]\nport = 'a' # x\n"))
	f.Add([]byte("caliper = { port = '''\n''' }\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		before, err := Load(data, "b.toml")
		if err != nil {
			return
		}
		got, err := Edit(data, "b.toml", usePort)
		if err != nil {
			return
		}
		usePort(&before)
		back, err := Load(got, "b.toml")
		require.NoError(t, err)
		require.Equal(t, before, back)
	})
}
