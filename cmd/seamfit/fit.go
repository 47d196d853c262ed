package main

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/fit"
	"seamfit/internal/length"
)

// fitFlags are the flags of the command fit.
type fitFlags struct {
	widths, upperStop, lowerStop string
	cross, tarsus, otherMarks    string
	species, sex, age, catalogue string
	closure, metal, unit         string
	resolution, innerU           string
	pooledSD                     string
	pooledDOF                    float64
}

func (a *app) fitCommand() *cobra.Command {
	var f fitFlags
	cmd := &cobra.Command{
		Use:   "fit --width 8.42,8.45,8.40",
		Short: "Say which band sizes fit a measured leg, and how surely",
		Long: `Say which band sizes fit a measured leg, and how surely. Widths are given apart by
commas, or by semicolons where your decimal mark is the comma.

Where the bench has records, the caliper's calibration in force corrects them, and
how its readings of one leg have repeated before counts for their scatter.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return a.fit(cmd.Context(), f) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.widths, "width", "", "readings of the leg width, as read")
	flags.StringVar(&f.upperStop, "upper-stop", "", "readings of the joint above the band, on its greatest axis")
	flags.StringVar(&f.lowerStop, "lower-stop", "", "readings of the folded foot below the band, on its greatest axis")
	flags.StringVar(&f.cross, "cross", "", "readings of the cross width: the leg turned by a quarter")
	flags.StringVar(&f.tarsus, "tarsus", "", "length of tarsus that bands can use")
	flags.StringVar(&f.otherMarks, "other-marks", "", "height of the marks that are on that leg already")
	flags.StringVar(&f.species, "species", "", "scientific or English name")
	flags.StringVar(&f.sex, "sex", "", "male or female; empty: unknown")
	flags.StringVar(&f.age, "age", "", "the record's word for the age")
	flags.StringVar(&f.catalogue, "catalogue", "", "table of band sizes (default: the settings')")
	flags.StringVar(&f.closure, "closure", "", "closure kind in hand: butt-end, lock-on, rivet")
	flags.StringVar(&f.metal, "metal", "", "metal in hand")
	flags.StringVar(&f.unit, "unit", "mm", "unit of values that name none: mm or in")
	flags.StringVar(&f.resolution, "resolution", "", "step of the caliper's display (default: the settings', else the last digit's)")
	flags.StringVar(&f.innerU, "inner-u", "", "standard uncertainty of the bands' inner diameter")
	flags.StringVar(&f.pooledSD, "pooled-sd", "", "pooled SD of repeated readings, with --pooled-dof")
	flags.Float64Var(&f.pooledDOF, "pooled-dof", 0, "degrees of freedom of --pooled-sd")
	return cmd
}

func (a *app) fit(ctx context.Context, f fitFlags) error {
	files, err := a.load()
	if err != nil {
		return err
	}
	if err := a.fromRecords(ctx, &files); err != nil {
		return err
	}
	m, caliper, err := files.modelNow(a.now())
	if err != nil {
		return err
	}
	if err := f.pooled(&m); err != nil {
		return err
	}
	p := lengthParser{resolution: files.settings.Measure.Resolution.Length}
	if p.unit, err = length.ParseUnit(f.unit); err != nil {
		return usagef("--unit %q is no unit; use mm or in", f.unit)
	}
	if f.resolution != "" {
		if p.resolution, err = p.step(f.resolution); err != nil {
			return err
		}
	}
	question, disagree, err := f.question(files.setup.Book, files.setup.Catalogue, p, m)
	if err != nil {
		return err
	}
	widths, err := p.list("--width", f.widths)
	if err != nil {
		return err
	}
	question.Place = files.setup.Place
	if question.Inner == nil {
		metal := ""
		if question.Metal != nil {
			metal = question.Metal.Name
		}
		question.Inner = files.setup.InnerOf(metal)
	}
	result, err := fit.Fit(widths, question, m)
	if err != nil {
		return err
	}
	result.Metal = metalAdvice(files.setup, question)
	result.Warnings = slices.Concat(caliper, disagree, result.Warnings)
	if a.json() {
		return a.writeJSON(result)
	}
	if _, err := fmt.Fprint(a.stdout, fit.Table(result, m, 80)); err != nil {
		return err
	}
	return a.printMetal(result.Metal, f.metal)
}

// metalAdvice returns what speaks for a metal on the species in question; nil
// without a species.
func metalAdvice(setup *bench.Setup, q fit.Question) *fit.MetalAdvice {
	if q.Species == nil {
		return nil
	}
	metal := ""
	if q.Metal != nil {
		metal = q.Metal.Name
	}
	advice := setup.AdviseMetal(*q.Species, metal)
	return &advice
}

func (a *app) printMetal(advice *fit.MetalAdvice, metal string) error {
	if advice == nil {
		return nil
	}
	for _, text := range advice.Words(metal) {
		if err := a.printf("metal     %s\n", text); err != nil {
			return err
		}
	}
	return nil
}

func (f fitFlags) pooled(m *fit.Model) error {
	if (f.pooledSD == "") != (f.pooledDOF == 0) {
		return usagef("--pooled-sd and --pooled-dof belong together; give both or neither")
	}
	if f.pooledSD == "" {
		return nil
	}
	sd, err := length.ParsePerson(f.pooledSD, length.MM)
	if err != nil || sd.Value <= 0 || !(f.pooledDOF > 0 && f.pooledDOF <= 1e9) {
		return usagef("--pooled-sd %q with --pooled-dof %g is no SD; give millimetres and degrees of freedom above 0", f.pooledSD, f.pooledDOF)
	}
	for i := range m.Pooled {
		m.Pooled[i] = fit.Pooled{SD: sd.Value.MM(), DOF: f.pooledDOF}
	}
	return nil
}

// question returns what is asked, and the warnings about readings that disagree.
func (f fitFlags) question(book *catalogue.Book, name string, p lengthParser, m fit.Model) (q fit.Question, disagree []fit.Warning, err error) {
	if f.catalogue != "" {
		name = f.catalogue
	}
	table, ok := book.Catalogue(name)
	if !ok {
		return q, nil, usagef("the catalogue %q is unknown; use one of %s", name, catalogueNames(book))
	}
	q = fit.Question{Catalogue: table, Sex: f.sex, Age: f.age, Closure: f.closure}
	if f.closure != "" {
		if _, ok := book.Closure(f.closure); !ok {
			return q, nil, usagef("--closure %q is unknown; use butt-end, lock-on or rivet", f.closure)
		}
	}
	if f.metal != "" {
		metal, ok := book.Metal(f.metal)
		if !ok {
			return q, nil, usagef("--metal %q is unknown; use aluminium, stainless steel, incoloy, monel or titanium", f.metal)
		}
		q.Metal = &metal
	}
	if f.species != "" {
		sp, ok := book.SpeciesNamed(f.species)
		if !ok {
			return q, nil, usagef("the species %q is not on the list; check the spelling, or leave --species out", f.species)
		}
		q.Species = &sp
	}
	if disagree, err = f.lengths(&q, p, m); err != nil || f.innerU == "" {
		return q, disagree, err
	}
	u, err := p.uncertainty("--inner-u", f.innerU)
	q.Inner = map[string]fit.Inner{}
	for _, size := range table.Sizes {
		q.Inner[size.Label] = fit.Inner{U: u.MM()}
	}
	return q, disagree, err
}

// lengths puts what else was measured on the leg into the question.
func (f fitFlags) lengths(q *fit.Question, p lengthParser, m fit.Model) (disagree []fit.Warning, err error) {
	for _, width := range []struct {
		flag, text string
		into       **fit.Leg
	}{
		{"--upper-stop", f.upperStop, &q.UpperStop}, {"--lower-stop", f.lowerStop, &q.LowerStop}, {"--cross", f.cross, &q.Cross},
	} {
		if width.text == "" {
			continue
		}
		leg, agreement, err := p.stop(width.flag, width.text, m)
		if err != nil {
			return nil, err
		}
		*width.into = &leg
		if !agreement.OK {
			disagree = append(disagree, fit.Warning{Code: fit.CodeDisagree, Text: fmt.Sprintf(
				"the readings of %s disagree (range %.2f mm, expected within %.3f mm): take them again", width.flag, agreement.RangeMM, agreement.CriticalRangeMM)})
		}
	}
	for _, along := range []struct {
		flag, text string
		into       *length.Length
	}{{"--tarsus", f.tarsus, &q.Tarsus}, {"--other-marks", f.otherMarks, &q.OtherMarks}} {
		if along.text == "" {
			continue
		}
		if *along.into, err = p.one(along.flag, along.text); err != nil {
			return nil, err
		}
	}
	return disagree, nil
}

// lengthParser reads the lengths of a command line.
type lengthParser struct {
	unit       length.Unit
	resolution length.Length // 0: the step of each value's last digit
}

func (p lengthParser) one(flag, text string) (length.Length, error) {
	typed, err := length.ParsePerson(text, p.unit)
	if err != nil {
		return 0, usagef("%s %q: %w; write it like 8.42", flag, text, err)
	}
	return typed.Value, nil
}

// uncertainty reads a standard uncertainty.
func (p lengthParser) uncertainty(flag, text string) (length.Length, error) {
	u, err := p.one(flag, text)
	if err == nil && u < 0 {
		err = usagef("%s %q is below 0; give a standard uncertainty like 0.01", flag, text)
	}
	return u, err
}

// coarsestStep is the coarsest step of a display that is taken for one.
const coarsestStep = length.Millimetre

// step reads the step of a display.
func (p lengthParser) step(text string) (length.Length, error) {
	step, err := p.one("--resolution", text)
	if err == nil && (step <= 0 || step > coarsestStep) {
		err = usagef("--resolution %q is no step of a caliper's display; give one above 0 and up to %v, like 0.01", text, coarsestStep)
	}
	return step, err
}

// list reads lengths apart by commas or semicolons.
func (p lengthParser) list(flag, text string) ([]fit.Width, error) {
	if strings.TrimSpace(text) == "" {
		return nil, usagef("%s is missing; give the readings, like %s 8.42,8.45,8.40", flag, flag)
	}
	separator := ","
	if strings.Contains(text, ";") {
		separator = ";"
	}
	parts := strings.Split(text, separator)
	if separator == "," && decimalCommas(parts) {
		return nil, usagef("%s %s: are these commas decimal marks? write points, like 8.42, or put semicolons between the readings, like 8,42;8,45", flag, text)
	}
	var widths []fit.Width
	for _, part := range parts {
		typed, err := length.ParsePerson(part, p.unit)
		if err != nil {
			return nil, usagef("%s %q: %w; write it like 8.42", flag, part, err)
		}
		w := fit.Width{Value: typed.Value, Resolution: typed.Step}
		if p.resolution > 0 {
			w.Resolution = p.resolution
		}
		widths = append(widths, w)
	}
	return widths, nil
}

// decimalCommas reports whether the commas between the parts may be decimal marks:
// one whole number follows another, in pairs or beside others that have points. A
// caliper that shows whole millimetres is no caliper for legs.
func decimalCommas(parts []string) bool {
	whole := func(part string) bool { return !strings.Contains(part, ".") }
	points := slices.ContainsFunc(parts, func(part string) bool { return !whole(part) })
	for i, part := range parts {
		if i > 0 && whole(part) && whole(parts[i-1]) {
			return points || len(parts)%2 == 0
		}
	}
	return false
}

// stop estimates a joint, a foot or a cross width from its readings as a leg is.
func (p lengthParser) stop(flag, text string, m fit.Model) (fit.Leg, fit.Agreement, error) {
	widths, err := p.list(flag, text)
	if err != nil {
		return fit.Leg{}, fit.Agreement{}, err
	}
	leg, agreement, err := fit.Estimate(widths, m)
	if err != nil {
		err = fmt.Errorf("%s: %w", flag, err)
	}
	return leg, agreement, err
}
