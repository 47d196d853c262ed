package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"seamfit/device"
	"seamfit/internal/length"
	"seamfit/internal/settings"
)

// findFlags are the flags of the command find.
type findFlags struct {
	list          bool
	listen        string
	form, framing string
	unit, record  string
	baud          int
}

func (a *app) findCommand() *cobra.Command {
	var f findFlags
	cmd := &cobra.Command{
		Use:   "find",
		Short: "Find the caliper, and write its settings",
		Long: `Find the caliper: choose its port, press it when you are asked to, and its speed,
framing and wire form are recognised and written into bench.toml. Between two
wire forms that both fit it never guesses: it asks.

With --list it only lists the serial ports. With --listen it shows what arrives on
a port, byte for byte and as readings, until Ctrl+C; --format json writes one
object a line, --record keeps the bytes in a file that the station can play back.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return a.find(cmd, f) },
	}
	flags := cmd.Flags()
	flags.BoolVar(&f.list, "list", false, "list the serial ports")
	flags.StringVar(&f.listen, "listen", "", "listen to this port")
	flags.StringVar(&f.form, "form", "", "with --listen: wire form (default: the settings')")
	flags.IntVar(&f.baud, "baud", 0, "with --listen: speed (default: the settings', or the form's usual one)")
	flags.StringVar(&f.framing, "framing", "", "with --listen: framing such as 8N1 (default: the settings', or the form's usual one)")
	flags.StringVar(&f.unit, "unit", "", "with --listen: unit of frames that name none, mm or in (default: the settings')")
	flags.StringVar(&f.record, "record", "", "with --listen: record the bytes into this new file")
	return cmd
}

func (a *app) find(cmd *cobra.Command, f findFlags) error {
	if f.list && f.listen != "" {
		return usagef("--list and --listen can't both be done; leave one out")
	}
	if cmd.Flags().Changed("listen") && f.listen == "" {
		return usagef("--listen names no port; list them with --list")
	}
	if f.listen == "" {
		for _, name := range []string{"form", "baud", "framing", "unit", "record"} {
			if cmd.Flags().Changed(name) {
				return usagef("--%s belongs to --listen; name the port with --listen PORT", name)
			}
		}
	}
	switch {
	case f.list:
		return a.listPorts(device.ListPorts)
	case f.listen != "":
		return a.listen(cmd.Context(), f)
	default:
		return a.guide(cmd.Context())
	}
}

// guide leads through finding the caliper.
func (a *app) guide(ctx context.Context) error {
	g := newGuide(a, device.SystemOpener, device.ListPorts)
	return g.run(ctx)
}

// portInfo is a port as tools read it.
type portInfo struct {
	Name         string `json:"name"`
	USB          bool   `json:"usb"`
	Vendor       string `json:"vendor"`
	Product      string `json:"product"`
	SerialNumber string `json:"serial_number"`
	Text         string `json:"text"`
	Wireless     string `json:"wireless"`
	ID           string `json:"id"`
}

// noPorts is said where the system lists none.
const noPorts = "This computer lists no serial ports. Plug the cable in, or pair the caliper; see \"Connecting a caliper\" in the README."

func (a *app) listPorts(list device.Lister) error {
	ports, err := list()
	if err != nil {
		return err
	}
	if a.json() {
		out := struct {
			Ports []portInfo `json:"ports"`
		}{Ports: []portInfo{}}
		for _, p := range ports {
			out.Ports = append(out.Ports, portInfo{
				Name: p.Name, USB: p.USB, Vendor: p.Vendor, Product: p.Product, SerialNumber: p.Serial, Text: p.Text,
				Wireless: p.Address, ID: p.ID(),
			})
		}
		return a.writeJSON(out)
	}
	if len(ports) == 0 {
		return a.printf("%s\n", noPorts)
	}
	for _, p := range ports {
		if err := a.printf("%s\n", p.String()); err != nil {
			return err
		}
	}
	return nil
}

// listenConfig is the port that --listen names, with what the flags say, or
// else the settings. A wire form that is not the settings' has its own usual
// speed and framing.
func (f findFlags) listenConfig(s settings.Settings) (device.SerialConfig, error) {
	c := s.Caliper
	line := device.LineSetting{Baud: c.Baud, Framing: c.Framing}
	name, unit := c.Form, c.Unit
	if f.form != "" && f.form != c.Form {
		name = f.form
		line = device.Form(f.form).UsualSetting()
	}
	form, err := device.ParseForm(name)
	if err != nil {
		if f.form != "" {
			return device.SerialConfig{}, usagef("--form: %w", err)
		}
		return device.SerialConfig{}, fmt.Errorf("the settings' caliper: %w", err)
	}
	if f.baud != 0 {
		line.Baud = f.baud
	}
	if f.framing != "" {
		line.Framing = f.framing
	}
	if _, err := device.ParseFraming(line.Framing); err != nil {
		return device.SerialConfig{}, usagef("--framing: %w", err)
	}
	if f.unit != "" {
		unit = f.unit
	}
	u, err := length.ParseUnit(unit)
	if err != nil {
		return device.SerialConfig{}, usagef("--unit %q is no unit; use mm or in", unit)
	}
	return device.SerialConfig{
		Port: f.listen, Baud: line.Baud, Framing: line.Framing, Form: form, Unit: u, Resolution: s.Measure.Resolution.Length,
	}, nil
}

// mended is err with its mend, where it knows one.
func mended(err error) error {
	var knows interface{ Mend() string }
	if errors.As(err, &knows) && knows.Mend() != "" {
		return fmt.Errorf("%w; %s", err, knows.Mend())
	}
	return err
}
