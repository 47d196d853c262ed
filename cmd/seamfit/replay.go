package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"seamfit/device"
	"seamfit/internal/replay"
	"seamfit/internal/settings"
)

func (a *app) replayCommand() *cobra.Command {
	var form string
	var acknowledge bool
	cmd := &cobra.Command{
		Use:   "replay FILE.jsonl",
		Short: "Work the bench from a file of events, one a line",
		Long: `Work the bench from a file of events, one JSON object a line ("-" for standard
input): through the same decoder, rules and records as the station. An event that
is refused changes nothing, is listed with its mend, and replay goes on.

The records go to --db, which is made when it is not there; without --db to a
file that is thrown away afterwards.

With --acknowledge each line is answered as soon as it is done, before the next
is read: "saved" when all that it told is on the disk, or "refused".`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.replay(cmd.Context(), args[0], form, acknowledge)
		},
	}
	cmd.Flags().BoolVar(&acknowledge, "acknowledge", false, "answer each line when it is on the disk")
	cmd.Flags().StringVar(&form, "form", "", "wire form of the caliper's bytes (default: the settings')")
	return cmd
}

func (a *app) replay(ctx context.Context, path, form string, acknowledge bool) (err error) {
	files, err := a.load()
	if err != nil {
		return err
	}
	devices, err := a.replayDevices(files.settings, form)
	if err != nil {
		return err
	}
	in, err := a.input(path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, in.Close()) }()
	if a.dbPath == "" {
		folder, err := os.MkdirTemp("", "seamfit-replay-")
		if err != nil {
			return fmt.Errorf("make a folder for the records: %w; name a file with --db", err)
		}
		defer func() { err = errors.Join(err, os.RemoveAll(folder)) }()
		a.dbPath = filepath.Join(folder, "bench.db")
	}
	records, err := a.openRecords(ctx, files.setup, false)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, records.Close()) }()
	if err := files.calibrated(ctx, records, a.now()); err != nil {
		return err
	}
	if err := files.practised(ctx, records, a.now()); err != nil {
		return err
	}
	state, doubts, err := a.resume(ctx, records, files.setup)
	if err != nil {
		return err
	}
	for _, doubt := range doubts {
		if err := a.printNote("%s", doubt); err != nil {
			return err
		}
	}
	bench, err := replay.New(state, records, devices, replay.Source{Now: a.now, NewID: a.newID, History: records.History})
	if err != nil {
		return err
	}
	return a.playAll(ctx, bench, in, acknowledge)
}

// playAll plays the lines and prints what they came to.
func (a *app) playAll(ctx context.Context, bench *replay.Bench, in io.Reader, acknowledge bool) error {
	done := func(int, bool) error { return nil }
	if acknowledge {
		done = a.acknowledge
	}
	if err := play(ctx, bench, in, done); err != nil {
		return err
	}
	outcome, err := bench.Outcome(ctx)
	if err != nil {
		return err
	}
	if a.json() {
		return a.writeJSON(outcome)
	}
	return a.printOutcome(outcome)
}

// maxLine bounds a line, so that a file without line ends can't fill memory.
const maxLine = 1 << 20

// play plays the lines, and tells of each when it is done.
func play(ctx context.Context, bench *replay.Bench, in io.Reader, done func(line int, refused bool) error) error {
	lines := bufio.NewScanner(in)
	lines.Buffer(make([]byte, 0, 64<<10), maxLine)
	for n := 1; lines.Scan(); n++ {
		if err := ctx.Err(); err != nil {
			return fmt.Errorf("stopped: %w; what was played so far is in the records", err)
		}
		refused := len(bench.Refusals())
		if err := bench.Play(ctx, lines.Bytes()); err != nil {
			return err
		}
		if err := done(n, len(bench.Refusals()) > refused); err != nil {
			return err
		}
	}
	if errors.Is(lines.Err(), bufio.ErrTooLong) {
		return fmt.Errorf("a line is longer than %d bytes; put one event on each line", maxLine)
	}
	return lines.Err()
}

// acknowledge answers a line. What it told is on the disk by now.
func (a *app) acknowledge(line int, refused bool) error {
	if a.json() {
		return a.writeJSON(map[string]any{"line": line, "saved": !refused})
	}
	word := "saved"
	if refused {
		word = "refused"
	}
	return a.printf("line %d: %s\n", line, word)
}

// replayDevices are the devices of the settings, without their ports. Another
// form than the settings' streams as that form usually does.
func (a *app) replayDevices(s settings.Settings, form string) (replay.Devices, error) {
	c := s.Caliper
	if form == "" {
		form = c.Form
	} else if form != c.Form {
		c.Streams = ""
	}
	f, err := device.ParseForm(form)
	if err != nil {
		return replay.Devices{}, fmt.Errorf("the caliper: %w", err)
	}
	var d replay.Devices
	options := a.typedOptions(s)
	options.Clock = a.now
	d.Caliper, err = device.NewDecoder(f, options)
	if err != nil {
		return d, fmt.Errorf("the caliper: %w", err)
	}
	if streams(c, f) {
		steady := steadyOf(c)
		d.Steady = &steady
	}
	if d.Scanner, err = device.NewScanDecoder(scannerOptions(s.Scanner)); err != nil {
		return d, fmt.Errorf("the scanner: %w", err)
	}
	return d, nil
}

func (a *app) printOutcome(out replay.Outcome) error {
	for i, h := range out.Handlings {
		leg := "not measured"
		if h.Leg != nil {
			leg = fmt.Sprintf("%.2f ± %.2f mm", h.Leg.MeanMM, h.Leg.ExpandedMM)
		}
		mark := "open"
		switch {
		case h.Disputed:
			mark = "DISPUTED"
		case h.Complete:
			mark = "complete"
		}
		if err := a.printf("%3d  %-28s leg %s  size %s  number %s  closings %d  %s  %s\n",
			i+1, h.Species, leg, orDash(h.Size), orDash(h.Number), len(h.Closings), orDash(h.Fate), mark); err != nil {
			return err
		}
	}
	for _, r := range out.Refused {
		for _, b := range r.Blockers {
			if err := a.printf("line %d (%s) refused: %s\n", r.Line, orDash(r.Do), b.Mend); err != nil {
				return err
			}
		}
	}
	return nil
}

func orDash(s string) string {
	if s == "" {
		return "-"
	}
	return s
}
