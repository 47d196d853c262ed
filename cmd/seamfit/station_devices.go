package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"sync"

	"seamfit/device"
	"seamfit/device/capture"
	"seamfit/device/sim"
	"seamfit/internal/length"
	"seamfit/internal/settings"
	"seamfit/station"
)

// devices are what the station has readings and codes from.
type devices struct {
	caliper station.Feed  // nil: widths are typed
	scanner station.Codes // nil: numbers are typed, or scanned as keys
	squeeze func(length.Length) error
	open    []io.Closer

	asks, streams bool                   // the caliper
	typed         *device.DecoderOptions // of a caliper that types like a keyboard
}

// equip gives the station its devices.
func (d devices) equip(cfg *station.Config) {
	cfg.Caliper, cfg.Scanner, cfg.Squeeze = d.caliper, d.scanner, d.squeeze
	cfg.Options.Asks, cfg.Options.Streams, cfg.Options.Typed = d.asks, d.streams, d.typed
}

func (d devices) Close() error { return closeAll(d.open) }

func closeAll(all []io.Closer) error {
	var errs []error
	for _, c := range all {
		errs = append(errs, c.Close())
	}
	return errors.Join(errs...)
}

// playedBack is the prefix by which --caliper names a recording.
const playedBack = "capture:"

// devices sets up the devices that the settings and the flags name. Nothing is
// opened yet but a recording: a port that is missing is the screen's to tell.
// It fails when a setting makes no sense.
func (a *app) devices(s settings.Settings, f stationFlags) (d devices, err error) {
	if f.simulate {
		return a.simulated(f)
	}
	form, err := device.ParseForm(s.Caliper.Form)
	if err != nil {
		return d, fmt.Errorf("the settings' caliper: %w", err)
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, d.Close())
		}
	}()
	path, recorded := strings.CutPrefix(f.caliper, playedBack)
	switch {
	case f.late: // widths are on paper
	case recorded:
		player, err := a.play(path, s)
		if err != nil {
			return d, err
		}
		d.caliper, d.open = player, append(d.open, player)
		d.streams = player.steady != nil
	case form == device.Typed && s.Caliper.Port+f.caliper == "":
		options := a.typedOptions(s)
		d.typed = &options
	default:
		link, err := a.caliperFeed(withPort(s, f.caliper))
		if err != nil {
			return d, err
		}
		if link != nil {
			link.Expect(false) // the station says when it waits for a reading
			d.caliper, d.open = link, append(d.open, link)
			d.streams = streams(s.Caliper, form)
			d.asks = form.Command(device.AskReading) != nil
		}
	}
	if f.scanner != "" {
		s.Scanner.Port = f.scanner
	}
	scanner, err := a.scannerLink(s.Scanner)
	if err != nil {
		return d, err
	}
	if scanner != nil {
		d.scanner, d.open = scanner, append(d.open, scanner)
	}
	return d, nil
}

// withPort returns the settings with another port of the caliper. The device
// that the settings identify is not looked for there.
func withPort(s settings.Settings, port string) settings.Settings {
	if port != "" && port != s.Caliper.Port {
		s.Caliper.Port, s.Caliper.ID = port, ""
	}
	return s
}

// supervised is how the settings' caliper is kept linked.
func (a *app) supervised(s settings.Settings) device.SupervisorConfig {
	cfg := device.SupervisorConfig{Serial: a.caliperSerial(s), ID: s.Caliper.ID, AnswerLimit: s.Caliper.Answer()}
	if streams(s.Caliper, cfg.Serial.Form) {
		steady := steadyOf(s.Caliper)
		cfg.Steady = &steady
	}
	return cfg
}

func (a *app) caliperSerial(s settings.Settings) device.SerialConfig {
	c := s.Caliper
	return device.SerialConfig{
		Port: c.Port, Baud: c.Baud, Framing: c.Framing, Form: device.Form(c.Form), Unit: c.LengthUnit(),
		Resolution: s.Measure.Resolution.Length, Device: c.Name, Quiet: c.Quiet(), Clock: a.now,
		DecimalComma: c.DecimalComma,
	}
}

// typedOptions are how a caliper is read that types like a keyboard.
func (a *app) typedOptions(s settings.Settings) device.DecoderOptions {
	return device.DecoderOptions{
		Unit: s.Caliper.LengthUnit(), Resolution: s.Measure.Resolution.Length, Device: s.Caliper.Name,
		DecimalComma: s.Caliper.DecimalComma,
	}
}

// streams reports whether the caliper sends by itself all the time.
func streams(c settings.Caliper, form device.Form) bool {
	if c.Streams == "" {
		return form.Streams()
	}
	return c.Streams == "yes"
}

// steadyOf says when a value of a stream is a reading.
func steadyOf(c settings.Caliper) device.SteadyConfig {
	cfg := device.DefaultSteady()
	cfg.Samples, cfg.For = c.SteadySamples, c.Steady()
	return cfg
}

// scannerOptions are what the scanner puts around its codes.
func scannerOptions(s settings.Scanner) device.ScannerOptions {
	return device.ScannerOptions{Prefix: s.Prefix, Suffix: s.Suffix, Code39Check: s.Code39Check}
}

// scannerLink sets up the scanner's link, nil when it has no port.
func (a *app) scannerLink(s settings.Scanner) (*device.ScannerLink, error) {
	if s.Port == "" {
		return nil, nil //nolint:nilnil // no scanner is no error
	}
	cfg := device.SerialConfig{Port: s.Port, Baud: s.Baud, Framing: s.Framing, Device: "scanner", Clock: a.now}
	link, err := device.NewScannerLink(cfg, scannerOptions(s), device.SystemOpener, device.ListPorts)
	if err != nil {
		return nil, fmt.Errorf("the scanner: %w", err)
	}
	return link, nil
}

// simulated gives the station a caliper that the space bar squeezes.
func (a *app) simulated(f stationFlags) (devices, error) {
	cfg := sim.Config{
		Seed: uint64(a.now().UnixNano()), Form: device.Plain, NoiseSD: 0.01, Device: "simulated caliper", Clock: a.now,
	}
	f.roughen(&cfg)
	caliper, err := sim.New(cfg)
	if err != nil {
		return devices{}, err
	}
	return devices{caliper: station.SourceFeed(caliper), squeeze: caliper.Squeeze, open: []io.Closer{caliper}}, nil
}

// player is a recording that takes the caliper's place, at the pace at which
// it was recorded.
type player struct {
	station.Feed
	source *capture.Playback

	mu     sync.Mutex             // guards steady
	steady *device.SteadyChannels // nil: every frame counts
}

// play opens a recording. Its own header says which form it is of; whether
// such a caliper streams, the settings.
func (a *app) play(path string, s settings.Settings) (*player, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("%w; check the recording's name", err)
	}
	recording, err := capture.Parse(file)
	if err := errors.Join(err, file.Close()); err != nil {
		return nil, fmt.Errorf("%s: %w; record with find --listen PORT --record FILE", path, err)
	}
	source, err := capture.NewPlayback(recording, capture.PlaybackOptions{
		Device: s.Caliper.Name, Resolution: s.Measure.Resolution.Length, Paced: true, Clock: a.now,
	})
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	p := &player{Feed: station.SourceFeed(source), source: source}
	if streams(s.Caliper, recording.Header.Form) {
		p.steady, err = device.NewSteadyChannels(steadyOf(s.Caliper))
	}
	return p, err
}

// Next returns the frames of a stream as live values, and as readings only
// those that are captured.
func (p *player) Next(ctx context.Context) (device.Event, error) {
	e, err := p.Feed.Next(ctx)
	p.mu.Lock()
	defer p.mu.Unlock()
	switch {
	case err != nil || p.steady == nil:
	case e.Kind == device.EventFrame:
		p.steady.Lose()
	case e.Kind == device.EventReading && !p.steady.See(e.Reading):
		e.Kind = device.EventLive
	}
	return e, err
}

// Rearm makes the next steady value count even if the jaws have not moved.
func (p *player) Rearm() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.steady != nil {
		p.steady.Rearm()
	}
}

// Close ends the playback.
func (p *player) Close() error { return p.source.Close() }
