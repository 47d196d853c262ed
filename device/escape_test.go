package device_test

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"

	"seamfit/device"
)

func TestAMessageQuotesTheBeginningOfNoise(t *testing.T) {
	assert.Equal(t, `"\x1b[2J\r"`, device.Excerpt([]byte("\x1b[2J\r")))
	assert.Equal(t, `"`+string(bytes.Repeat([]byte("8"), 40))+`"`, device.Excerpt(bytes.Repeat([]byte("8"), 40)))
	noise := bytes.Repeat([]byte{0xff}, 300)
	excerpt := device.Excerpt(noise)
	assert.Contains(t, excerpt, `\xff" and 280 bytes more`)
	assert.Less(t, len(excerpt), 120, "a message stays a message")
	err := &device.FrameError{Kind: device.KindTooLong, Raw: noise}
	assert.Less(t, len(err.Error()), 160)
}
