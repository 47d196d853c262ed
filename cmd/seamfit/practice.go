package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"seamfit/internal/catalogue"
	"seamfit/internal/length"
	"seamfit/internal/metrology"
	"seamfit/internal/seam"
	"seamfit/internal/settings"
	"seamfit/internal/store"
)

// practiceFlags are the flags of the command practice.
type practiceFlags struct {
	caliperFlags
	by, trainer, size, metal, closure string
	dowel, dowelWidth, band, tool     string
	outer, thickness, of              string
	measure                           bool
	from                              string
	store                             bool
}

func (a *app) practiceCommand() *cobra.Command {
	var f practiceFlags
	cmd := &cobra.Command{
		Use:   "practice [--from closings.csv]",
		Short: "Practise closings on a dowel, and see whether the bench target is met",
		Long: `Practise closings on a dowel with unnumbered or rejected bands, and see whether
the bench target is met, for each bander, size and metal. A numbered band that is
practised with is destroyed, and the stock is told so. Never use a certified rod
as the dowel.

It asks line by line: when you begin, what the trainer sees (who looks first and
blind, the trainee not looking on), what you see, and, with --measure, widths at
three angles from the caliper or typed. Several trainees take turns, by the number or
name that is typed, or by the card "switch" and a scanner that types; a look can
be told by cards too. Each closing is stored as soon as it is told, and stays.

With --from the closings come from a CSV file with the columns by, size, metal and
look (flush, or what was found: gap+spiral), and if you have them at, closure,
dowel, dowel_mm, band, number, tool, trainer, blind, took_s, widths_mm,
thickness_mm and outer_mm. They are shown, and kept with --store.

The bench target is advice, never a licence: permit, training and the banding
office decide who bands.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return a.practice(cmd.Context(), f) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.by, "by", "", "the trainees, apart by commas (default: asked for)")
	flags.StringVar(&f.trainer, "trainer", "", "who looks blind at each closing (default: nobody)")
	flags.StringVar(&f.size, "size", "", "size of the bands (default: asked for)")
	flags.StringVar(&f.metal, "metal", "", "their metal (default: asked for)")
	flags.StringVar(&f.closure, "closure", "", "their closure kind (default: the size's usual one)")
	flags.StringVar(&f.dowel, "dowel", "round", "the dowel: round, oval or sleeved")
	flags.StringVar(&f.dowelWidth, "dowel-width", "", "the dowel's greatest width in mm")
	flags.StringVar(&f.band, "band", "unnumbered", "the bands: unnumbered, rejected, or numbered (destroyed by it)")
	flags.StringVar(&f.tool, "tool", "", "the pliers, their hole, how they are set")
	flags.BoolVar(&f.measure, "measure", false, "measure each band's widths too, and judge them")
	flags.StringVar(&f.of, "string", "", "any number of the string that the bands are of: what was measured of it is used")
	flags.StringVar(&f.outer, "outer", "", "outer diameter of a flush band of the same string in mm (default: the string's, else computed from the size)")
	flags.StringVar(&f.thickness, "thickness", "", "thickness of the metal in mm (default: the string's, else the size's)")
	flags.StringVar(&f.caliper, "caliper", "", caliperUsage)
	flags.StringVar(&f.port, "port", "", "serial port of the caliper (default: the settings')")
	flags.StringVar(&f.from, "from", "", "closings, a CSV file (- for standard input)")
	flags.BoolVar(&f.store, "store", false, "store the closings that --from gives")
	cmd.AddCommand(a.practiceShowCommand())
	return cmd
}

func (a *app) practice(ctx context.Context, f practiceFlags) error {
	files, err := a.load()
	if err != nil {
		return err
	}
	if err := f.apply(&files.settings); err != nil {
		return err
	}
	target, err := seam.NewTarget(scheme(files.settings.Practice))
	if err != nil {
		return err
	}
	if f.from != "" {
		return a.practiceFrom(ctx, f, files, target)
	}
	if f.store {
		return usagef("--store is for --from; live closings are stored as they are told")
	}
	return a.practiceLive(ctx, f, files, target)
}

func scheme(p settings.Practice) seam.Scheme {
	return seam.Scheme{Unskilled: p.UnskilledRate, Skilled: p.SkilledRate, Risk: p.Risk, Within: p.Within, LapseDays: p.LapseDays}
}

// practised is what kind of band is practised with: names as the catalogue
// has them.
type practised struct {
	size    catalogue.Size
	metal   string
	closure catalogue.Closure
}

// practisedBand looks the names up.
func (f benchFiles) practisedBand(size, metal, closure string) (practised, error) {
	table, _ := f.setup.Book.Catalogue(f.setup.Catalogue)
	var p practised
	var known bool
	if p.size, known = table.Size(strings.TrimSpace(size)); !known {
		return p, fmt.Errorf("size %q is not in the catalogue %s; see seamfit catalogue show", size, table.Name)
	}
	m, known := f.setup.Book.Metal(metal)
	if !known {
		return p, fmt.Errorf("metal %q is unknown; use one of %s", metal, strings.Join(metalNames(f.setup.Book), ", "))
	}
	p.metal = m.Name
	if closure == "" && len(p.size.Closures) > 0 {
		closure = p.size.Closures[0]
	}
	if p.closure, known = f.setup.Book.Closure(closure); !known {
		return p, fmt.Errorf("closure kind %q is unknown; use one of %s", closure, strings.Join(closureIDs(f.setup.Book), ", "))
	}
	return p, nil
}

func metalNames(book *catalogue.Book) []string {
	names := make([]string, len(book.Metals))
	for i, m := range book.Metals {
		names[i] = m.Name
	}
	return names
}

func closureIDs(book *catalogue.Book) []string {
	ids := make([]string, len(book.Closures))
	for i, c := range book.Closures {
		ids[i] = c.ID
	}
	return ids
}

const flushWord = "flush"

// findingLetters gives each finding a letter, the same for every closure kind
// and as at the station: the first of its name that is free; f is flush.
func findingLetters(book *catalogue.Book) map[string]rune {
	letters := map[string]rune{}
	taken := "fl"
	for _, f := range book.Findings {
		for _, r := range f.ID {
			if r >= 'a' && r <= 'z' && !strings.ContainsRune(taken, r) {
				letters[f.ID], taken = r, taken+string(r)
				break
			}
		}
	}
	return letters
}

// parseLook reads what a look found: flush, or findings by their names or
// letters, apart by +, comma or blank.
func parseLook(text string, closure catalogue.Closure, letters map[string]rune) ([]string, error) {
	words := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return strings.ContainsRune("+,; ", r) })
	if len(words) == 1 && (words[0] == flushWord || words[0] == "f") {
		return nil, nil
	}
	var found []string
	for _, word := range words {
		id := word
		for known, letter := range letters {
			if r, size := utf8.DecodeRuneInString(word); size == len(word) && r == letter {
				id = known
			}
		}
		if !slices.Contains(closure.Defects, id) {
			return nil, fmt.Errorf("a look at a closure of kind %s does not find %q; say flush, or any of %s", closure.ID, word, strings.Join(closure.Defects, ", "))
		}
		if !slices.Contains(found, id) {
			found = append(found, id)
		}
	}
	if len(found) == 0 {
		return nil, fmt.Errorf("the look is missing; say flush, or any of %s", strings.Join(closure.Defects, ", "))
	}
	return found, nil
}

// measuring is how the widths of practice bands are judged.
type measuring struct {
	a                *app
	files            benchFiles
	outer, thickness string
	of               string // any number of the string that the bands are of
}

// judge judges the widths of a band. What the flags don't give comes from what
// was measured on its string, of whose numbers one is named or is the band's
// own; else the outer diameter is computed from the size, and counts as that
// unsure.
func (m measuring) judge(ctx context.Context, records *store.Store, widths []seam.Dimension, p practised, d seam.Dowel, number string) (*seam.MeasuredBand, seam.Judgement, error) {
	c := seam.Closed{Widths: widths}
	if d.Width > 0 {
		c.Leg = seam.Dimension{Value: d.Width, Resolution: widths[0].Resolution}
	}
	parse := lengthParser{unit: length.MM}
	var err error
	if m.thickness != "" {
		if c.Thickness, err = parse.one("--thickness", m.thickness); err != nil {
			return nil, seam.Judgement{}, err
		}
	}
	if m.outer != "" {
		one, err := parse.dimension("--outer", m.outer)
		if err != nil {
			return nil, seam.Judgement{}, err
		}
		c.Outer = seam.Outer{Basis: seam.Measured, Diameters: []seam.Dimension{one}}
	}
	note := ""
	if of := cmp.Or(m.of, number); of != "" {
		known, unknown := m.files.stringOf(ctx, records, of)
		switch {
		case unknown == nil && known.size.Label != p.size.Label:
			return nil, seam.Judgement{}, fmt.Errorf("%s is of size %s, and the bands are of size %s; name a number of their string", known.number, known.size.Label, p.size.Label)
		case unknown == nil:
			note = known.complete(&c)
		case m.of != "":
			return nil, seam.Judgement{}, fmt.Errorf("--string %w", unknown)
		}
	}
	if c.Thickness == 0 {
		c.Thickness = p.size.Thickness
	}
	if c.Outer.Basis == "" {
		c.Outer = seam.Outer{Basis: seam.Nominal, Inner: p.size.Inner}
	}
	j, err := m.files.judged(m.a, c, note)
	if err != nil {
		return nil, j, err
	}
	outer, err := length.FromMM(j.OuterMM)
	if err != nil {
		return nil, j, err
	}
	kept := &seam.MeasuredBand{
		Thickness: c.Thickness, Outer: outer, Basis: j.Basis, Verdict: j.Verdict,
		GapMM: j.GapMM, GapUMM: j.GapUMM, Findings: j.Findings,
	}
	for _, w := range widths {
		kept.Widths = append(kept.Widths, w.Value)
	}
	return kept, j, nil
}

// practiceRecords opens the bench's records if there are any, and returns the
// closings and the register of rods in them. The setup then knows the caliper.
func (a *app) practiceRecords(ctx context.Context, files benchFiles) (records *store.Store, closings []seam.PracticeClosing, rods []metrology.Rod, err error) {
	if records, err = a.existing(ctx, files.setup); err != nil || records == nil {
		return nil, nil, nil, err
	}
	if closings, err = records.Practice(ctx, ""); err == nil {
		rods, err = records.Rods(ctx)
	}
	if err == nil {
		err = files.calibrated(ctx, records, a.now())
	}
	if err != nil {
		return nil, nil, nil, errors.Join(err, records.Close())
	}
	return records, closings, rods, nil
}

// keepPractice stores closings, in records that are made where there are none.
func (a *app) keepPractice(ctx context.Context, files benchFiles, closings []seam.PracticeClosing) (err error) {
	records, err := a.openRecords(ctx, files.setup, false)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, records.Close()) }()
	return records.SavePractice(ctx, closings)
}
