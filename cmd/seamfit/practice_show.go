package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"seamfit/internal/seam"
)

func (a *app) practiceShowCommand() *cobra.Command {
	var by string
	var groups bool
	cmd := &cobra.Command{
		Use:   "show",
		Short: "Show who meets the bench target for which bands",
		Long: `Show for each bander, size and metal the practice closings, their learning curve,
and whether the bench target is met. The target is advice, never a licence.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return a.practiceShow(cmd.Context(), by, groups) },
	}
	cmd.Flags().StringVar(&by, "by", "", "one bander only")
	cmd.Flags().BoolVar(&groups, "groups", false, "count sizes together that are closed by the same procedure")
	return cmd
}

func (a *app) practiceShow(ctx context.Context, by string, groups bool) (err error) {
	files, err := a.load()
	if err != nil {
		return err
	}
	target, err := seam.NewTarget(scheme(files.settings.Practice))
	if err != nil {
		return err
	}
	records, closings, _, err := a.practiceRecords(ctx, files)
	if err != nil {
		return err
	}
	if records != nil {
		if err := records.Close(); err != nil {
			return err
		}
	}
	if by != "" {
		closings = slices.DeleteFunc(closings, func(c seam.PracticeClosing) bool { return c.By != by })
	}
	if len(closings) == 0 {
		return errors.New("no practice closing is in the records; practise with seamfit practice")
	}
	of := seam.BySizeAndMetal
	if groups {
		of = files.sizeGroup
	}
	stands, err := target.Records(closings, of, a.now())
	if err != nil {
		return err
	}
	return a.printPractice(target, stands)
}

// sizeGroup names the bands that are closed by the same procedure.
func (f benchFiles) sizeGroup(c seam.PracticeClosing) string {
	table, _ := f.setup.Book.Catalogue(f.setup.Catalogue)
	size, _ := table.Size(c.Size)
	metal, known := f.setup.Book.Metal(c.Metal)
	if procedure, ok := f.setup.Book.Procedure(c.Closure, metal, size.Inner); known && ok {
		return procedure.ID
	}
	return seam.BySizeAndMetal(c)
}

// Standings as programs read them.
type (
	practiceJSON struct {
		Target    targetJSON     `json:"target"`
		Standings []standingJSON `json:"standings"`
		Advice    string         `json:"advice"`
	}
	targetJSON struct {
		Unskilled   float64 `json:"unskilled_failure_rate"`
		Skilled     float64 `json:"skilled_failure_rate"`
		WeightFlush float64 `json:"weight_flush"`
		WeightFail  float64 `json:"weight_failed"`
		ScoreNeeded float64 `json:"score_needed"`
		Risk        float64 `json:"false_target_risk"`
		Within      int     `json:"within_closings"`
		LapseDays   int     `json:"lapse_days"`
	}
	standingJSON struct {
		Bander    string         `json:"bander"`
		Bands     string         `json:"bands"`
		Readiness seam.Readiness `json:"readiness"`
		Lapse     string         `json:"lapse"`
		MetAt     string         `json:"met_at"`
		Closings  int            `json:"closings"`
		Flush     int            `json:"flush"`
		Part      float64        `json:"flush_part"`
		Low       float64        `json:"flush_part_low"`
		High      float64        `json:"flush_part_high"`
		Scores    []float64      `json:"scores"`
		Outcomes  []bool         `json:"outcomes"`
		Trend     string         `json:"trend"`
		TrendP    float64        `json:"trend_p"`
		Defects   map[string]int `json:"defects"`
		Missed    int            `json:"missed_by_own_look"`
		Judged    int            `json:"looked_at_twice"`
		MedianS   *float64       `json:"median_time_s"`
	}
)

const practiceAdvice = "The bench target is advice, never a licence: permit, training and the banding office decide who bands."

func (a *app) printPractice(target seam.Target, stands []seam.Record) error {
	if a.json() {
		return a.writeJSON(practiceOf(target, stands))
	}
	s := target.Scheme()
	_, _, h := target.Weights()
	if err := a.printf("Bench target (bench settings): %.0f %% of skilled closings fail, %.0f %% of unskilled;\nscore %.2f needed, met by unskilled hands within %d closings with probability %.3f.\n%s\n",
		100*s.Skilled, 100*s.Unskilled, h, s.Within, target.Chance(s.Unskilled, s.Within), practiceAdvice); err != nil {
		return err
	}
	for _, r := range stands {
		if _, err := io.WriteString(a.stdout, "\n"+printableLines(recordText(r))); err != nil {
			return err
		}
	}
	return nil
}

// recordText is where one bander stands with one kind of band.
func recordText(r seam.Record) string {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("%s, %s: %s", r.By, r.Bands, strings.ToUpper(string(r.Readiness)))
	if r.Lapse != seam.NoLapse {
		line("  met before, and lapsed: %s", r.Lapse)
	}
	line("  %d of %d closings flush, %.0f %% (95 %% interval %.1f to %.1f %%); %s", r.Successes, r.Closings,
		100*float64(r.Successes)/float64(max(r.Closings, 1)), 100*r.Flush.Low, 100*r.Flush.High, r.Trend.Direction)
	if len(r.Defects) > 0 {
		ids := slices.SortedFunc(maps.Keys(r.Defects), func(a, b string) int {
			return cmp.Or(cmp.Compare(r.Defects[b], r.Defects[a]), cmp.Compare(a, b))
		})
		parts := make([]string, len(ids))
		for i, id := range ids {
			parts[i] = fmt.Sprintf("%s %d", strings.ReplaceAll(id, "_", " "), r.Defects[id])
		}
		line("  found: %s", strings.Join(parts, ", "))
	}
	if r.Judged > 0 {
		line("  the own look missed something in %d of the %d that were looked at twice", r.Missed, r.Judged)
	}
	if r.Median > 0 {
		line("  middle time %.0f s", r.Median.Seconds())
	}
	b.WriteString(seam.Curve(r, 78))
	return b.String()
}

func practiceOf(target seam.Target, stands []seam.Record) practiceJSON {
	s := target.Scheme()
	out := practiceJSON{Advice: practiceAdvice, Standings: []standingJSON{}, Target: targetJSON{
		Unskilled: s.Unskilled, Skilled: s.Skilled, Risk: target.Chance(s.Unskilled, s.Within), Within: s.Within, LapseDays: s.LapseDays,
	}}
	out.Target.WeightFlush, out.Target.WeightFail, out.Target.ScoreNeeded = target.Weights()
	for _, r := range stands {
		j := standingJSON{
			Bander: r.By, Bands: r.Bands, Readiness: r.Readiness, Lapse: string(r.Lapse), Closings: r.Closings, Flush: r.Successes,
			Part: float64(r.Successes) / float64(max(r.Closings, 1)), Low: r.Flush.Low, High: r.Flush.High, Scores: r.Scores, Outcomes: r.Outcomes,
			Trend: string(r.Trend.Direction), TrendP: r.Trend.P, Defects: r.Defects, Missed: r.Missed, Judged: r.Judged,
		}
		if !r.MetAt.IsZero() {
			j.MetAt = r.MetAt.Format(time.RFC3339)
		}
		if r.Median > 0 {
			s := r.Median.Seconds()
			j.MedianS = &s
		}
		out.Standings = append(out.Standings, j)
	}
	return out
}
