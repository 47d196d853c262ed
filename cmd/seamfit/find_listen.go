package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"time"

	"seamfit/device"
	"seamfit/device/capture"
	"seamfit/internal/length"
)

// unfinished is how long a line may stay without its end before its bytes are
// shown as they are: at a wrong speed there may never be one.
const unfinished = time.Second

// listen shows what arrives on a port until ctx ends, which is its orderly
// end, or the port goes.
func (a *app) listen(ctx context.Context, f findFlags) (err error) {
	s, err := a.loadSettings()
	if err != nil {
		return err
	}
	cfg, err := f.listenConfig(s)
	if err != nil {
		return err
	}
	cfg.Quiet, cfg.Clock = unfinished, a.now
	dec, err := device.NewDecoder(cfg.Form, device.DecoderOptions{Unit: cfg.Unit, Resolution: cfg.Resolution, Clock: a.now})
	if err != nil {
		return err
	}
	tape, err := a.newTape(f.record, cfg)
	if err != nil {
		return err
	}
	listener, err := device.OpenListener(cfg, device.SystemOpener)
	if err != nil {
		return errors.Join(mended(err), tape.discard())
	}
	defer func() { err = errors.Join(err, listener.Close(), tape.close()) }()
	ear := &ear{app: a, dec: dec, tape: tape}
	return ear.follow(ctx, listener, cfg)
}

// ear shows what it hears.
type ear struct {
	*app
	dec   *device.Decoder
	tape  *tape
	rest  []byte // of a line that has not ended, its beginning
	shown bool   // rest has been shown
}

// restLimit bounds what is kept of a line that does not end.
const restLimit = 64

func (e *ear) follow(ctx context.Context, listener *device.Listener, cfg device.SerialConfig) error {
	settle := time.NewTimer(device.DefaultSettle)
	defer settle.Stop()
	select {
	case <-settle.C: // what arrives before that is dropped: some boards reboot when they are opened
	case <-ctx.Done():
		return nil
	}
	e.remark("listening to %s at %d %s, wire form %s; Ctrl+C ends", device.Escape([]byte(cfg.Port)), cfg.Baud, cfg.Framing, cfg.Form)
	for {
		heard, err := listener.Next(ctx)
		switch {
		case err == nil:
			err = e.hear(heard)
		case errors.Is(err, device.ErrSilent):
			err = e.silence()
		case device.GoesOn(err):
			e.remark("%v", mended(err))
			err = nil
		case ctx.Err() != nil:
			return nil
		default:
			err = fmt.Errorf("%w; plug the cable in, or switch the caliper on and bring it near, and listen again", err)
		}
		if err != nil {
			return err
		}
	}
}

// remark tells the person something that is no result. A standard error that
// takes nothing is no reason to stop listening.
func (e *ear) remark(format string, args ...any) {
	_, _ = fmt.Fprintf(e.stderr, format+"\n", args...)
}

// hear shows the lines that end with these bytes.
func (e *ear) hear(h device.Heard) error {
	if err := e.tape.record(h); err != nil {
		return err
	}
	for _, frame := range e.dec.Feed(h.Bytes) {
		if err := e.show(frame); err != nil {
			return err
		}
	}
	if i := bytes.LastIndexAny(h.Bytes, "\r\n"); i >= 0 {
		e.rest, e.shown = e.rest[:0], false
		h.Bytes = h.Bytes[i+1:]
	}
	if room := restLimit - len(e.rest); len(h.Bytes) > 0 {
		e.rest, e.shown = append(e.rest, h.Bytes[:min(room, len(h.Bytes))]...), false
	}
	return nil
}

// silence shows, once, a line that does not end.
func (e *ear) silence() error {
	if len(e.rest) == 0 || e.shown || e.json() {
		return nil
	}
	e.shown = true
	return e.printf("%s  %-20s  the line has no end so far; check speed and framing\n",
		e.now().Format(clockForm), device.Quote(e.rest))
}

const clockForm = "15:04:05.000"

// heardLine is a line from the device as tools read it.
type heardLine struct {
	Raw          string   `json:"raw"`      // escaped as in a capture file
	ValueMM      *float64 `json:"value_mm"` // null: no reading
	Unit         string   `json:"unit"`
	ResolutionMM *float64 `json:"resolution_mm"`
	Channel      string   `json:"channel"`
	Error        string   `json:"error"`
}

// show writes one frame. A notice (an echo, a battery's answer) is neither a
// reading nor an error: in JSON, where only those two have a place, it goes
// to standard error.
func (e *ear) show(frame device.Frame) error {
	if !e.json() {
		return e.printf("%s  %-20s  %s\n", e.now().Format(clockForm), device.Quote(frame.Raw), meaning(frame))
	}
	line := heardLine{Raw: device.Escape(frame.Raw), Channel: frame.Channel}
	var failed *device.FrameError
	switch {
	case frame.Err == nil:
		value, resolution := frame.Value.MM(), frame.Resolution.MM()
		line.ValueMM, line.ResolutionMM, line.Unit = &value, &resolution, frame.Unit.String()
	case errors.As(frame.Err, &failed):
		line.Error = string(failed.Kind)
	default:
		e.remark("%v", mended(frame.Err))
		return nil
	}
	return e.writeJSON(line)
}

// meaning says in words what a frame is.
func meaning(frame device.Frame) string {
	if frame.Err != nil {
		return mended(frame.Err).Error()
	}
	text := shownValue(frame.Reading)
	if frame.UnitAssumed {
		text += " (unit as set)"
	}
	if frame.UnitChanged {
		text += " (another unit than before)"
	}
	if frame.Channel != "" {
		text = "gauge " + frame.Channel + ": " + text
	}
	return text
}

// shownValue is a reading as its device shows it, with its unit.
func shownValue(r device.Reading) string {
	return r.Value.Format(r.Unit, length.Decimals(r.Resolution, r.Unit)) + " " + r.Unit.String()
}

// tape records what is heard; nil records nothing.
type tape struct {
	file  *os.File
	rec   *capture.Recorder
	begun time.Time
}

// newTape begins a recording in a new file; none when path is empty.
func (a *app) newTape(path string, cfg device.SerialConfig) (*tape, error) {
	if path == "" {
		return nil, nil //nolint:nilnil // no recording is no error
	}
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, os.ErrExist) {
		return nil, fmt.Errorf("%s is there already; name a new file with --record", path)
	}
	if err != nil {
		return nil, fmt.Errorf("%w; name another file with --record", err)
	}
	t := &tape{file: file, begun: a.now()}
	t.rec, err = capture.NewRecorder(file, capture.Header{
		Instrument: "caliper", Form: cfg.Form, Baud: cfg.Baud, Framing: cfg.Framing, Unit: cfg.Unit, Date: t.begun,
	})
	if err != nil {
		return nil, errors.Join(err, t.discard())
	}
	return t, nil
}

func (t *tape) record(h device.Heard) error {
	if t == nil {
		return nil
	}
	if err := t.rec.Record(h.At.Sub(t.begun), capture.FromDevice, h.Bytes); err != nil {
		return fmt.Errorf("%w; make room on the disk, or record elsewhere", err)
	}
	return nil
}

func (t *tape) close() error {
	if t == nil {
		return nil
	}
	return errors.Join(t.file.Sync(), t.file.Close())
}

// discard takes a recording back that holds nothing.
func (t *tape) discard() error {
	if t == nil {
		return nil
	}
	return errors.Join(t.file.Close(), os.Remove(t.file.Name()))
}
