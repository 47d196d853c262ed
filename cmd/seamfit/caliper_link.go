package main

import (
	"fmt"
	"regexp"
	"strings"

	"seamfit/device"
	"seamfit/internal/settings"
)

// caliperFlags name the caliper of a command: by its name in the records, and
// by its port.
type caliperFlags struct{ caliper, port string }

const caliperUsage = "the caliper's name in the records, or its serial port (default: the settings')"

var windowsPort = regexp.MustCompile(`^(?i)(\\\\\.\\)?com[0-9]+$`)

// apply puts the flags over the settings. A --caliper that can only be a port
// is taken as one, as the station takes it.
func (f caliperFlags) apply(s *settings.Settings) error {
	name, port := f.caliper, f.port
	if strings.ContainsAny(name, `/\`) || windowsPort.MatchString(name) {
		if port != "" && port != name {
			return usagef("--caliper %q and --port %q are two ports; give one", name, port)
		}
		name, port = "", name
	}
	if name != "" {
		s.Caliper.Name = name
	}
	*s = withPort(*s, port)
	return nil
}

// caliperFeed opens the link to the caliper, nil when the settings name no
// port. A stream's values count only when they stand still.
func (a *app) caliperFeed(s settings.Settings) (*device.Supervisor, error) {
	if s.Caliper.Port == "" {
		return nil, nil
	}
	link, err := device.NewSupervisor(a.supervised(s), device.SystemOpener, device.ListPorts)
	if err != nil {
		return nil, fmt.Errorf("the caliper: %w", err)
	}
	link.Expect(true)
	return link, nil
}
