package export

import (
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
)

// UsedBand is one number that is used up. Handling, and what is told of the
// bird, are empty for a number that never reached one. Size and Metal are empty
// where nothing tells them.
type UsedBand struct {
	Number, State       string
	Size, Metal         string
	Day                 string // of the bird, or of the event of the stock
	Species, Reason, By string
	Handling            string
	Disputed            bool
}

// Bands writes the list of numbers that are used up, on birds, destroyed, lost,
// rejected or returned, in order of number, as one CSV file with the columns
// number, state, size, metal, day, species, reason, by, handling, disputed and
// training. Its errors are CSV's.
func Bands(ctx context.Context, s Source, name string) error {
	list, err := usedBands(ctx, s)
	if err != nil {
		return err
	}
	spent, err := spentBands(ctx, s, list)
	if err != nil {
		return err
	}
	list = append(list, spent...)
	slices.SortStableFunc(list, func(a, b UsedBand) int { return strings.Compare(a.Number, b.Number) })
	return into(func() (place, error) { return newFile(name) }, func(p place) error {
		return put(p, name, func(w io.Writer) error { return writeBands(w, list, s.Training) })
	})
}

func writeBands(to io.Writer, list []UsedBand, training bool) error {
	w := csv.NewWriter(to)
	w.UseCRLF = true
	errs := []error{w.Write(strings.Fields("number state size metal day species reason by handling disputed training"))}
	for _, b := range list {
		fields := []string{
			b.Number, b.State, b.Size, b.Metal, b.Day, b.Species, b.Reason, b.By, b.Handling,
			strconv.FormatBool(b.Disputed), strconv.FormatBool(training),
		}
		for i := range fields {
			fields[i] = printable(fields[i])
		}
		errs = append(errs, w.Write(fields))
	}
	w.Flush()
	return errors.Join(append(errs, w.Error())...)
}

// usedBands are those of the handlings. A band found on a bird is another
// record's, or another bench's.
func usedBands(ctx context.Context, s Source) (list []UsedBand, err error) {
	next, err := s.counter(ctx, "handlings")
	if err != nil {
		return nil, err
	}
	err = s.Records.Handlings(ctx, func(h bench.Handling) error {
		if err := next(); err != nil {
			return err
		}
		for _, band := range h.Bands {
			state := h.StateOf(band)
			if band.Found && state != bands.Destroyed || state != bands.OnBird && state != bands.Destroyed {
				continue
			}
			used := UsedBand{
				Number: band.Number, State: string(state), Day: h.Opened.Format("2006-01-02"), Species: h.Bird.Species,
				By: h.Bander, Handling: h.ID, Disputed: h.Disputed(),
			}
			if state == bands.Destroyed {
				used.Reason = band.Reason
			}
			list = append(list, used)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	sizes, err := sizesOfBands(ctx, s.Records)
	if err != nil {
		return nil, err
	}
	for i := range list {
		if of, ok := sizes[list[i].Handling+" "+list[i].Number]; ok {
			list[i].Size, list[i].Metal = of[0], of[1]
		}
	}
	return list, nil
}

// sizesOfBands returns the size and metal of each number that was planned, by
// handling and number: those chosen last before the number was given, so not a
// later band's; where none was, those chosen first after it.
func sizesOfBands(ctx context.Context, r Records) (map[string][2]string, error) {
	type choice struct {
		seq  int64
		what [2]string
	}
	chosen := map[string][]choice{}
	if err := r.Rows(ctx, "sizes", []string{"handling", "seq", "size", "metal"}, func(v []any) error {
		seq, ok := v[1].(int64)
		if !ok {
			return fmt.Errorf("a sequence of type %T", v[1])
		}
		handling := fmt.Sprint(v[0])
		chosen[handling] = append(chosen[handling], choice{seq, [2]string{fmt.Sprint(v[2]), fmt.Sprint(v[3])}})
		return nil
	}); err != nil {
		return nil, err
	}
	found := map[string][2]string{}
	err := r.Rows(ctx, "band_events", []string{"handling", "seq", "event", "number"}, func(v []any) error {
		seq, ok := v[1].(int64)
		if event := fmt.Sprint(v[2]); !ok || event == "found" || event == "removed" || event == "returned" {
			return nil
		}
		handling := fmt.Sprint(v[0])
		for i, c := range chosen[handling] {
			if i == 0 || c.seq < seq {
				found[handling+" "+fmt.Sprint(v[3])] = c.what
			}
		}
		return nil
	})
	return found, err
}
