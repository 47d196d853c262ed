package main

import (
	"errors"
	"fmt"
	"strconv"

	"github.com/spf13/cobra"

	"seamfit/internal/metrology"
)

func (a *app) studyCommand() *cobra.Command {
	var from string
	cmd := &cobra.Command{
		Use:   "study --from study.csv",
		Short: "Analyse how well measurements repeat, and banders agree",
		Long: `Analyse a repeatability study: every bander measures every item equally often,
without seeing the earlier values. The file is CSV with the columns item, bander,
trial and value_mm.`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error { return a.study(from) },
	}
	cmd.Flags().StringVar(&from, "from", "", "the study's values, a CSV file")
	return cmd
}

func (a *app) study(from string) error {
	if from == "" {
		return usagef("--from is missing; give the file of values")
	}
	table, err := a.readTable(from, "item", "bander", "trial", "value_mm")
	if err != nil {
		return err
	}
	var rows []metrology.StudyRow
	for _, line := range table.lines {
		value, err := strconv.ParseFloat(line.values["value_mm"], 64)
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
	} {
		if err := a.printf("%-18s %s\n", l.name, l.text); err != nil {
			return err
		}
	}
	return nil
}

// number writes a value that may not be known.
func number(v *float64, decimals int) string {
	if v == nil {
		return "–"
	}
	return strconv.FormatFloat(*v, 'f', decimals, 64)
}
