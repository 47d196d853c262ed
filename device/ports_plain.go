//go:build darwin && !cgo

package device

import "go.bug.st/serial"

// systemPorts has bare names only: the library's details need cgo here.
func systemPorts() ([]PortInfo, error) { return namedPorts(serial.GetPortsList) }
