package device

import (
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
)

func TestTheAddressBehindAWirelessPort(t *testing.T) {
	terminals := fstest.MapFS{"rfcomm0/address": {Data: []byte("02:00:5E:00:53:01\n")}}
	assert.Equal(t, "02:00:5E:00:53:01", addressIn(terminals, "/dev/rfcomm0"))
	assert.Empty(t, addressIn(terminals, "/dev/rfcomm1"))
	assert.Empty(t, addressIn(terminals, "/dev/ttyUSB0"))
}
