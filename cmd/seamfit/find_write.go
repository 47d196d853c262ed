package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"seamfit/device"
	"seamfit/internal/length"
	"seamfit/internal/settings"
)

// closedLimit is how far from zero closed jaws may read; bench setting.
const closedLimit = 50 * length.Micrometre

// tell shows what was read, and what is odd about it.
func (g *guide) tell(f found) {
	for _, p := range f.presses {
		g.say("  %-18s %-20s %s\n", p.What, device.Quote([]byte(p.raw)), shownValue(p.reading))
	}
	first := f.presses[0].reading.Value
	if first.Abs() > closedLimit {
		g.say("Closed jaws do not read zero: wipe them, close them, and set zero before you measure.\n")
	}
	for _, p := range f.presses {
		if p.rod > 0 && (p.reading.Value-p.rod).Abs() > p.rod/10 {
			g.say("The rod of %s was read as %s: check the rod, the zero, and the caliper's unit.\n", p.rod.String(), shownValue(p.reading))
		}
	}
}

// foundSettings is the result as tools read it.
type foundSettings struct {
	Port      string         `json:"port"`
	ID        string         `json:"id"`
	Form      string         `json:"form"`
	Certainty string         `json:"certainty"`
	Baud      int            `json:"baud"`
	Framing   string         `json:"framing"`
	Unit      string         `json:"unit"`
	Streams   bool           `json:"streams"`
	Readings  []foundReading `json:"readings"`
	Settings  string         `json:"settings"`
	Written   bool           `json:"written"`
}

type foundReading struct {
	What    string  `json:"what"`
	Raw     string  `json:"raw"`
	ValueMM float64 `json:"value_mm"`
}

// write shows what the settings become, and writes them when the person
// agrees.
func (g *guide) write(ctx context.Context, f found) error {
	path, _, err := g.settingsFile()
	if err != nil {
		return err
	}
	g.say("\nSettings of the caliper, for %s:\n", path)
	if f.port.Name != "" {
		g.say("  port %s, %d baud, %s, ", f.port.Name, f.line.Baud, f.line.Framing)
	}
	g.say("wire form %s, unit %s\n", string(f.form), f.unit.String())
	answer, err := g.ask(ctx, "Write them? Enter for yes, n for no:")
	if err != nil {
		return err
	}
	written := answer == "" || answer == "y" || answer == "yes"
	if written {
		if err := editSettings(path, f.change); err != nil {
			return err
		}
		g.say("Written. `seamfit station` uses them.\n")
	} else {
		g.say("Nothing was written.\n")
	}
	if !g.json() {
		return nil
	}
	out := foundSettings{
		Port: f.port.Name, ID: f.port.ID(), Form: string(f.form), Certainty: string(f.certainty), Baud: f.line.Baud,
		Framing: f.line.Framing, Unit: f.unit.String(), Streams: f.streams, Settings: path, Written: written,
	}
	for _, p := range f.presses {
		out.Readings = append(out.Readings, foundReading{What: p.What, Raw: p.raw, ValueMM: p.reading.Value.MM()})
	}
	return g.writeJSON(out)
}

// change puts what was found into the settings.
func (f found) change(s *settings.Settings) {
	c := &s.Caliper
	c.Port, c.ID, c.Form, c.Unit = f.port.Name, f.port.ID(), string(f.form), f.unit.String()
	c.DecimalComma = f.comma
	if f.port.Name != "" {
		c.Baud, c.Framing = f.line.Baud, f.line.Framing
	}
	switch {
	case f.streams == f.form.Streams():
		c.Streams = ""
	case f.streams:
		c.Streams = "yes"
	default:
		c.Streams = "no"
	}
}

// editSettings changes the settings file and keeps all else that is in it; a
// file that is not there yet is made. It is replaced as a whole, so that it
// is never half written.
func editSettings(path string, change func(*settings.Settings)) error {
	data, err := os.ReadFile(path)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("read the settings: %w; check --settings", err)
	}
	data, err = settings.Edit(data, path, change)
	if err != nil {
		return err
	}
	if err := replaceFile(path, data); err != nil {
		return fmt.Errorf("write the settings: %w; make room, or name another file with --settings", err)
	}
	return nil
}

// replaceFile writes a private file (0600) under another name, and gives it
// its own once it is on the disk.
func replaceFile(path string, data []byte) (err error) {
	if target, err := filepath.EvalSymlinks(path); err == nil {
		path = target // a link stays a link
	}
	folder := filepath.Dir(path)
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return err
	}
	f, err := os.CreateTemp(folder, ".seamfit-*.toml") // 0600
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.Remove(f.Name()))
		}
	}()
	_, err = f.Write(data)
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return err
	}
	return syncFolder(folder)
}

// syncFolder makes a rename outlast a power cut. Not every system can do it;
// the file is there all the same.
func syncFolder(folder string) error {
	d, err := os.Open(folder)
	if err != nil {
		return nil //nolint:nilerr // see above
	}
	_ = d.Sync()
	return d.Close()
}
