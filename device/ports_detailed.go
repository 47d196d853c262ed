//go:build !darwin || cgo

package device

import (
	"go.bug.st/serial"
	"go.bug.st/serial/enumerator"
)

// systemPorts asks for details, which the library has on every system but
// darwin without cgo. Ports that vanish while they are listed make the
// detailed listing fail as a whole; their bare names serve then.
func systemPorts() ([]PortInfo, error) {
	details, err := enumerator.GetDetailedPortsList()
	if err != nil {
		return namedPorts(serial.GetPortsList)
	}
	ports := make([]PortInfo, 0, len(details))
	nameless := false
	for _, d := range details {
		nameless = nameless || d.Name == ""
		ports = append(ports, PortInfo{
			Name: d.Name, USB: d.IsUSB, Vendor: d.VID, Product: d.PID, Serial: d.SerialNumber,
			Text: d.Product, Address: wirelessAddress(d.Name),
		})
	}
	if !nameless {
		return ports, nil
	}
	// Ports without a device folder, wireless ones among them, lose their
	// names in the detailed listing.
	named, err := namedPorts(serial.GetPortsList)
	return append(ports, named...), err
}
