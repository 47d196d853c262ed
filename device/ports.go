package device

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// PortInfo is what the system tells of a serial port. Its texts come from
// plugs and are escaped, safe to show.
type PortInfo struct {
	Name    string // as OpenSerial takes it
	USB     bool
	Vendor  string // USB ids in hexadecimal
	Product string
	Serial  string // USB serial number
	Text    string // what the plug calls itself
	Address string // of the wireless device behind the port
}

// ID identifies the device behind the port across names and replugging; it
// is empty where the system tells nothing that is the device's own.
func (p PortInfo) ID() string {
	switch {
	case p.Address != "":
		return "wireless:" + p.Address
	case p.Serial != "":
		return "usb:" + p.Vendor + ":" + p.Product + ":" + p.Serial
	default:
		return ""
	}
}

// String says what is known of the port, in one line.
func (p PortInfo) String() string {
	parts := []string{Escape([]byte(p.Name))}
	if p.USB {
		parts = append(parts, fmt.Sprintf("USB %s:%s", p.Vendor, p.Product))
	}
	if p.Text != "" {
		parts = append(parts, p.Text)
	}
	if p.Serial != "" {
		parts = append(parts, "serial number "+p.Serial)
	}
	if p.Address != "" {
		parts = append(parts, "wireless "+p.Address)
	}
	return strings.Join(parts, ", ")
}

// Lister lists the ports of this computer. ListPorts is the real one.
type Lister func() ([]PortInfo, error)

// ListPorts returns the serial ports of this computer, sorted by name. Not
// every system tells more than names. On Linux it opens the built-in ports to
// see whether they are real, so call it only while none is in use.
func ListPorts() ([]PortInfo, error) {
	ports, err := systemPorts()
	if err != nil {
		return nil, fmt.Errorf("the system does not list its serial ports: %w; name the port yourself", err)
	}
	return tidyPorts(ports), nil
}

// tidyPorts drops doubles and nameless entries, escapes texts and sorts.
func tidyPorts(ports []PortInfo) []PortInfo {
	seen := map[string]bool{}
	for _, p := range ports {
		seen[p.Name] = true
	}
	out := make([]PortInfo, 0, len(ports))
	for _, p := range ports {
		// Of a pair, tty.* waits for a modem's carrier in opening; cu.* does
		// not.
		if base, ok := strings.CutPrefix(p.Name, "/dev/tty."); ok && seen["/dev/cu."+base] {
			continue
		}
		if p.Name == "" {
			continue
		}
		for _, text := range []*string{&p.Vendor, &p.Product, &p.Serial, &p.Text, &p.Address} {
			*text = Escape([]byte(strings.TrimSpace(*text)))
		}
		out = append(out, p)
	}
	slices.SortFunc(out, func(a, b PortInfo) int { return cmp.Compare(a.Name, b.Name) })
	return slices.CompactFunc(out, func(a, b PortInfo) bool { return a.Name == b.Name })
}

// choosePort decides which port to open for the device that was on the port
// named want and is identified by id (empty: not known). It follows the
// device to another name, and refuses a port that another device has taken:
// a scanner's port is never read as a caliper's. other is that device's port.
func choosePort(want, id string, ports []PortInfo) (name string, other bool) {
	taken := false
	found := ""
	for _, p := range ports {
		switch {
		case id != "" && p.ID() == id:
			if found == "" || p.Name == want {
				found = p.Name
			}
		case p.Name == want && (p.USB || p.ID() != ""):
			taken = id != ""
		}
	}
	if found != "" {
		return found, false
	}
	return want, taken
}

// idOf returns the identity of the device on the port named name.
func idOf(name string, ports []PortInfo) string {
	for _, p := range ports {
		if p.Name == name {
			return p.ID()
		}
	}
	return ""
}
