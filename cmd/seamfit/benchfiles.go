package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/fit"
	"seamfit/internal/settings"
	"seamfit/internal/store"
)

// benchFiles is what the settings and their files come to.
type benchFiles struct {
	settings settings.Settings
	setup    *bench.Setup
}

// load reads the settings and the files that they name. A settings file that
// was not asked for by name may be missing.
func (a *app) load() (benchFiles, error) {
	s, err := a.loadSettings()
	if err != nil {
		return benchFiles{}, err
	}
	book, err := loadBook(s.Bench.CatalogueFiles)
	if err != nil {
		return benchFiles{}, err
	}
	if _, ok := book.Catalogue(s.Bench.Catalogue); !ok {
		return benchFiles{}, fmt.Errorf("the settings name the catalogue %q, which is unknown; use one of %s", s.Bench.Catalogue, catalogueNames(book))
	}
	pattern, err := loadPattern(s.Bench)
	if err != nil {
		return benchFiles{}, err
	}
	return benchFiles{settings: s, setup: &bench.Setup{
		People: people(s.People), Further: further(s.Measure.Further),
		Book: book, Catalogue: s.Bench.Catalogue, Model: model(s.Measure), Pattern: pattern,
		Readings: s.Bench.Readings, BandsLimit: s.Bench.BandsLimit, AbsurdOver: s.Measure.AbsurdOver.Length, RequireCalibration: s.Measure.RequireCalibration,
		Established: s.Measure.Established, Place: fit.Place{Water: s.Wear.Water, ReadablePart: s.Wear.ReadablePart},
	}}, nil
}

// people returns who has which role in every shift.
func people(p settings.People) bench.People {
	var all bench.People
	for _, name := range p.Trainees {
		all = append(all, bench.Person{Name: name, Role: bench.RoleTrainee})
	}
	for _, name := range p.Supervisors {
		all = append(all, bench.Person{Name: name, Role: bench.RoleSupervisor})
	}
	return all
}

func further(measures []settings.FurtherMeasure) []bench.FurtherMeasure {
	all := make([]bench.FurtherMeasure, len(measures))
	for i, m := range measures {
		all[i] = bench.FurtherMeasure{Name: strings.Join(strings.Fields(m.Name), " "), Unit: m.Unit, Method: m.Method, AtMost: m.AtMost}
	}
	return all
}

func (a *app) loadSettings() (settings.Settings, error) {
	path, asked, err := a.settingsFile()
	if err != nil {
		return settings.Default(), nil //nolint:nilerr // without a home there is no file, and the defaults serve
	}
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) && !asked {
		return settings.Default(), nil
	}
	if err != nil {
		return settings.Settings{}, fmt.Errorf("read the settings: %w; check --settings", err)
	}
	return settings.Load(data, path)
}

// settingsFile returns the name of the settings file, and whether the command
// line named it.
func (a *app) settingsFile() (path string, asked bool, err error) {
	if a.settingsPath != "" {
		return a.settingsPath, true, nil
	}
	folder, err := os.UserConfigDir()
	if err != nil {
		return "", false, fmt.Errorf("find your configuration folder: %w; name the file with --settings", err)
	}
	return filepath.Join(folder, "seamfit", "bench.toml"), false, nil
}

func loadBook(files []string) (*catalogue.Book, error) {
	book, err := catalogue.Embedded()
	if err != nil {
		return nil, err
	}
	for _, path := range files {
		data, err := os.ReadFile(path)
		if err != nil {
			return nil, fmt.Errorf("read a catalogue: %w; check catalogue_files in the settings", err)
		}
		if book, err = book.With(data, path); err != nil {
			return nil, err
		}
	}
	return book, nil
}

func loadPattern(b settings.Bench) (*bands.Pattern, error) {
	patterns, err := bands.Embedded()
	if err != nil {
		return nil, err
	}
	for _, path := range b.PatternFiles {
		data, err := os.ReadFile(path)
		if err != nil {
			return nil, fmt.Errorf("read a number pattern: %w; check pattern_files in the settings", err)
		}
		if patterns, err = patterns.With(data, path); err != nil {
			return nil, err
		}
	}
	pattern, ok := patterns.Named(b.NumberPattern)
	if !ok {
		return nil, fmt.Errorf("the settings name the number pattern %q, which is unknown; use one of %v", b.NumberPattern, patterns.Names())
	}
	return pattern, nil
}

func model(m settings.Measure) fit.Model {
	return fit.Model{
		RepeatabilitySD: m.RepeatabilitySD.MM(), MPE: m.MPE.Length,
		Allowance: m.OneSidedAllowance.MM(), BetweenBander: m.BetweenBanderSD.MM(),
		MinPlay: m.MinPlay, MaxPlay: m.MaxPlay, TargetPlay: m.TargetPlay, AbsurdOver: m.AbsurdOver.Length,
	}
}

// calibrated puts what the records know of the bench's caliper and its bands
// into the setup: its last calibration, how its readings of one leg have
// repeated, the inner diameters of bands that were measured, and how fast bands
// wear here.
func (f *benchFiles) calibrated(ctx context.Context, records *store.Store, now time.Time) error {
	last, err := records.LastCalibration(ctx, f.settings.Caliper.Name, now)
	if err != nil {
		return err
	}
	f.setup.Calibration = last
	if f.setup.Model.Pooled, err = records.Repeatability(ctx, f.settings.Caliper.Name); err != nil {
		return err
	}
	if f.setup.Inner, err = records.MeasuredInner(ctx, f.setup.Model.MPE); err != nil {
		return err
	}
	worn, err := records.WornBands(ctx)
	if err != nil {
		return err
	}
	sizes, _ := f.setup.Book.Catalogue(f.setup.Catalogue)
	f.setup.Wear = fit.BenchWear(worn, sizes, f.setup.Model)
	return nil
}

// openRecords opens the bench's database: --db, else the one in the user's
// data folder.
func (a *app) openRecords(ctx context.Context, setup *bench.Setup, mustExist bool) (*store.Store, error) {
	path, err := a.recordsFile()
	if err != nil {
		return nil, err
	}
	return store.Open(ctx, path, store.Options{Closures: setup.Book.Closures, MustExist: mustExist, Now: a.now})
}

func (a *app) recordsFile() (string, error) {
	if a.dbPath != "" {
		return a.dbPath, nil
	}
	return a.dataFile("bench.db")
}

// recordsExist reports whether there is a database to open. One that was asked
// for by name and is not there is none as well.
func (a *app) recordsExist() (bool, error) {
	path, err := a.recordsFile()
	if err != nil {
		return false, nil //nolint:nilerr // without a home there are no records, and what needs some says so
	}
	_, err = os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, fmt.Errorf("look for the records: %w; check --db", err)
	}
	return true, nil
}

// dataFile returns the name of a file in the user's data folder.
func (a *app) dataFile(name string) (string, error) {
	if folder := a.env("XDG_DATA_HOME"); folder != "" && filepath.IsAbs(folder) {
		return filepath.Join(folder, "seamfit", name), nil
	}
	if runtime.GOOS == "darwin" || runtime.GOOS == "windows" {
		folder, err := os.UserConfigDir()
		if err != nil {
			return "", fmt.Errorf("find your data folder: %w; name the file with --db", err)
		}
		return filepath.Join(folder, "seamfit", name), nil
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "", fmt.Errorf("find your home folder: %w; name the file with --db", err)
	}
	return filepath.Join(home, ".local", "share", "seamfit", name), nil
}

func catalogueNames(book *catalogue.Book) string {
	names := make([]string, len(book.Catalogues))
	for i, c := range book.Catalogues {
		names[i] = c.Name
	}
	return strings.Join(names, ", ")
}
