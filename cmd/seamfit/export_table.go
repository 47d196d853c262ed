package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"seamfit/internal/catalogue"
	"seamfit/internal/export"
	"seamfit/internal/store"
)

// exportTable writes one row a bird through the user's map, and marks the rows
// as submitted when that was asked for.
func (a *app) exportTable(ctx context.Context, records *store.Store, e exporting) error {
	if e.mark && records.Training() {
		return errors.New("training records are never submitted; name the bench's own file with --db, or leave out --mark-submitted")
	}
	data, err := os.ReadFile(e.mapFile)
	if err != nil {
		return fmt.Errorf("read the map: %w; check --map", err)
	}
	m, err := export.ReadMap(data, e.mapFile)
	if err != nil {
		return err
	}
	birds, unfinished, err := a.tableOf(ctx, records, m, e)
	if err != nil {
		return err
	}
	if !e.mark {
		if err := a.exporting(ctx, records, e, func(s export.Source, _ *store.View) error { return birds.Write(s, m, e.out, nil) }); err != nil {
			return err
		}
		if unfinished != nil {
			if err := a.printNote("submission %d through this map is marked, and its files are not known to be in their place; run with --mark-submitted first, which writes them again", unfinished.place); err != nil {
				return err
			}
		}
		return a.exportedTable(e, birds, 0, records.Training())
	}
	if len(birds.Entries) == 0 {
		return errors.New("there is nothing new or corrected to hand in; nothing was marked, and no files were left")
	}
	return a.submit(ctx, records, m, e, birds, unfinished)
}

// unfinishedSubmission is one that was marked and whose files are not known to
// be in their place: the program ended between the two.
type unfinishedSubmission struct {
	*store.Submission
	place int64
}

// tableOf reads the birds through a map. Where a submission is unfinished and
// rows are to be marked, its rows come instead of what is new; one whose folder
// is there was only not noted, and is noted now.
func (a *app) tableOf(ctx context.Context, records *store.Store, m export.Map, e exporting) (birds export.Birds, unfinished *unfinishedSubmission, err error) {
	err = a.exporting(ctx, records, e, func(s export.Source, v *store.View) error {
		sub, place, err := v.Unfinished(ctx, m.Name)
		if err != nil {
			return err
		}
		if sub != nil {
			unfinished = &unfinishedSubmission{sub, place}
		}
		birds, err = export.ReadBirds(ctx, s, m, v)
		return err
	})
	if err != nil || unfinished == nil {
		return birds, unfinished, err
	}
	switch there := holdsFilesOf(unfinished.Folder, unfinished.ID); {
	case there && e.mark:
		return birds, nil, records.SubmissionOut(ctx, unfinished.ID, unfinished.Folder, a.now())
	case there:
		return birds, nil, nil
	case !e.mark:
		return birds, unfinished, nil
	}
	entries, was := make([]export.Entry, len(unfinished.Birds)), make([][]string, len(unfinished.Birds))
	for i, b := range unfinished.Birds {
		entries[i], was[i] = export.Entry{Handling: b.Handling, Change: export.Change(b.Change), Row: b.Fields}, b.Was
	}
	birds.Again(unfinished.Columns, entries, was)
	return birds, unfinished, nil
}

// holdsFilesOf reports whether a folder holds the files of a submission.
func holdsFilesOf(folder, id string) bool {
	data, err := os.ReadFile(filepath.Join(folder, export.CounterfoilFile))
	var counterfoil export.Counterfoil
	return err == nil && json.Unmarshal(data, &counterfoil) == nil && counterfoil.ID == id
}

// submit marks rows as handed in and writes their files, or writes those of a
// submission that was marked before. The order is: files under a temporary
// name, mark, name, note. Wherever it ends, the rows are marked at most once,
// and the next run writes what is marked and not there.
func (a *app) submit(ctx context.Context, records *store.Store, m export.Map, e exporting, birds export.Birds, unfinished *unfinishedSubmission) error {
	folder, err := filepath.Abs(e.out)
	if err != nil {
		return fmt.Errorf("find the place of %q: %w; name it in full with --out", e.out, err)
	}
	sub, place := store.Submission{ID: a.newID(), Map: m.Name, Columns: birds.Columns, At: a.now(), By: e.by, Folder: folder}, int64(0)
	if unfinished != nil {
		sub, place = *unfinished.Submission, unfinished.place
	}
	mark := func() (export.Counterfoil, error) {
		if unfinished == nil {
			for _, b := range birds.Entries {
				sub.Birds = append(sub.Birds, store.SubmittedBird{Handling: b.Handling, Change: string(b.Change), Fields: b.Row})
			}
			saved, err := records.SaveSubmission(ctx, sub)
			if err != nil {
				return export.Counterfoil{}, err
			}
			place = saved
		}
		return export.Counterfoil{ID: sub.ID, Map: sub.Map, Place: place, At: sub.At.Format(time.RFC3339), By: sub.By}, nil
	}
	if err := a.exporting(ctx, records, e, func(s export.Source, _ *store.View) error { return birds.Write(s, m, e.out, mark) }); err != nil {
		if place > 0 {
			err = fmt.Errorf("submission %d is marked, and its files are not there: %w; run the same again, which writes them", place, err)
		}
		return err
	}
	if err := records.SubmissionOut(ctx, sub.ID, folder, a.now()); err != nil {
		return err
	}
	if unfinished != nil {
		if err := a.printNote("submission %d was marked on %s, and its files had not come to their place: these are its rows; run again for what is new since", place, sub.At.Format("2006-01-02 15:04")); err != nil {
			return err
		}
	}
	return a.exportedTable(e, birds, place, records.Training())
}

// printNote says something beside a result; standard output has the result to
// itself.
func (a *app) printNote(format string, args ...any) error {
	_, err := fmt.Fprintf(a.stderr, "seamfit: %s\n", catalogue.Printable(fmt.Sprintf(format, args...)))
	return err
}

func (a *app) exportedTable(e exporting, b export.Birds, place int64, training bool) error {
	fresh, corrected, withdrawn := b.Count(export.New), b.Count(export.Corrected), b.Count(export.Withdrawn)
	if a.json() {
		return a.writeJSON(map[string]any{
			"as": e.as, "out": e.out, "training": training, "new": fresh, "corrected": corrected, "withdrawn": withdrawn,
			"open": len(b.Open), "disputed": len(b.Disputed), "submission": place,
		})
	}
	if err := a.exported(e, training); err != nil {
		return err
	}
	if err := a.printf("%d new, %d corrected, %d withdrawn; apart: %d open, %d disputed\n", fresh, corrected, withdrawn, len(b.Open), len(b.Disputed)); err != nil {
		return err
	}
	if place > 0 {
		return a.printf("marked as submission %d\n", place)
	}
	return nil
}
