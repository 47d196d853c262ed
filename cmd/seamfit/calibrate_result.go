package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"seamfit/internal/catalogue"
	"seamfit/internal/metrology"
	"seamfit/internal/report"
)

// outputFlags are the files that a calibration is written to.
type outputFlags struct{ certificate, svg string }

func (f *outputFlags) define(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&f.certificate, "certificate", "", "write a one-page record of the calibration, a new HTML file")
	flags.StringVar(&f.svg, "svg", "", "write the plot of errors and residuals, a new SVG file")
}

// check refuses files that can't be made, before anything is measured.
func (f outputFlags) check() error {
	for _, path := range []string{f.certificate, f.svg} {
		if path == "" {
			continue
		}
		if _, err := os.Lstat(path); err == nil {
			return fmt.Errorf("%s exists; name a new file", path)
		} else if !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("%w; name a file that can be made", err)
		}
		if info, err := os.Stat(filepath.Dir(path)); err != nil || !info.IsDir() {
			return fmt.Errorf("the folder of %s is not there; make it first", path)
		}
	}
	return nil
}

// write writes the files.
func (f outputFlags) write(r metrology.Record) error {
	if f.certificate != "" {
		page, err := report.Certificate(r)
		if err != nil {
			return err
		}
		if err := writeNew(f.certificate, page); err != nil {
			return err
		}
	}
	if f.svg != "" {
		return writeNew(f.svg, report.CalibrationPlot(r))
	}
	return nil
}

// calibrationJSON is a calibration as programs read it: its result, and what
// was stored with it.
type calibrationJSON struct {
	metrology.Calibration
	ID         string     `json:"id,omitempty"`
	Caliper    string     `json:"caliper,omitempty"`
	Done       *time.Time `json:"done,omitempty"`
	ValidUntil *time.Time `json:"valid_until,omitempty"`
	By         string     `json:"by,omitempty"`
	Note       string     `json:"note,omitempty"`
	Stored     bool       `json:"stored"`
	InForce    bool       `json:"in_force"`
}

// printCalibration writes the result to standard output.
func (a *app) printCalibration(r metrology.Record, stored bool) error {
	if !a.json() {
		_, err := fmt.Fprint(a.stdout, printableLines(r.Table(80)))
		return err
	}
	out := calibrationJSON{Calibration: r.Result, Stored: stored}
	if stored {
		out.ID, out.Caliper, out.Done, out.By, out.Note = r.ID, r.Caliper, &r.At, r.By, r.Note
		out.InForce = r.InForce(a.now())
		if !r.ValidUntil.IsZero() {
			out.ValidUntil = &r.ValidUntil
		}
	}
	return a.writeJSON(out)
}

// printableLines makes each line of a text printable.
func printableLines(text string) string {
	var out []byte
	for len(text) > 0 {
		line := text
		for i := range text {
			if text[i] == '\n' {
				line = text[:i]
				break
			}
		}
		out = append(append(out, catalogue.Printable(line)...), '\n')
		text = text[min(len(line)+1, len(text)):]
	}
	return string(out)
}
