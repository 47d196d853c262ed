package device

import (
	"errors"
	"fmt"
	"io/fs"
	"syscall"
	"time"

	"go.bug.st/serial"
)

// PortFault says why a port could not be opened.
type PortFault string

// The faults of a port.
const (
	PortMissing   PortFault = "missing"    // no such port
	PortBusy      PortFault = "busy"       // another program has it
	PortDenied    PortFault = "denied"     // no permission
	PortMode      PortFault = "mode"       // the port refuses the speed or framing
	PortNotSerial PortFault = "not_serial" // not a serial port
	PortHangs     PortFault = "hangs"      // opening took longer than its limit
	PortFailed    PortFault = "failed"     // anything else; see the cause
)

// PortError is a port that could not be opened.
type PortError struct {
	Port    string
	Fault   PortFault
	Baud    int
	Framing Framing
	Limit   time.Duration // of opening, for PortHangs
	Err     error         // the cause; nil for PortHangs
}

// Error says what went wrong, in one line.
func (e *PortError) Error() string {
	name := Escape([]byte(e.Port))
	switch e.Fault {
	case PortMissing:
		return fmt.Sprintf("there is no port %s", name)
	case PortBusy:
		return fmt.Sprintf("port %s is in use by another program", name)
	case PortDenied:
		return fmt.Sprintf("no permission to open port %s", name)
	case PortMode:
		return fmt.Sprintf("port %s refuses %d baud %s", name, e.Baud, e.Framing)
	case PortNotSerial:
		return fmt.Sprintf("%s is not a serial port", name)
	case PortHangs:
		return fmt.Sprintf("opening port %s took longer than %v", name, e.Limit)
	default:
		return fmt.Sprintf("port %s could not be opened: %s", name, Escape([]byte(fmt.Sprint(e.Err))))
	}
}

// Mend says what a person can do about it.
func (e *PortError) Mend() string {
	switch e.Fault {
	case PortMissing:
		return "plug the cable in or switch the caliper on; list the ports to see their names"
	case PortBusy:
		return "close the other program; a system service that probes new ports lets go after a minute"
	case PortDenied:
		return "let your account use serial ports (on many Linux systems: join the group dialout and log in again)"
	case PortMode:
		return "set the speed and framing that the caliper's papers give"
	case PortNotSerial:
		return "choose one of the listed ports"
	case PortHangs:
		return "switch the caliper on and bring it near; pair it again if it stays so"
	default:
		return "switch the caliper on; unplug and replug the cable, or pair the caliper again"
	}
}

// Unwrap returns the cause.
func (e *PortError) Unwrap() error { return e.Err }

// faultOf sorts the errors of the port library and the system.
func faultOf(err error) PortFault {
	var port *serial.PortError
	switch {
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, syscall.ENXIO), errors.Is(err, syscall.ENODEV):
		return PortMissing // the last two: the name is there, the device is not
	case errors.Is(err, fs.ErrPermission):
		return PortDenied
	case !errors.As(err, &port):
		return PortFailed
	}
	switch port.Code() {
	case serial.PortNotFound:
		return PortMissing
	case serial.PortBusy:
		return PortBusy
	case serial.PermissionDenied:
		return PortDenied
	case serial.InvalidSpeed, serial.InvalidDataBits, serial.InvalidParity, serial.InvalidStopBits:
		return PortMode
	case serial.InvalidSerialPort:
		return PortNotSerial
	default:
		return PortFailed
	}
}
