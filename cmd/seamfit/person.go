package main

import (
	"context"
	"strings"
	"unicode"
	"unicode/utf8"

	"seamfit/internal/bench"
	"seamfit/internal/store"
)

// shown refuses a text that is empty or that holds what can't be seen.
func shown(what, text string) error {
	if strings.TrimSpace(text) == "" {
		return usagef("%s is missing; give it", what)
	}
	return visible(what, text)
}

func visible(what, text string) error {
	if !utf8.ValidString(text) || strings.ContainsFunc(text, func(r rune) bool { return !unicode.IsPrint(r) }) {
		return usagef("%s %q holds a character that can't be seen; write it without", what, text)
	}
	return nil
}

// said refuses a reason that is given and says nothing, or can't be shown.
func said(what, reason string) error {
	if err := visible(what, reason); err != nil {
		return err
	}
	if blockers := bench.ReasonBlockers(reason); blockers != nil {
		return usagef("%s: %s", what, blockers[0].Mend)
	}
	return nil
}

// person returns who does something: as told, else the bander of the last
// shift; empty when neither is known. records may be nil.
func person(ctx context.Context, by string, records *store.Store) (string, error) {
	if by != "" || records == nil {
		return by, visible("--by", by)
	}
	shift, err := records.LastShift(ctx)
	if err != nil || shift == nil {
		return "", err
	}
	return shift.Bander, nil
}

// who is person where one must be known.
func (a *app) who(ctx context.Context, by string, records *store.Store) (string, error) {
	name, err := person(ctx, by, records)
	if err == nil && strings.TrimSpace(name) == "" {
		return "", usagef("--by is missing; say who does this, like --by \"A. Holm\"")
	}
	return name, err
}
