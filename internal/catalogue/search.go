package catalogue

import (
	"math"
	"math/bits"
	"strings"
	"unicode"
)

// finder finds species by their names, and by any part of them. It is built
// once for a book and only read afterwards.
//
// Names share many words ("gull", "larus"), so a query's words are compared
// with each different word once, and species look the results up.
type finder struct {
	words   []nameWord
	entries []entry
	named   map[string]int // the first species of each name, by nameKey
}

// nameKey is what a name is known by: its words, in either case. Two names have
// the same key when strings.EqualFold calls them equal.
func nameKey(name string) string {
	return strings.Map(func(r rune) rune {
		least := r
		for other := unicode.SimpleFold(r); other != r; other = unicode.SimpleFold(other) {
			least = min(least, other)
		}
		return least
	}, strings.Join(strings.Fields(name), " "))
}

// nameWord is one word that occurs in names.
type nameWord struct {
	text    string
	letters letters
}

// entry is one species' names as the search sees them.
type entry struct {
	names string // folded, each between line feeds
	words []int  // places in finder.words
}

func newFinder(species []Species) *finder {
	f := &finder{entries: make([]entry, len(species)), named: make(map[string]int, 2*len(species))}
	places := map[string]int{}
	for i := range species {
		s := &species[i]
		var b strings.Builder
		for _, name := range s.names() {
			key := nameKey(name)
			if _, taken := f.named[key]; !taken && key != "" {
				f.named[key] = i
			}
		}
		for _, name := range append(s.names(), s.EURING) {
			words := strings.Fields(fold(name))
			b.WriteByte('\n')
			b.WriteString(strings.Join(words, " "))
			for _, text := range words {
				place, known := places[text]
				if !known {
					place = len(f.words)
					places[text] = place
					f.words = append(f.words, nameWord{text: text, letters: lettersOf(text)})
				}
				f.entries[i].words = append(f.entries[i].words, place)
			}
		}
		b.WriteByte('\n')
		f.entries[i].names = b.String()
	}
	return f
}

// best returns the indices of the up to n entries in which every word of the
// query occurs, best first, those of equal worth in the book's order.
func (f *finder) best(query string, n int) []int {
	if n <= 0 {
		return nil
	}
	fields := strings.Fields(fold(query))
	phrase := "\n" + strings.Join(fields, " ")
	worths := make([][]uint8, len(fields))
	for i, text := range fields {
		worths[i] = f.worthOf(text)
	}
	type hit struct{ index, worth int }
	hits := make([]hit, 0, min(n, len(f.entries))+1)
	for i := range f.entries {
		limit := math.MaxInt
		if len(hits) == n {
			limit = hits[n-1].worth
		}
		worth := f.entries[i].worth(worths, phrase, limit)
		if worth >= limit {
			continue
		}
		at := len(hits)
		for at > 0 && hits[at-1].worth > worth {
			at--
		}
		hits = append(hits, hit{})
		copy(hits[at+1:], hits[at:])
		hits[at] = hit{i, worth}
		hits = hits[:min(len(hits), n)]
	}
	found := make([]int, len(hits))
	for k, h := range hits {
		found[k] = h.index
	}
	return found
}

// What a match of one word of the query is worth; less is better.
const (
	wholeWord   = 0
	startOfWord = 1
	insideWord  = 3
	perTypo     = 8 // on top of insideWord, for each typing error
	noMatch     = math.MaxUint8

	// What is taken off when the words stand together as typed: as a whole
	// name, or at the start of one.
	asName  = 2
	asStart = 1
)

// worth adds up what the words of the query are worth in this entry. When one
// of them does not occur, or the sum can't be below limit, it returns
// math.MaxInt.
func (e *entry) worth(worths [][]uint8, phrase string, limit int) int {
	sum := 0
	for _, worthOf := range worths {
		least := uint8(noMatch)
		for _, place := range e.words {
			least = min(least, worthOf[place])
		}
		if sum += int(least); least == noMatch || sum-asName >= limit {
			return math.MaxInt
		}
	}
	switch at := strings.Index(e.names, phrase); {
	case at < 0:
	case strings.Contains(e.names[at:], phrase+"\n"):
		sum -= asName
	default:
		sum -= asStart
	}
	return sum
}

// worthOf compares one word of a query with every word of the names.
func (f *finder) worthOf(text string) []uint8 {
	w := newTyped(text)
	worths := make([]uint8, len(f.words))
	for i := range f.words {
		worths[i] = w.worthIn(&f.words[i])
	}
	return worths
}

// typed is one word of a query, made ready for matching with errors.
type typed struct {
	text    string
	letters letters
	typos   int             // errors that are let pass
	masks   [classes]uint64 // for each class, the places where it stands
}

func newTyped(text string) *typed {
	w := &typed{text: text, letters: lettersOf(text)}
	switch {
	case len(text) > 64: // wider than the machine word that matching uses
	case len(text) >= 8:
		w.typos = 2
	case len(text) >= 4:
		w.typos = 1
	}
	for place := range min(len(text), 64) {
		w.masks[class(text[place])] |= 1 << place
	}
	return w
}

func (w *typed) worthIn(name *nameWord) uint8 {
	lacking := bits.OnesCount64(uint64(w.letters &^ name.letters))
	if lacking == 0 {
		switch i := strings.Index(name.text, w.text); {
		case i == 0 && len(w.text) == len(name.text):
			return wholeWord
		case i == 0:
			return startOfWord
		case i > 0:
			return insideWord
		}
	}
	// One error brings at most one letter that the name lacks.
	if w.typos == 0 || lacking > w.typos || len(name.text) < len(w.text)-w.typos {
		return noMatch
	}
	// A longer beginning of the name could only have more letters put in.
	errors := w.typosIn(name.text[:min(len(name.text), len(w.text)+w.typos)])
	if errors > w.typos {
		return noMatch
	}
	return uint8(insideWord + perTypo*errors)
}

// typosIn returns the fewest typing errors with which name begins with w:
// letters left out, put in, mistaken, or two neighbours swapped (optimal
// string alignment of w with the best beginning of name). The bit-parallel
// way of Hyyrö 2003, "A bit-vector algorithm for computing Levenshtein and
// Damerau edit distances", Nordic J. Computing 10:29–39; w has at most 64
// bytes.
func (w *typed) typosIn(name string) int {
	last := uint64(1) << (len(w.text) - 1)
	plus, minus := ^uint64(0), uint64(0)
	diagonal, before := uint64(0), uint64(0)
	distance := len(w.text)
	least := distance
	for i := range len(name) {
		here := w.masks[class(name[i])]
		swapped := ((^diagonal & here) << 1) & before
		diagonal = (((here & plus) + plus) ^ plus) | here | minus | swapped
		up := minus | ^(diagonal | plus)
		down := plus & diagonal
		if up&last != 0 {
			distance++
		}
		if down&last != 0 {
			distance--
		}
		least = min(least, distance)
		up = up<<1 | 1
		down <<= 1
		plus = down | ^(diagonal | up)
		minus = diagonal & up
		before = here
	}
	return least
}

const classes = 37

// class numbers letters and digits; all other bytes are of one class.
func class(c byte) int {
	switch {
	case c >= 'a' && c <= 'z':
		return int(c - 'a')
	case c >= '0' && c <= '9':
		return int(c-'0') + 26
	default:
		return classes - 1
	}
}

// letters is the set of classes that occur in a word.
type letters uint64

func lettersOf(s string) letters {
	var set letters
	for i := range len(s) {
		set |= 1 << class(s[i])
	}
	return set
}
