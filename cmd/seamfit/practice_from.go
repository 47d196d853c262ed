package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"seamfit/internal/catalogue"
	"seamfit/internal/length"
	"seamfit/internal/metrology"
	"seamfit/internal/seam"
	"seamfit/internal/store"
)

// practiceFrom reads closings from a file, shows where their banders stand,
// and stores them when it is told to: all or none.
func (a *app) practiceFrom(ctx context.Context, f practiceFlags, files benchFiles, target seam.Target) (err error) {
	table, err := a.readTable(f.from, "by", "size", "metal", "look")
	if err != nil {
		return err
	}
	records, all, rods, err := a.practiceRecords(ctx, files)
	if err != nil {
		return err
	}
	told, err := a.practiceTold(ctx, table, f, files, records, rods)
	if records != nil {
		err = errors.Join(err, records.Close())
	}
	if err != nil {
		return err
	}
	if f.store {
		if i := repeated(told, all); i >= 0 {
			return fmt.Errorf("%s: line %d is in the records already; take out what is stored", table.name, table.lines[i].number)
		}
		if err := a.keepPractice(ctx, files, told); err != nil {
			return err
		}
	}
	stands, err := target.Records(append(all, told...), seam.BySizeAndMetal, a.now())
	if err != nil {
		return err
	}
	stands = slices.DeleteFunc(stands, func(r seam.Record) bool {
		return !slices.ContainsFunc(told, func(c seam.PracticeClosing) bool {
			return r.Group == seam.Group{By: c.By, Bands: seam.BySizeAndMetal(c)}
		})
	})
	return a.printPractice(target, stands)
}

// practiceTold reads the closings of a file, and warns of dowels that may be
// rods of the register.
func (a *app) practiceTold(ctx context.Context, table tableFile, f practiceFlags, files benchFiles, records *store.Store, rods []metrology.Rod) (told []seam.PracticeClosing, err error) {
	m := measuring{a: a, files: files, of: f.of}
	letters := findingLetters(files.setup.Book)
	warned := map[string]bool{}
	for _, line := range table.lines {
		c, err := a.practiceLine(ctx, line, f, m, records, letters)
		if err == nil {
			err = c.Check()
		}
		if err != nil {
			return nil, fmt.Errorf("%s: line %d: %w", table.name, line.number, err)
		}
		if warning := mayBeRod(c.Dowel, rods); warning != "" && !warned[warning] {
			warned[warning] = true
			if err := a.printNote("line %d: %s", line.number, warning); err != nil {
				return nil, err
			}
		}
		told = append(told, c)
	}
	if len(told) == 0 {
		return nil, fmt.Errorf("%s tells no closing; write one a line", table.name)
	}
	return told, nil
}

// repeated returns the first closing that is stored already, as far as its
// bander, band, look and time tell; −1 for none.
func repeated(told, stored []seam.PracticeClosing) int {
	return slices.IndexFunc(told, func(c seam.PracticeClosing) bool {
		return slices.ContainsFunc(stored, func(s seam.PracticeClosing) bool {
			return s.At.Equal(c.At) && s.By == c.By && s.Size == c.Size && s.Metal == c.Metal && slices.Equal(s.Look, c.Look)
		})
	})
}

func (a *app) practiceLine(ctx context.Context, line tableLine, f practiceFlags, m measuring, records *store.Store, letters map[string]rune) (c seam.PracticeClosing, err error) {
	v, files := line.values, m.files
	or := func(text, otherwise string) string {
		if text == "" {
			return otherwise
		}
		return text
	}
	band, err := files.practisedBand(v["size"], v["metal"], or(v["closure"], f.closure))
	if err != nil {
		return c, err
	}
	c = seam.PracticeClosing{
		ID: a.newID(), At: a.now(), By: v["by"], Trainer: or(v["trainer"], f.trainer), Size: band.size.Label, Metal: band.metal, Closure: band.closure.ID,
		Band: seam.PracticeBand(strings.ToLower(or(v["band"], f.band))), Tool: or(v["tool"], f.tool),
	}
	for _, text := range []string{c.By, c.Trainer, c.Tool} {
		if err := visible("a text", text); err != nil {
			return c, err
		}
	}
	if c.Dowel, err = dowelOf(or(v["dowel"], f.dowel), or(v["dowel_mm"], f.dowelWidth)); err != nil {
		return c, err
	}
	if c.Look, err = parseLook(v["look"], band.closure, letters); err != nil {
		return c, err
	}
	if err := readBlind(&c, v["blind"], band.closure, letters); err != nil {
		return c, err
	}
	if v["at"] != "" {
		if c.At, err = practiceTime(v["at"], a.now().Location()); err != nil {
			return c, err
		}
	}
	if v["number"] != "" {
		number, err := files.setup.Pattern.Parse(v["number"])
		if err != nil {
			return c, fmt.Errorf("number %q: %w", v["number"], err)
		}
		c.Number = number.String()
	}
	if c.Took, err = tookSeconds(v["took_s"]); err != nil {
		return c, err
	}
	if v["widths_mm"] == "" {
		return c, nil
	}
	widths, err := lengthParser{unit: length.MM}.dimensions("widths_mm", v["widths_mm"])
	if err != nil {
		return c, err
	}
	m.outer, m.thickness = or(v["outer_mm"], f.outer), or(v["thickness_mm"], f.thickness)
	c.Measured, _, err = m.judge(ctx, records, widths, band, c.Dowel, c.Number)
	return c, err
}

// readBlind reads what a blind look found; nothing when there was none.
func readBlind(c *seam.PracticeClosing, text string, closure catalogue.Closure, letters map[string]rune) (err error) {
	if text == "" {
		return nil
	}
	if c.BlindLook, err = parseLook(text, closure, letters); err != nil {
		return err
	}
	c.Blind = seam.BlindFlush
	if len(c.BlindLook) > 0 {
		c.Blind = seam.BlindDefect
	}
	return nil
}

// practiceTime reads a day, or a time with or without its offset.
func practiceTime(text string, here *time.Location) (time.Time, error) {
	if t, err := time.Parse(time.RFC3339, text); err == nil {
		return t, nil
	}
	for _, layout := range []string{"2006-01-02T15:04", "2006-01-02 15:04", time.DateOnly} {
		if t, err := time.ParseInLocation(layout, text, here); err == nil {
			return t, nil
		}
	}
	return time.Time{}, fmt.Errorf("at %q is no time; write it like 2031-03-02 or 2031-03-02T10:05:00Z", text)
}

// longestClosing bounds what one closing can take.
const longestClosing = time.Hour

func tookSeconds(text string) (time.Duration, error) {
	if text == "" {
		return 0, nil
	}
	s, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	if err != nil || math.IsNaN(s) || s < 0 || s > longestClosing.Seconds() {
		return 0, errors.New("took_s is no time of a closing; write its seconds, up to 3600, or leave it empty")
	}
	return time.Duration(s * float64(time.Second)).Round(time.Millisecond), nil
}
