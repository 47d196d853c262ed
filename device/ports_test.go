package device

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestPortsAreTidied(t *testing.T) {
	ports := tidyPorts([]PortInfo{
		{Name: "/dev/ttyUSB1"},
		{Name: ""},
		{Name: "/dev/ttyUSB0", USB: true, Text: "bridge \x1b[2J", Serial: " A1 "},
		{Name: "/dev/ttyUSB0"},
		{Name: "/dev/tty.caliper"},
		{Name: "/dev/cu.caliper"},
		{Name: "/dev/tty.lonely"},
	})
	names := make([]string, 0, len(ports))
	for _, p := range ports {
		names = append(names, p.Name)
	}
	assert.Equal(t, []string{"/dev/cu.caliper", "/dev/tty.lonely", "/dev/ttyUSB0", "/dev/ttyUSB1"}, names)
	assert.Equal(t, "A1", ports[2].Serial, "the entry with details is kept")
	assert.NotContains(t, ports[2].String(), "\x1b")
}

func TestADeviceIsFollowedToItsNewName(t *testing.T) {
	caliper := PortInfo{Name: "/dev/ttyUSB0", USB: true, Vendor: "0403", Product: "6001", Serial: "A1"}
	scanner := PortInfo{Name: "/dev/ttyUSB1", USB: true, Vendor: "0403", Product: "6001", Serial: "B2"}
	id := caliper.ID()
	moved := func(p PortInfo, name string) PortInfo { p.Name = name; return p }

	for _, c := range []struct {
		what  string
		id    string
		ports []PortInfo
		name  string
		other bool
	}{
		{"nothing is listed", id, nil, "/dev/ttyUSB0", false},
		{"back under its name", id, []PortInfo{caliper, scanner}, "/dev/ttyUSB0", false},
		{"back under another", id, []PortInfo{moved(caliper, "/dev/ttyUSB2"), scanner}, "/dev/ttyUSB2", false},
		{"names swapped", id, []PortInfo{moved(scanner, "/dev/ttyUSB0"), moved(caliper, "/dev/ttyUSB1")}, "/dev/ttyUSB1", false},
		{"the scanner has taken the name", id, []PortInfo{moved(scanner, "/dev/ttyUSB0")}, "/dev/ttyUSB0", true},
		{"no serial numbers", "", []PortInfo{{Name: "/dev/ttyUSB0"}}, "/dev/ttyUSB0", false},
		{"a plug without a number has taken it", id, []PortInfo{{Name: "/dev/ttyUSB0", USB: true}}, "/dev/ttyUSB0", true},
		{"the system tells nothing now", id, []PortInfo{{Name: "/dev/ttyUSB0"}}, "/dev/ttyUSB0", false},
		{"never identified", "", []PortInfo{scanner, caliper}, "/dev/ttyUSB0", false},
	} {
		name, other := choosePort("/dev/ttyUSB0", c.id, c.ports)
		assert.Equal(t, c.name, name, c.what)
		assert.Equal(t, c.other, other, c.what)
	}
	assert.Equal(t, id, idOf("/dev/ttyUSB0", []PortInfo{scanner, caliper}))
	assert.Empty(t, idOf("/dev/none", []PortInfo{caliper}))
}

func TestAWirelessDeviceIsKnownByItsAddress(t *testing.T) {
	before := PortInfo{Name: "/dev/rfcomm0", Address: "02:00:5E:00:53:01"}
	after := PortInfo{Name: "/dev/rfcomm1", Address: "02:00:5E:00:53:01"}
	name, other := choosePort("/dev/rfcomm0", before.ID(), []PortInfo{after})
	assert.Equal(t, "/dev/rfcomm1", name)
	assert.False(t, other)
	assert.Contains(t, after.String(), "wireless 02:00:5E:00:53:01")
}
