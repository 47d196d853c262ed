package main

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"time"

	"github.com/spf13/cobra"

	"seamfit/internal/length"
	"seamfit/internal/metrology"
	"seamfit/internal/store"
)

// rodFlags are what is told of a rod.
type rodFlags struct {
	diameter, u, expanded, class string
	certified, due               string
	material, expansion, by      string
}

func (a *app) rodsCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "rods",
		Short: "The register of reference rods",
		Long: `The register of reference rods. A rod that is certified anew is added again under
its name; the old entry stays with the calibrations that it was used in.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return a.listRods(cmd.Context()) },
	}
	list := &cobra.Command{
		Use: "list", Short: "List the rods, with those past their date", Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return a.listRods(cmd.Context()) },
	}
	var f rodFlags
	add := &cobra.Command{
		Use: "add NAME --diameter 8.0003 --expanded 0.001", Short: "Enter a rod, or its new certificate",
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error { return a.addRod(cmd.Context(), args[0], f) },
	}
	flags := add.Flags()
	flags.StringVar(&f.diameter, "diameter", "", "certified diameter at 20 °C, in mm")
	flags.StringVar(&f.expanded, "expanded", "", "expanded uncertainty of the certificate in mm, for k = 2")
	flags.StringVar(&f.u, "u", "", "standard uncertainty in mm (instead of --expanded)")
	flags.StringVar(&f.class, "class", "", "tolerance class of ASME B89.1.5, ZZ to XXX (instead of an uncertainty)")
	flags.StringVar(&f.certified, "certified", "", "date of the certificate, like 2026-01-31")
	flags.StringVar(&f.due, "due", "", "last day on which it holds")
	flags.StringVar(&f.material, "material", "steel", "what the rod is made of")
	flags.StringVar(&f.expansion, "expansion", "", "thermal expansion per kelvin, like 11.5e-6 (default: steel's)")
	flags.StringVar(&f.by, "by", "", "who enters it (default: the bander of the last shift)")
	var why, by string
	retire := &cobra.Command{
		Use: "retire NAME --why REASON", Short: "Take a rod out of use", Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error { return a.retireRod(cmd.Context(), args[0], why, by) },
	}
	retire.Flags().StringVar(&why, "why", "", "the reason, like worn or dropped")
	retire.Flags().StringVar(&by, "by", "", "who says so (default: the bander of the last shift)")
	cmd.AddCommand(list, add, retire)
	return cmd
}

// largestRod bounds what can be meant as a rod for a caliper.
const largestRod = 300 * length.Millimetre

func (f rodFlags) rod(name string) (metrology.Rod, error) {
	r := metrology.Rod{Name: name, Material: f.material}
	if f.diameter == "" {
		return r, usagef("--diameter is missing; give the certified diameter in mm, like 8.0003")
	}
	p := lengthParser{unit: length.MM}
	var err error
	if r.Diameter, err = p.one("--diameter", f.diameter); err != nil {
		return r, err
	}
	if r.Diameter <= 0 || r.Diameter > largestRod {
		return r, usagef("--diameter is %v; a rod has above 0 and at most %v: check unit and decimal mark", r.Diameter, largestRod)
	}
	if err := f.uncertainty(p, &r); err != nil {
		return r, err
	}
	if r.Certified, err = day("--certified", f.certified); err != nil {
		return r, err
	}
	if r.Due, err = day("--due", f.due); err != nil {
		return r, err
	}
	if !r.Due.IsZero() && r.Due.Before(r.Certified) {
		return r, usagef("--due %s is before --certified %s; check the dates", f.due, f.certified)
	}
	if f.expansion != "" {
		r.Expansion, err = strconv.ParseFloat(f.expansion, 64)
		if err != nil || !(r.Expansion > 0 && r.Expansion <= 1e-4) {
			return r, usagef("--expansion %q is no expansion per kelvin; write it like 11.5e-6", f.expansion)
		}
	}
	return r, nil
}

func (f rodFlags) uncertainty(p lengthParser, r *metrology.Rod) error {
	given := 0
	for _, text := range []string{f.u, f.expanded, f.class} {
		if text != "" {
			given++
		}
	}
	if given != 1 {
		return usagef("give the rod's uncertainty once: --expanded as the certificate states it, --u, or --class")
	}
	if f.class != "" {
		class, err := metrology.ParseClass(f.class)
		if err != nil {
			return usagef("--class: %w; give the class of its certificate", err)
		}
		r.Class = class
		if _, err := class.Tolerance(r.Diameter); err != nil {
			return usagef("--class: %w; give its uncertainty instead", err)
		}
		return nil
	}
	flag, text, k := "--u", f.u, length.Length(1)
	if f.expanded != "" {
		flag, text, k = "--expanded", f.expanded, 2
	}
	u, err := p.one(flag, text)
	if err != nil {
		return err
	}
	if u/k <= 0 || u > r.Diameter/10 {
		return usagef("%s %q is no uncertainty of a rod of %v; give millimetres above 0, like 0.001", flag, text, r.Diameter)
	}
	r.U = u / k
	return nil
}

func day(flag, text string) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	t, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return t, usagef("%s %q is no date; write it like 2026-01-31", flag, text)
	}
	return t, nil
}

func (a *app) addRod(ctx context.Context, name string, f rodFlags) (err error) {
	if err := shown("the rod's name", name); err != nil {
		return err
	}
	if err := shown("--material", f.material); err != nil {
		return err
	}
	rod, err := f.rod(name)
	if err != nil {
		return err
	}
	records, err := a.recordsToWrite(ctx, f.by)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, records.Close()) }()
	if rod.By, err = a.who(ctx, f.by, records); err != nil {
		return err
	}
	rod.ID, rod.Entered = a.newID(), a.now()
	if err := records.SaveRod(ctx, rod); err != nil {
		return err
	}
	return a.listFrom(ctx, records)
}

func (a *app) retireRod(ctx context.Context, name, why, by string) (err error) {
	if err := shown("--why", why); err != nil {
		return err
	}
	records, err := a.recordsToWrite(ctx, by)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, records.Close()) }()
	register, err := records.Rods(ctx)
	if err != nil {
		return err
	}
	for _, r := range register {
		if r.Name != name {
			continue
		}
		if r.By, err = a.who(ctx, by, records); err != nil {
			return err
		}
		r.ID, r.Entered, r.Retired = a.newID(), a.now(), why
		if err := records.SaveRod(ctx, r); err != nil {
			return err
		}
		return a.listFrom(ctx, records)
	}
	return fmt.Errorf("no rod %q is in the register; see seamfit calibrate rods list", name)
}

// recordsToWrite opens the bench's records, making them where there are none;
// not when nobody says who writes.
func (a *app) recordsToWrite(ctx context.Context, by string) (*store.Store, error) {
	files, err := a.load()
	if err != nil {
		return nil, err
	}
	if there, err := a.recordsExist(); err != nil || !there {
		if _, unknown := a.who(ctx, by, nil); err != nil || unknown != nil {
			return nil, errors.Join(err, unknown)
		}
	}
	return a.openRecords(ctx, files.setup, false)
}

func (a *app) listRods(ctx context.Context) (err error) {
	files, err := a.load()
	if err != nil {
		return err
	}
	records, err := a.existing(ctx, files.setup)
	if err != nil {
		return err
	}
	if records == nil {
		return a.printRods(nil)
	}
	defer func() { err = errors.Join(err, records.Close()) }()
	return a.listFrom(ctx, records)
}

func (a *app) listFrom(ctx context.Context, records *store.Store) error {
	register, err := records.Rods(ctx)
	if err != nil {
		return err
	}
	return a.printRods(register)
}

// listedRod is a rod as programs read it.
type listedRod struct {
	Name       string   `json:"name"`
	DiameterMM float64  `json:"diameter_mm"`
	UMM        *float64 `json:"u_mm"`
	Class      string   `json:"class"`
	Certified  string   `json:"certified"`
	Due        string   `json:"due"`
	Overdue    bool     `json:"overdue"`
	Material   string   `json:"material"`
	Expansion  *float64 `json:"expansion_per_k"`
	Retired    string   `json:"retired"`
	By         string   `json:"by"`
}

func (a *app) printRods(register []metrology.Rod) error {
	listed := make([]listedRod, len(register))
	for i, r := range register {
		l := listedRod{
			Name: r.Name, DiameterMM: r.Diameter.MM(), Class: string(r.Class), Certified: dayText(r.Certified), Due: dayText(r.Due),
			Overdue: r.Retired == "" && r.Overdue(a.now()), Material: r.Material, Retired: r.Retired, By: r.By,
		}
		if u, err := r.StandardU(); err == nil {
			l.UMM = &u
		}
		if r.Expansion > 0 {
			l.Expansion = &r.Expansion
		}
		listed[i] = l
	}
	if a.json() {
		return a.writeJSON(map[string][]listedRod{"rods": listed})
	}
	if len(listed) == 0 {
		return a.printf("no rods; enter one with seamfit calibrate rods add NAME --diameter 8.0003 --expanded 0.001\n")
	}
	if err := a.printf("%-12s %11s %9s %-5s %-10s %-10s %s\n", "rod", "diameter mm", "u mm", "class", "certified", "due", "material"); err != nil {
		return err
	}
	for _, l := range listed {
		mark := l.Material
		switch {
		case l.Retired != "":
			mark += ", OUT OF USE: " + l.Retired
		case l.Overdue:
			mark += ", PAST ITS DATE"
		}
		if err := a.printf("%-12s %11.4f %9s %-5s %-10s %-10s %s\n", l.Name, l.DiameterMM, number(l.UMM, 5), orDash(l.Class), orDash(l.Certified), orDash(l.Due), mark); err != nil {
			return err
		}
	}
	return nil
}

func dayText(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.DateOnly)
}
