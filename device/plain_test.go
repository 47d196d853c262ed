package device_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/device"
	"seamfit/internal/length"
)

func TestToleranceMarksAreAcceptedAndNeverPartOfTheValue(t *testing.T) {
	for _, line := range []string{"<+12.34", "=+12.34", ">+12.34", "+12.34<", "+12.34=", "+12.34>"} {
		frames := decode(newDecoder(t, device.Plain), line+"\r")
		require.Len(t, frames, 1)
		require.NoError(t, frames[0].Err, line)
		assert.Equal(t, length.Length(12_340_000), frames[0].Value, line)
		assert.Equal(t, line, string(frames[0].Raw))
	}
}

func TestWhatIsNoPlainFrame(t *testing.T) {
	for _, line := range []string{
		"12.34", // the head is lost, and with it perhaps a digit or a minus
		"+12", "+.34", "+12.", "+", "-", " ", "<", "<+1.2>",
		"+1.2.3", "+12,34", "++1.2", "+ 1.2", "+1 2.3", "+12.34 mm", "+1e3", "+0x1.8",
		"+12.34\x00", "\x1b[2J", "+\xb12.34", "+1234567890123.4", "ERR", "ERR4", "ERR9",
		"+0.0000001", // finer than a nanometre: never rounded
	} {
		frames := decode(newDecoder(t, device.Plain), line+"\r")
		require.Len(t, frames, 1, "%q", line)
		assert.Equal(t, device.KindGrammar, kindOf(frames[0]), "%q", line)
		assert.Zero(t, frames[0].Value, "%q", line)
	}
}

func TestANameLineIsANotice(t *testing.T) {
	for _, line := range []string{"CALIPER V1.2", "Gauge 3"} {
		frames := decode(newDecoder(t, device.Plain), line+"\r\n+8.42\r\n")
		require.Len(t, frames, 2)
		assert.Equal(t, device.KindName, kindOf(frames[0]))
		assert.NoError(t, frames[1].Err)
	}
}

func TestEveryKindHasWordsAndAMend(t *testing.T) {
	for _, kind := range []device.Kind{
		device.KindSensor, device.KindCommand, device.KindParity, device.KindRange,
		device.KindNoGauge, device.KindGrammar, device.KindTooLong, device.KindDropped,
	} {
		e := &device.FrameError{Kind: kind, Raw: []byte("\x1b[2J"), Count: 3}
		assert.NotEmpty(t, e.Mend(), kind)
		assert.NotContains(t, e.Error(), "\x1b", "%s: no control byte reaches a terminal", kind)
		assert.True(t, device.GoesOn(e))
	}
	for _, kind := range []device.Kind{
		device.KindBatteryWell, device.KindBatteryLow, device.KindEcho, device.KindName,
	} {
		n := &device.Notice{Kind: kind, Raw: []byte("\x1b[2J")}
		assert.NotContains(t, n.Error(), "\x1b", kind)
	}
}
