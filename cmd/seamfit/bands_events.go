package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/length"
	"seamfit/internal/seam"
	"seamfit/internal/store"
)

// inspectFlags are the flags of bands inspect.
type inspectFlags struct {
	bandsFlags
	reject, outer, height, thickness string
}

func (a *app) inspectCommand() *cobra.Command {
	var f inspectFlags
	cmd := &cobra.Command{
		Use:   "inspect NUMBERS...",
		Short: "Reject bands, or keep what was measured on closed ones",
		Long: `Reject bands at inspection with --reject and the reason (sharp edge, unreadable
number); or keep the outer diameter, height and thickness of a few closed bands of
a string, in millimetres, by which its seams are judged.
` + numbersHelp,
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.withStock(cmd.Context(), f.bandsFlags, true, func(st stock) error { return a.inspect(cmd.Context(), st, f, args) })
		},
	}
	f.add(cmd)
	flags := cmd.Flags()
	flags.StringVar(&f.reject, "reject", "", "the reason for which the bands are rejected")
	flags.StringVar(&f.outer, "outer", "", "outer diameters of closed bands, like 11.40,11.42,11.41")
	flags.StringVar(&f.height, "height", "", "their heights")
	flags.StringVar(&f.thickness, "thickness", "", "their thicknesses")
	return cmd
}

func (a *app) inspect(ctx context.Context, st stock, f inspectFlags, args []string) error {
	measured := f.outer+f.height+f.thickness != ""
	if measured == (f.reject != "") {
		return usagef("say either --reject with the reason, or what was measured with --outer, --height, --thickness")
	}
	if err := said("--reject", f.reject); err != nil {
		return err
	}
	runs, err := a.numbersGiven(st.files.setup.Pattern, args, f.from)
	if err != nil {
		return err
	}
	if !measured {
		return a.recordEvent(ctx, st, store.StockEvent{Kind: bands.EventRejected, Reason: f.reject}, runs)
	}
	e := store.StockEvent{Kind: bands.EventMeasured}
	p := lengthParser{unit: length.MM}
	for _, list := range []struct {
		flag, text string
		into       *[]length.Length
	}{{"--outer", f.outer, &e.Measures.Outer}, {"--height", f.height, &e.Measures.Height}, {"--thickness", f.thickness, &e.Measures.Thickness}} {
		if list.text == "" {
			continue
		}
		widths, err := p.list(list.flag, list.text)
		if err != nil {
			return err
		}
		for _, w := range widths {
			if w.Value <= 0 || w.Value > 100*length.Millimetre {
				return usagef("%s %s is no size of a band; give millimetres", list.flag, w.Value)
			}
			*list.into = append(*list.into, w.Value)
		}
	}
	if err := st.likelyInner(ctx, e.Measures, runs); err != nil {
		return err
	}
	return a.recordEvent(ctx, st, e, runs)
}

// likelyInner refuses measures by which the bands would be a tenth wider or
// narrower inside than their size in the table (bench setting): such values come
// from a slip, and the inner diameter decides which birds a size fits.
func (st stock) likelyInner(ctx context.Context, m seam.StringMeasures, runs []bands.Run) error {
	if len(m.Outer) == 0 || len(m.Thickness) == 0 {
		return nil
	}
	inner := length.Mean(m.Outer) - 2*length.Mean(m.Thickness)
	for _, r := range runs {
		standing, err := st.records.Standing(ctx, r.First().String())
		if err != nil {
			return err
		}
		size, ok := bench.State{Setup: st.files.setup}.Catalogue().Size(standing.Size)
		if ok && size.Inner != 0 && 10*max(inner-size.Inner, size.Inner-inner) > size.Inner {
			return fmt.Errorf("outer diameter less twice the thickness is %v, and size %s has %v inside; measure both again, and compare the size on the packet", inner, size.Label, size.Inner)
		}
	}
	return nil
}

func (a *app) openCommand() *cobra.Command {
	var f bandsFlags
	var to string
	cmd := &cobra.Command{
		Use:   "open NUMBERS... [--to PERSON]",
		Short: "Open bands onto tubing, or pass opened ones on",
		Long: `Open bands onto tubing, in the order of their numbers, and issue them to a person
with --to. Bands that are opened already are passed on to that person.
` + numbersHelp,
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.withStock(cmd.Context(), f, true, func(st stock) error { return a.open(cmd.Context(), st, f, to, args) })
		},
	}
	f.add(cmd)
	cmd.Flags().StringVar(&to, "to", "", "to whom they are issued")
	return cmd
}

func (a *app) open(ctx context.Context, st stock, f bandsFlags, to string, args []string) error {
	if !printable(to) {
		return usagef("--to holds a character that can't be seen; write it again without")
	}
	runs, err := a.numbersGiven(st.files.setup.Pattern, args, f.from)
	if err != nil {
		return err
	}
	var events []store.StockEvent
	for _, r := range runs {
		for n := range r.All() {
			kind, err := a.openingOf(ctx, st, n)
			if err != nil {
				return err
			}
			if k := len(events) - 1; k >= 0 && events[k].Kind == kind {
				events[k].Numbers = append(events[k].Numbers, n.String())
				continue
			}
			events = append(events, store.StockEvent{
				Kind: kind, Numbers: []string{n.String()}, At: st.at, Entered: st.entered, By: st.by, Holder: bands.Holder(to),
			})
		}
	}
	if err := st.records.Record(ctx, events); err != nil {
		return err
	}
	return a.sayNumbers("opened", runs)
}

// openingOf says whether a number is opened now, or was before and is passed.
func (a *app) openingOf(ctx context.Context, st stock, n bands.Number) (bands.EventKind, error) {
	standing, err := st.records.Standing(ctx, n.String())
	if err != nil {
		return "", err
	}
	if standing.Handling != "" && standing.State == bands.Opened {
		return "", fmt.Errorf("%v is taken for a bird that is open; finish that bird's record first", n)
	}
	if standing.State == bands.Opened {
		return bands.EventPassed, nil
	}
	return bands.EventOpened, nil
}

func (a *app) tellCommand() *cobra.Command {
	var f bandsFlags
	cmd := &cobra.Command{
		Use:   "tell lost|found|returned|destroyed NUMBERS... --reason REASON",
		Short: "Tell what became of bands that are on no bird",
		Long: `Tell what became of bands that are on no bird: lost, found again (and still not
used), returned to whoever sent them, or destroyed, as by practice.
` + numbersHelp,
		Args: cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.withStock(cmd.Context(), f, true, func(st stock) error { return a.tell(cmd.Context(), st, f, args) })
		},
	}
	f.add(cmd)
	cmd.Flags().StringVar(&f.reason, "reason", "", "why, or how")
	return cmd
}

func (a *app) tell(ctx context.Context, st stock, f bandsFlags, args []string) error {
	kind := bands.EventKind(args[0])
	switch kind {
	case bands.EventLost, bands.EventDestroyed:
		if err := said("--reason", f.reason); err != nil {
			return err
		}
		if f.reason == "" {
			return usagef("--reason is missing; say why the bands are %s", kind)
		}
	case bands.EventFound, bands.EventReturned:
	default:
		return usagef("bands can't be told as %q; say lost, found, returned or destroyed", args[0])
	}
	runs, err := a.numbersGiven(st.files.setup.Pattern, args[1:], f.from)
	if err != nil {
		return err
	}
	err = a.recordEvent(ctx, st, store.StockEvent{Kind: kind, Reason: f.reason}, runs)
	var refused *bands.EventError
	if errors.As(err, &refused) && len(runs) > 1 {
		return fmt.Errorf("nothing was stored: %w", err)
	}
	return err
}
