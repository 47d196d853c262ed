package device_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/device"
	"seamfit/device/devicetest"
	"seamfit/internal/length"
)

// refuses checks that each line is a frame of the given kind, not a value.
func refuses(t *testing.T, form device.Form, kind device.Kind, lines ...string) {
	t.Helper()
	for _, line := range lines {
		frames := decode(newDecoder(t, form), line+"\r")
		require.Len(t, frames, 1, "%q", line)
		assert.Equal(t, kind, kindOf(frames[0]), "%q", line)
		assert.Zero(t, frames[0].Value, "%q", line)
		assert.Equal(t, line, string(frames[0].Raw))
	}
}

func TestNoFormAcceptsAnotherFormsFrames(t *testing.T) {
	for _, ex := range devicetest.Examples() {
		for _, other := range device.SerialForms() {
			if other == ex.Form || ex.Form == device.Typed {
				continue // what a caliper types may look like a print-out
			}
			for _, f := range decode(newDecoder(t, other), ex.Bytes) {
				assert.Error(t, f.Err, "%s line %q read as %s", ex.Form, f.Raw, other)
			}
		}
	}
}

func TestWhatIsNoPrintOut(t *testing.T) {
	refuses(t, device.Print, device.KindGrammar,
		"8.42", "8.42mm", "8.42  mm", "8.42 cm", "8.42 mm ", " 8.42 mm", "8 mm", "8. mm", ".42 mm",
		" mm", "mm", "8,42 mm", "8.42 MM", "--8.42 mm", "8.42 mm\x07", "+ mm", "ERR0")
}

func TestWhatIsNoChannelLine(t *testing.T) {
	refuses(t, device.Channel, device.KindGrammar,
		"01A-001.234", "01A-001.23400", "1A-001.2340", "11A-001.2340", "0xA-001.2340", "01B-001.2340",
		"01A 001.2340", "01A001.23400", "01A-00112340", "01A-.0112340", "01A-0112340.", "01A-001 2340",
		"01A-001,2340", "01A", "0", "01A-001.2.40")
}

func TestWhatIsNoWideLine(t *testing.T) {
	refuses(t, device.Wide, device.KindGrammar,
		"+ 2.1380, CM", "+ 2.1380, mm", "+ 2.1380,MM", "  2.1380, MM", "+ 2. 380, MM", "+ 2 1380, MM",
		"+ 2.1380,,MM", "+,2.1380  MM", "+        , MM", "+        MMM", "+12345678 MM", "+ 2.1380; MM",
		"NOT FOUND ", "NOTFOUND", "OUT OF BOUND", "+ 2.1380")
	refuses(t, device.Wide, device.KindNoGauge, "NOT FOUND")
	refuses(t, device.Wide, device.KindRange, "OUT OF BOUNDS")
	refuses(t, device.Wide, device.KindEcho, "R")
}

func TestWhatIsNoMultiplexedLine(t *testing.T) {
	refuses(t, device.Multiplexed, device.KindGrammar,
		"2 MW-00088.29", "2 MW-00088.29mm", "22MW-00088.29 mm", "x MW-00088.29 mm", "2 MW00088.29 mm",
		"2 MW-00088 mm", "2 MW- 0088.29 mm", "2 mw-00088.29 mm", "2 MW-00088.29 cm", "2 MW-00088.29 mm ",
		"2 XY-00088.29 mm", "2 M -00088.29 mm", // flags that nobody knows may mean an error
		"3 TO", "3 TO mm")
	// A multiplexer's manual: TO is an error although its line parses as a
	// number.
	refuses(t, device.Multiplexed, device.KindNoGauge, "3 TO 999999.99 mm", "3 TO+00008.42 mm")
	refuses(t, device.Multiplexed, device.KindRange, "3 MW 999999.99 mm", "3 MW+99999.99 in")

	frames := decode(newDecoder(t, device.Multiplexed), "2 MW+9.99 mm\r\n3 TO 999999.99 mm\r\n")
	require.Len(t, frames, 2)
	assert.Equal(t, length.Length(9_990_000), frames[0].Value, "a short run of nines is a width")
	assert.Equal(t, "3", frames[1].Channel, "an error tells its channel")
}

func TestUnitsAreWatchedOnEveryChannel(t *testing.T) {
	d, err := device.NewDecoder(device.Multiplexed, device.DecoderOptions{})
	require.NoError(t, err)
	frames := decode(d, "1 MW+8.42 mm\r2 MW+0.3315 in\r1 MW+8.42 mm\r2 MW+0.3315 in\r2 MW+8.42 mm\r")
	require.Len(t, frames, 5)
	for i, changed := range []bool{false, false, false, false, true} {
		assert.Equal(t, changed, frames[i].UnitChanged, "frame %d", i)
	}
}

func TestWhatIsNoNibbleFrame(t *testing.T) {
	refuses(t, device.Nibbles, device.KindGrammar,
		"FFFF80123453", "FFFF8012345300", "FFF8801234530", "FFFF101234530", "FFFF8A1234530", "FFFF801234560",
		"FFFF801234538", "FFFF80123453F", "FFFFFFFFFFFFF", "0xFFFF8012345", "FFFF801234 30",
		"34530FFFF8012", // the middle of two frames holds FFFF too
	)
}

func TestNibblesWithAJudgementTakeTheUnitFromTheSetting(t *testing.T) {
	for _, judged := range []string{"2", "3", "4", "5", "6", "7"} {
		frames := decode(newDecoder(t, device.Nibbles), "FFFF00008422"+judged+"\r")
		require.Len(t, frames, 1)
		require.NoError(t, frames[0].Err)
		assert.True(t, frames[0].UnitAssumed)
		assert.Equal(t, length.Length(8_420_000), frames[0].Value)
	}
	frames := decode(newDecoder(t, device.Nibbles), "ffff000842000\r")
	require.Len(t, frames, 1)
	assert.Equal(t, 842*length.Millimetre*10, frames[0].Value, "no decimals, no point; small letters too")
}

// Document 99MAF600B gives +0.123 mm as these bits, each nibble least bit
// first.
func TestBitsOfANibbleFrame(t *testing.T) {
	line, err := device.NibbleLine("1111 1111 1111 1111 0000 0000 0000 0000 1000 0100 1100 1100 0000")
	require.NoError(t, err)
	assert.Equal(t, "FFFF000012330", line)
	frames := decode(newDecoder(t, device.Nibbles), line+"\n")
	require.Len(t, frames, 1)
	assert.Equal(t, length.Length(123_000), frames[0].Value)
	assert.Equal(t, length.MM, frames[0].Unit)

	for _, bits := range []string{"", "1111", "2", "1111 1111 1111 1111 0000 0000 0000 0000 1000 0100 1100 1100 00001"} {
		_, err := device.NibbleLine(bits)
		require.Error(t, err, "%q", bits)
	}
}

func TestWhatNoCaliperTypes(t *testing.T) {
	refuses(t, device.Typed, device.KindGrammar,
		"8", "8.", ".42", "8.42 ", "8.42  mm", "8.42cm", "8.42 mm.", "+-8.42", " 8.42", "8.4.2", "é.ç2", "&.\"é",
		"sturnus", "1236-56701", "mm", "+", "8.42 Mm")
}

func TestADecimalCommaIsASetting(t *testing.T) {
	comma, err := device.NewDecoder(device.Typed, device.DecoderOptions{Unit: length.MM, DecimalComma: true})
	require.NoError(t, err)
	frames := decode(comma, "8,42\r8,43 mm\t8.44\r8,4,5\r")
	require.Len(t, frames, 4)
	assert.Equal(t, length.Length(8_420_000), frames[0].Value)
	assert.Equal(t, "8,42", string(frames[0].Raw), "the bytes as they came")
	assert.Equal(t, length.Length(8_430_000), frames[1].Value)
	assert.Equal(t, device.KindGrammar, kindOf(frames[2]), "a layout that was switched is an error, not a value")
	assert.Equal(t, device.KindGrammar, kindOf(frames[3]))

	// Without the setting a comma ends a line: 8 and 42 are both no value.
	refused := decode(newDecoder(t, device.Typed), "8,42\r")
	require.Len(t, refused, 2)
	assert.Error(t, refused[0].Err)
	assert.Error(t, refused[1].Err)
}

func TestCommands(t *testing.T) {
	assert.Equal(t, "?\r", string(device.Plain.Command(device.AskReading)))
	assert.Equal(t, "SET?\r", string(device.Plain.Command(device.AskBattery)))
	assert.Equal(t, "R\r", string(device.Wide.Command(device.AskReading)))
	for _, form := range []device.Form{device.Print, device.Channel, device.Multiplexed, device.Nibbles, device.Typed} {
		assert.Nil(t, form.Command(device.AskReading), form)
	}
}

func TestFormsByName(t *testing.T) {
	for _, form := range device.Forms() {
		got, err := device.ParseForm(string(form))
		require.NoError(t, err)
		assert.Equal(t, form, got)
	}
	_, err := device.ParseForm("morse")
	require.EqualError(t, err, `wire form "morse" is not known; use one of plain, print, channel, wide, multiplexed, nibbles, typed`)
}
