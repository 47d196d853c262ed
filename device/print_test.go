package device_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/device"
)

func TestWhatIsNoPrintOut(t *testing.T) {
	for _, line := range []string{
		"8.42", "8.42mm", "8.42  mm", "8.42 cm", "8.42 mm ", " 8.42 mm", "8 mm", "8. mm", ".42 mm",
		" mm", "mm", "8,42 mm", "8.42 MM", "--8.42 mm", "8.42 mm\x07", "+ mm", "ERR0",
	} {
		frames := decode(newDecoder(t, device.Print), line+"\r\n")
		require.Len(t, frames, 1, "%q", line)
		assert.Equal(t, device.KindGrammar, kindOf(frames[0]), "%q", line)
	}
}
