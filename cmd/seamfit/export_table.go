package main

import (
	"context"
	"errors"
	"fmt"
	"os"

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
	var birds export.Birds
	if err := a.exporting(ctx, records, e, func(s export.Source, v *store.View) error {
		if birds, err = export.ReadBirds(ctx, s, m, v); err != nil {
			return err
		}
		return birds.Write(s, m, e.out)
	}); err != nil {
		return err
	}
	place := int64(0)
	if e.mark {
		if place, err = a.markSubmitted(ctx, records, m, birds, e.by); err != nil {
			// Files whose rows are not marked would be handed in twice.
			return errors.Join(err, os.RemoveAll(e.out))
		}
	}
	return a.exportedTable(e, birds, place, records.Training())
}

func (a *app) markSubmitted(ctx context.Context, records *store.Store, m export.Map, birds export.Birds, by string) (place int64, err error) {
	if len(birds.Entries) == 0 {
		return 0, errors.New("there is nothing new or corrected to hand in; nothing was marked, and no files were left")
	}
	s := store.Submission{ID: a.newID(), Map: m.Name, Columns: birds.Columns, At: a.now(), By: by}
	for _, b := range birds.Entries {
		s.Birds = append(s.Birds, store.SubmittedBird{Handling: b.Handling, Change: string(b.Change), Fields: b.Row})
	}
	return records.SaveSubmission(ctx, s)
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
