package drill

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"seamfit/internal/bench"
)

// telling is what a trainee ought to tell of a bird: its name, and the keys of
// its age and sex.
type telling struct{ name, ageKey, sexKey string }

// mistold is one thing that was told of a bird, and what it is.
type mistold struct{ what, told, is string }

// wrong returns what was told otherwise than the bird is. What has not been
// asked yet is not wrong: the leg comes last, so that after it nothing is
// still to come.
func (t telling) wrong(state bench.State, h bench.Handling) []mistold {
	if h.Bird.Species == "" {
		return nil
	}
	var all []mistold
	add := func(what, told, is string) { all = append(all, mistold{what, told, is}) }
	name := h.Bird.Species
	species, known := state.Setup.Book.SpeciesNamed(name)
	if known {
		name = cmp.Or(species.English, name)
	}
	if name != t.name {
		add("species", name, t.name)
	}
	finished := h.Bird.Leg != bench.LegUnsaid
	for _, of := range []struct{ what, told, is string }{
		{"age", h.Bird.Age, keyed(bench.Ages(), t.ageKey)},
		{"sex", h.Bird.Sex, keyed(bench.Sexes(), t.sexKey)},
	} {
		if told := cmp.Or(of.told, bench.NotKnown); told != of.is && (finished || of.told != "") {
			add(of.what, told, of.is)
		}
	}
	return all
}

// keyed returns the word that has that key, which is u for what is not known.
func keyed(words []string, key string) string {
	i := slices.IndexFunc(words, func(word string) bool { return strings.HasPrefix(word, key) })
	if i < 0 {
		return bench.NotKnown
	}
	return words[i]
}

// coached puts what was told wrongly before what the coach would say. The
// bird's questions are gone through to their end first; then nothing else is
// said until it is mended.
func (t telling) coached(h bench.Handling, state bench.State, lines []string) []string {
	wrong := t.wrong(state, h)
	if len(wrong) == 0 {
		return lines
	}
	var said []string
	keys := map[string]string{"species": "s", "age": "a", "sex": "x"}
	for _, w := range wrong {
		said = append(said, fmt.Sprintf("%s %s, and it is %s (%s)", w.what, w.told, w.is, keys[w.what]))
	}
	text := "Told wrongly: " + strings.Join(said, "; ") + ". "
	if h.Bird.Leg == bench.LegUnsaid {
		return append([]string{text + "It can be told anew after the leg."}, lines...)
	}
	return []string{text + "Go to the step bird with Shift+Tab, and tell it anew with the key in brackets."}
}
