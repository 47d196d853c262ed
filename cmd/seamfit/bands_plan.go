package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strconv"

	"github.com/spf13/cobra"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/fit"
	"seamfit/internal/length"
)

func (a *app) planCommand() *cobra.Command {
	var f bandsFlags
	var risk float64
	cmd := &cobra.Command{
		Use:   "plan --from expected.csv",
		Short: "Plan how many bands of each size to carry",
		Long: `Plan how many bands of each size to carry, so that the chance of running out of
it is below a level, and compare it with the stock. The file is CSV with the
columns species and count, and may have sex, age, chance (that each of them is
caught, 0 to 1) and size (when it is settled).

Which size a bird takes follows from the widths that this bench measured on its
kind, each width judged as at the bench, so that birds between two sizes count for
both; else it is the first size of the office's list. Counts are convolved exactly.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.withStock(cmd.Context(), f, false, func(st stock) error { return a.plan(cmd.Context(), st, f.from, risk) })
		},
	}
	cmd.Flags().StringVar(&f.from, "from", "", "the expected birds, a CSV file")
	cmd.Flags().Float64Var(&risk, "risk", 0.01, "chance of running out of a size that is borne (bench setting)")
	return cmd
}

// planned is a plan.
type planned struct {
	Risk  float64       `json:"risk"`
	Sizes []plannedSize `json:"sizes"`
	Birds []plannedBird `json:"birds"`
}

// plannedSize is how many bands of a size to carry. PRunOut is the chance of
// running out with what is in stock.
type plannedSize struct {
	Size     string  `json:"size"`
	Expected float64 `json:"expected"`
	Carry    int     `json:"carry"`
	InStock  int     `json:"in_stock"`
	Short    int     `json:"short"`
	PRunOut  float64 `json:"p_run_out"`
}

// plannedBird is one line of the expected birds, with the chances of the sizes
// and what they rest on.
type plannedBird struct {
	Species string        `json:"species"`
	Count   int           `json:"count"`
	Basis   string        `json:"basis"`
	Sizes   []sizedChance `json:"sizes"`
	caught  float64
}

type sizedChance struct {
	Size   string  `json:"size"`
	Chance float64 `json:"chance"`
}

func (a *app) plan(ctx context.Context, st stock, from string, risk float64) error {
	if from == "" {
		return usagef("--from is missing; give the file of expected birds")
	}
	if !(risk > 0 && risk < 1) {
		return usagef("--risk %g is no chance; give one between 0 and 1, like 0.01", risk)
	}
	table, err := a.readTable(from, "species", "count")
	if err != nil {
		return err
	}
	p := planned{Risk: risk, Sizes: []plannedSize{}, Birds: []plannedBird{}}
	for _, line := range table.lines {
		bird, err := a.expected(ctx, st, line)
		if err != nil {
			return fmt.Errorf("%s: line %d: %w", from, line.number, err)
		}
		p.Birds = append(p.Birds, bird)
	}
	account, err := st.records.Reconcile(ctx)
	if err != nil {
		return err
	}
	have := map[string]int{}
	for _, s := range account.Strings {
		have[s.Size] += s.InStock + s.Opened
	}
	state := bench.State{Setup: st.files.setup}
	for _, size := range state.Catalogue().Sizes {
		line, err := p.need(size.Label, have[size.Label])
		if err != nil {
			return fmt.Errorf("%s: %w; plan fewer birds at once", from, err)
		}
		if line.Expected > 0 {
			p.Sizes = append(p.Sizes, line)
		}
	}
	if a.json() {
		return a.writeJSON(p)
	}
	return a.printPlan(p)
}

func (p planned) need(size string, have int) (plannedSize, error) {
	var groups []bands.Expected
	for _, b := range p.Birds {
		for _, s := range b.Sizes {
			if s.Size == size {
				groups = append(groups, bands.Expected{Birds: b.Count, Chance: min(b.caught*s.Chance, 1)})
			}
		}
	}
	need, err := bands.NeedOf(groups)
	if err != nil {
		return plannedSize{}, err
	}
	carry := need.Carry(p.Risk)
	return plannedSize{
		Size: size, Expected: need.Mean(), Carry: carry, InStock: have, Short: max(carry-have, 0), PRunOut: need.RunsOut(have),
	}, nil
}

// expected reads one line and finds the chances of its sizes.
func (a *app) expected(ctx context.Context, st stock, line tableLine) (plannedBird, error) {
	b := plannedBird{Species: line.values["species"], caught: 1}
	count, err := strconv.Atoi(line.values["count"])
	if err != nil || count < 0 {
		return b, fmt.Errorf("count %q is no number of birds; write it like 40", line.values["count"])
	}
	b.Count = count
	if text := line.values["chance"]; text != "" {
		if b.caught, err = strconv.ParseFloat(text, 64); err != nil || !(b.caught >= 0 && b.caught <= 1) {
			return b, fmt.Errorf("chance %q is none; write it like 0.6", text)
		}
	}
	state := bench.State{Setup: st.files.setup}
	known := bench.Bird{Sex: line.values["sex"], Age: line.values["age"]}.Known()
	question := fit.Question{Catalogue: state.Catalogue(), Sex: known.Sex, Age: known.Age}
	sp, listed := st.files.setup.Book.SpeciesNamed(b.Species)
	if listed {
		question.Species, b.Species = &sp, sp.Scientific
	}
	if size := line.values["size"]; size != "" {
		found, ok := question.Catalogue.Size(size)
		if !ok {
			return b, fmt.Errorf("the catalogue %s has no size %q; name one of its sizes", question.Catalogue.Name, size)
		}
		b.Basis, b.Sizes = "told", []sizedChance{{found.Label, 1}}
		return b, nil
	}
	history, err := st.records.History(ctx, bench.Likeness{Species: b.Species, Sex: question.Sex, Age: question.Age})
	if err != nil {
		return b, err
	}
	if history.N >= enoughBirds && history.SD > 0 {
		b.Basis = fmt.Sprintf("%d birds at this bench", history.N)
		b.Sizes, err = chancesByWidth(question, history, st.files.setup.Model)
		return b, err
	}
	recommended := question.Listed()
	if len(recommended) == 0 {
		return b, fmt.Errorf("for %q there are neither widths of this bench nor a size in the list; give the column size", b.Species)
	}
	b.Basis, b.Sizes = "the office's list", []sizedChance{{recommended[0].Size, 1}}
	return b, nil
}

// enoughBirds is how many birds a spread must rest on (bench setting).
const enoughBirds = 10

// widthSteps is in how many equally likely widths a spread is taken.
const widthSteps = 400

// chancesByWidth judges equally likely widths of a normal distribution, each
// as the bench would, and counts the best sizes.
func chancesByWidth(q fit.Question, h fit.History, m fit.Model) ([]sizedChance, error) {
	counts := map[string]int{}
	judged := 0
	for i := range widthSteps {
		p := (float64(i) + 0.5) / widthSteps
		mm := h.Median + h.SD*math.Sqrt2*math.Erfinv(2*p-1)
		if mm <= 0 {
			continue
		}
		result, err := fit.Fit([]fit.Width{{Value: length.Length(mm * float64(length.Millimetre)), Resolution: 10 * length.Micrometre}}, q, m)
		if err != nil {
			return nil, err
		}
		if result.Best != "" {
			counts[result.Best]++
			judged++
		}
	}
	if judged == 0 {
		return nil, errors.New("no size fits birds of the widths measured here; give the column size")
	}
	var chances []sizedChance
	for _, size := range q.Catalogue.Sizes {
		if n := counts[size.Label]; n > 0 {
			chances = append(chances, sizedChance{size.Label, float64(n) / float64(judged)})
		}
	}
	return chances, nil
}

func (a *app) printPlan(p planned) error {
	for _, b := range p.Birds {
		sizes := ""
		for _, s := range b.Sizes {
			sizes += fmt.Sprintf("  %s %.0f %%", s.Size, 100*s.Chance)
		}
		if err := a.printf("%-28s %5d%s  (by %s)\n", b.Species, b.Count, sizes, b.Basis); err != nil {
			return err
		}
	}
	if err := a.printf("\n%-10s %9s %6s %9s %6s  %s\n", "size", "expected", "carry", "in stock", "short", "chance of running out of what is in stock"); err != nil {
		return err
	}
	for _, s := range p.Sizes {
		if err := a.printf("%-10s %9.1f %6d %9d %6d  %.3g\n", s.Size, s.Expected, s.Carry, s.InStock, s.Short, s.PRunOut); err != nil {
			return err
		}
	}
	return nil
}
