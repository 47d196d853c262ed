package main

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"seamfit/internal/metrology"
)

func (a *app) studyCommand() *cobra.Command {
	var f studyFlags
	cmd := &cobra.Command{
		Use:   "study --from study.csv | --items A,B,C --banders X,Y",
		Short: "Analyse how well measurements repeat, and banders agree",
		Long: `Analyse a repeatability study: every bander measures every item equally often,
without seeing the earlier values. The file is CSV with the columns item, bander,
trial and value_mm; rows with a text in a column set_aside are passed over.

With --items and --banders it is taken live, line by line: whose turn it is and
which item, in an order mixed anew each time, and no earlier value is shown.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			switch {
			case f.from == "" && f.items == "" && f.banders == "":
				return usagef("--from is missing; give the file of values, or --items and --banders to take them live")
			case f.from == "":
				return a.studyLive(cmd.Context(), f)
			case f.items != "" || f.banders != "" || f.out != "":
				return usagef("--from gives the values; leave --items, --banders and --out out")
			}
			return a.study(f.from)
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&f.from, "from", "", "the study's values, a CSV file (- for standard input)")
	flags.StringVar(&f.items, "items", "", "live: names of the items, apart by commas")
	flags.StringVar(&f.banders, "banders", "", "live: names of the banders, apart by commas")
	flags.IntVar(&f.trials, "trials", 2, "live: how often each bander measures each item")
	flags.BoolVar(&f.inOrder, "in-order", false, "live: take the items in the order given, not mixed")
	flags.StringVar(&f.out, "out", "", "live: write the values to this new CSV file")
	flags.StringVar(&f.caliper, "caliper", "", caliperUsage)
	flags.StringVar(&f.port, "port", "", "serial port of the caliper (default: the settings')")
	return cmd
}

func (a *app) study(from string) error {
	table, err := a.readTable(from, "item", "bander", "trial", "value_mm")
	if err != nil {
		return err
	}
	var rows []metrology.StudyRow
	for _, line := range table.lines {
		if line.values["set_aside"] != "" {
			continue
		}
		value, err := strconv.ParseFloat(strings.Replace(line.values["value_mm"], ",", ".", 1), 64)
		if err != nil {
			return fmt.Errorf("%s: line %d: value_mm %q is not a number; write millimetres like 8.42", from, line.number, line.values["value_mm"])
		}
		rows = append(rows, metrology.StudyRow{
			Item: line.values["item"], Bander: line.values["bander"], Trial: line.values["trial"], Value: value, Line: line.number,
		})
	}
	study, err := metrology.AnalyseStudy(rows)
	var row *metrology.RowError
	if errors.As(err, &row) {
		return fmt.Errorf("%s: %w", from, err)
	}
	if err != nil {
		return err
	}
	if a.json() {
		return a.writeJSON(study)
	}
	return a.printStudy(study)
}

func (a *app) printStudy(s metrology.Study) error {
	if err := a.printf("%d items, %d banders, %d trials\n\n%-14s %12s %5s %12s %9s %8s\n",
		s.Items, s.Banders, s.Trials, "source", "SS", "df", "MS", "F", "p"); err != nil {
		return err
	}
	for _, r := range s.Anova {
		if err := a.printf("%-14s %12s %5g %12s %9s %8s\n", r.Source, number(r.SS, 6), r.DF, number(r.MS, 6), number(r.F, 3), number(r.P, 4)); err != nil {
			return err
		}
	}
	pooled := ""
	if s.Pooled {
		pooled = " (the interaction is pooled)"
	}
	for _, l := range []struct{ name, text string }{
		{"", ""},
		{"SDs in mm" + pooled, ""},
		{"  repeatability", number(s.SD.Repeatability, 5)},
		{"  between banders", number(s.SD.Reproducibility, 5)},
		{"  gauge", number(&s.SD.Gauge, 5)},
		{"  item", number(&s.SD.Item, 5)},
		{"  total", number(&s.SD.Total, 5)},
		{"ICC 1, 2, 3", fmt.Sprintf("%s  %s  %s", number(s.ICC.One, 3), number(s.ICC.Two, 3), number(s.ICC.Three, 3))},
		{"technical error", number(&s.TechnicalErrorMM, 5) + " mm"},
		{"least difference", number(&s.MinimumDetectableMM, 5) + " mm can be detected"},
		{"gauge of total", number(s.PercentGauge, 2) + " %"},
		{"distinct classes", classes(s.DistinctClasses)},
	} {
		if err := a.printf("%-18s %s\n", l.name, l.text); err != nil {
			return err
		}
	}
	return nil
}

func classes(n *int) string {
	if n == nil {
		return "–"
	}
	return strconv.Itoa(*n)
}

// number writes a value that may not be known.
func number(v *float64, decimals int) string {
	if v == nil {
		return "–"
	}
	return strconv.FormatFloat(*v, 'f', decimals, 64)
}
