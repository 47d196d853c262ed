package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"seamfit/internal/length"
	"seamfit/internal/metrology"
	"seamfit/internal/store"
)

// calibrateFrom calibrates from a file of readings, and stores the result if
// it is told to.
func (a *app) calibrateFrom(ctx context.Context, f calibrateFlags, files benchFiles) (err error) {
	if !f.store && (f.by != "" || f.note != "") {
		return usagef("--by and --note are kept with a calibration that is stored; give --store too")
	}
	if f.rods != "" || f.readings != 0 {
		return usagef("--rods and --readings are for calibrating live; a file names its own")
	}
	setup, at, err := f.setup(files.settings)
	if err != nil {
		return err
	}
	t, err := f.temperatures(files.settings.Calibration)
	if err != nil {
		return err
	}
	table, err := a.readTable(f.from, "reference_mm", "reading_mm")
	if err != nil {
		return err
	}
	records, err := a.existing(ctx, files.setup)
	if err != nil {
		return err
	}
	if records != nil {
		defer func() { err = errors.Join(err, records.Close()) }()
	}
	readings, err := a.rodReadings(ctx, table, records, t)
	if err != nil {
		return err
	}
	if setup.Resolution == 0 {
		setup.Resolution = readings.finest
	}
	record := metrology.Record{
		Readings: readings.recorded, At: a.now(), Note: f.note,
		Conditions: metrology.Conditions{Temperatures: t, Resolution: setup.Resolution, MPE: setup.MPE, Rods: readings.planned},
	}
	record.Result, err = metrology.Calibrate(readings.rows, setup)
	var row *metrology.RowError
	if errors.As(err, &row) {
		return fmt.Errorf("%s: %w", f.from, err)
	}
	if err != nil {
		return err
	}
	if record.Result, err = record.Result.Ask(at); err != nil {
		return err
	}
	record.Result.Warnings = append(record.Result.Warnings, metrology.Overdue(record.Conditions.Rods, record.At)...)
	if f.store {
		if err := a.keepCalibration(ctx, &record, f, files, records); err != nil {
			return err
		}
	}
	if err := f.write(record); err != nil {
		return err
	}
	return a.printCalibration(record, f.store)
}

// keepCalibration stores the record of a file. records may be nil: they are
// made then.
func (a *app) keepCalibration(ctx context.Context, r *metrology.Record, f calibrateFlags, files benchFiles, records *store.Store) (err error) {
	if err := visible("--note", f.note); err != nil {
		return err
	}
	if r.By, err = a.who(ctx, f.by, records); err != nil {
		return err
	}
	if records == nil {
		if records, err = a.openRecords(ctx, files.setup, false); err != nil {
			return err
		}
		defer func() { err = errors.Join(err, records.Close()) }()
	}
	r.ID, r.Caliper = a.newID(), files.settings.Caliper.Name
	if err := shown("the caliper's name", r.Caliper); err != nil {
		return err
	}
	if f.validDays > 0 {
		r.ValidUntil = r.At.AddDate(0, 0, f.validDays)
	}
	return records.SaveCalibration(ctx, *r)
}

// fileReadings is what a file of readings comes to.
type fileReadings struct {
	rows     []metrology.RodReading
	recorded []metrology.RecordedReading
	planned  []metrology.PlannedRod
	finest   length.Length // step of the last digits
}

// rodReadings reads the table. Rods that it names are those of the register;
// others are as the row gives them, of steel.
func (a *app) rodReadings(ctx context.Context, table tableFile, records *store.Store, t metrology.Temperatures) (fileReadings, error) {
	var out fileReadings
	register := map[string]metrology.Rod{}
	if records != nil {
		rods, err := records.Rods(ctx)
		if err != nil {
			return out, err
		}
		for _, r := range rods {
			register[r.Name] = r
		}
	}
	type key struct {
		name     string
		diameter length.Length
		u        float64
	}
	planned := map[key]metrology.PlannedRod{}
	given := slices.ContainsFunc(table.lines, func(l tableLine) bool { return l.values["rod_u_mm"] != "" })
	for _, line := range table.lines {
		rod, u, reading, err := line.rodReading(register)
		if err == nil && given && rod.Name == "" && line.values["rod_u_mm"] == "" {
			err = errors.New("rod_u_mm is empty, and other rods have one; give each its own, or none")
		}
		if err != nil {
			return out, fmt.Errorf("%s: line %d: %w", table.name, line.number, err)
		}
		k := key{rod.Name, rod.Diameter, u}
		p, known := planned[k]
		if !known {
			if p, err = metrology.PlanRod(rod, t); err != nil {
				return out, fmt.Errorf("%s: line %d: %w", table.name, line.number, err)
			}
			if rod.Name == "" {
				p.CertificateU = u
			}
			planned[k] = p
			out.planned = append(out.planned, p)
		}
		if out.finest == 0 || reading.Step < out.finest {
			out.finest = reading.Step
		}
		out.rows = append(out.rows, metrology.RodReading{Reference: p.Reference, Reading: reading.Value, RodU: p.U(), Line: line.number})
		out.recorded = append(out.recorded, metrology.RecordedReading{
			Rod: p.Rod.ID, Raw: []byte(line.values["reading_mm"]), At: a.now(), Reference: p.Reference, Reading: reading.Value, RodU: p.U(),
		})
	}
	return out, nil
}

// rodReading reads one row: the rod, the standard uncertainty in millimetres
// that the row gives it, and what was read on it.
func (l tableLine) rodReading(register map[string]metrology.Rod) (rod metrology.Rod, u float64, reading length.Typed, err error) {
	reference, err := l.millimetres("reference_mm")
	if err != nil {
		return rod, 0, reading, err
	}
	if reading, err = l.millimetres("reading_mm"); err != nil {
		return rod, 0, reading, err
	}
	if reference.Value < 0 {
		return rod, 0, reading, fmt.Errorf("reference_mm %q is no diameter; write millimetres like 8.00", l.values["reference_mm"])
	}
	rod.Diameter = reference.Value
	if text := l.values["rod_u_mm"]; text != "" {
		u, err = strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
		if err != nil || !(u >= 0) || math.IsInf(u, 0) {
			return rod, 0, reading, fmt.Errorf("rod_u_mm %q is no uncertainty; write millimetres like 0.001", text)
		}
	}
	name := l.values["rod"]
	if name == "" {
		return rod, u, reading, nil
	}
	known, ok := register[name]
	switch {
	case !ok:
		return rod, 0, reading, fmt.Errorf("no rod %q is in the register; see seamfit calibrate rods list, or take the column rod out", name)
	case known.Retired != "":
		return rod, 0, reading, fmt.Errorf("rod %s is out of use (%s); use another", name, known.Retired)
	case known.Diameter != reference.Value:
		return rod, 0, reading, fmt.Errorf("rod %s has %v by its certificate, and reference_mm says %v; mend one of them", name, known.Diameter, reference.Value)
	case l.values["rod_u_mm"] != "":
		return rod, 0, reading, fmt.Errorf("rod %s has its uncertainty in the register; leave rod_u_mm empty", name)
	}
	return known, 0, reading, nil
}

// millimetres reads a value of a column. One with digits below a nanometre
// was computed, and is rounded to it: no caliper and no certificate has them.
func (l tableLine) millimetres(column string) (length.Typed, error) {
	text := l.values[column]
	typed, err := length.ParsePerson(text, length.MM)
	if errors.Is(err, length.ErrTooFine) {
		if mm, bad := strconv.ParseFloat(text, 64); bad == nil {
			var value length.Length
			value, err = length.FromMM(mm)
			typed = length.Typed{Value: value, Step: length.Nanometre, Unit: length.MM}
		}
	}
	if err != nil {
		return typed, fmt.Errorf("%s %q: %w; write millimetres like 8.00", column, text, err)
	}
	return typed, nil
}
