package station_test

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/charmap"

	"seamfit/internal/bench"
	"seamfit/internal/grid"
	"seamfit/station"
)

var update = flag.Bool("update", false, "write the golden screens anew; read them before committing")

// golden compares text with a file of testdata/screens.
func golden(t *testing.T, name, text string) {
	t.Helper()
	path := filepath.Join("..", "testdata", "screens", name+".txt")
	if *update {
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
		return
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err, "run with -update to write it")
	assert.Equal(t, string(want), text)
}

// screens are the states of which the pictures are kept: each step, each
// refusal, each trouble.
func screens(t *testing.T) map[string]*rig {
	t.Helper()
	return map[string]*rig{
		"front-cautions":        open(t, bench.State{Setup: setup(t)}, options()),
		"front-training":        training(t),
		"late-sheet":            late(t, nil).keys("2031-05-16 05:40", "Enter", "Ola"),
		"late-caught":           sheet(t).keys("F2", "6:0"),
		"late-leg":              onSheet(t),
		"late-shift":            late(t, shift()).keys("2031-05-17", "Enter", "Ola Brent", "Enter"),
		"front-usual":           usualShift(t),
		"shift-page":            newRig(t).keys("Ctrl+p", "i", "balance, B-2, checked", "Enter", "n", "Jon Arve", "Enter", "t"),
		"shift-watch":           newRig(t).keys("Ctrl+p", "w", "06:43:10"),
		"shift-watch-apart":     newRig(t).keys("Ctrl+p", "w", "06:43:10", "Enter", "Esc", "F2"),
		"front-shift":           open(t, bench.State{Setup: setup(t)}, options()).keys("Enter", "Hollow Skerry", "Enter", "Mira"),
		"front-no-bird":         newRig(t),
		"bird-species":          newRig(t).keys("F2", "plover", "Down"),
		"bird-species-unlisted": newRig(t).keys("F2", "rock wren"),
		"bird-age":              newRig(t).keys("F2", "common tern", "Enter"),
		"bird-again":            newRig(t).told().keys("BackTab"),
		"bird-nest":             newRig(t).told().keys("BackTab", "n", "Burrow 7"),
		"bird-captured":         newRig(t).told().keys("BackTab", "n", "Burrow 7", "Enter", "t", "4", "Enter", "t", "6:3"),
		"leg-further":           measures(t).told().keys("m", "1", "421", "Enter"),
		"leg-further-measure":   measures(t).told().keys("m", "1", "42"),
		"leg-further-reason":    measures(t).told().keys("m", "1", "421", "Enter", "1", "412", "Enter"),
		"seam-trainee":          taught(t).flush().keys("e", "r", "a", "i", "001", "Enter"),
		"seam-supervisor":       taught(t).flush().keys("v"),
		"seam-supervised-look":  taught(t).flush().keys("e", "r", "a", "i", "001", "Enter", "v", "Enter", "b"),
		"seam-supervised":       taught(t).flush().keys("e", "r", "a", "i", "001", "Enter", "v", "Enter", "f", "BackTab"),
		"seam-supervised-gap":   taught(t).flush().keys("v", "Enter", "g", "Enter"),
		"leg-first":             newRig(t).told(),
		"leg-second":            newRig(t).told().readings(302),
		"leg-disagree":          newRig(t).told().readings(302, 301, 341),
		"leg-set-aside":         newRig(t).told().readings(302, 301, 341).keys("x", "3", "jaws on the joint"),
		"leg-gauge":             newRig(t).keys("F2", "herring gull larus arg", "Enter", "a", "u", "r", "g", "6"),
		"leg-lower-stop":        newRig(t).told().readings(302, 301).keys("l"),
		"size-slips":            newRig(t).told().keys("l").readings(380).keys("u").readings(412).readings(302, 301, 303),
		"size-stop":             newRig(t).told().keys("u").readings(298).readings(302, 301, 303),
		"size-cross":            newRig(t).told().keys("c").readings(331).readings(302, 301, 303),
		"size-oval":             newRig(t).told().keys("c").readings(284).readings(302, 301, 303),
		"size-tall":             newRig(t).told().keys("s").readings(820).keys("o").readings(310).readings(302, 301, 303),
		"size-metal-soft":       newRig(t).gull().keys("1", "a", "no hard metal left", "Enter", "BackTab", "w"),
		"size-closure-barred":   newRig(t).keys("F2", "great horned", "Enter", "a", "u", "r").readings(422, 421, 423).keys("1", "a", "none with a tab", "Enter", "BackTab", "w"),
		"size-known-range":      outOfRange(t),
		"size-discontinued":     newRig(t).keys("F2", "rock wren", "Right", "a", "u", "r").readings(175, 174, 176),
		"size-gauge":            newRig(t).keys("F2", "herring gull larus arg", "Enter", "a", "u", "r", "g", "6", "Enter"),
		"leg-feathers":          newRig(t).keys("F2", "great horned", "Enter", "a", "f", "r", "f").readings(1204, 1206),
		"size-young":            newRig(t).keys("F2", "herring gull larus arg", "Enter", "n", "u", "r").readings(452, 451, 453),
		"size-warnings":         newRig(t).keys("F2", "herring gull larus arg", "Enter", "n", "u", "r").readings(452, 451, 493).keys("Tab", "w"),
		"leg-typed":             newRig(t).told().keys("t", "3,02"),
		"size":                  newRig(t).measured(),
		"size-borderline":       newRig(t).keys("F2", "piping", "Enter", "a", "f", "r").readings(259, 260, 259),
		"size-history":          withHistory(t).told().readings(302, 301, 303),
		"leg-history":           withHistory(t).told().readings(302),
		"size-history-far":      withHistory(t).told().readings(352, 351, 353),
		"size-metal":            newRig(t).measured().keys("1"),
		"size-metal-hard":       newRig(t).gull().keys("1"),
		"size-metal-wear":       newRig(t).keys("F2", "razorbill", "Enter", "a", "u", "r").readings(622, 620, 621).keys("1"),
		"size-metal-own-wear":   ownWear(t).keys("F2", "razorbill", "Enter", "a", "u", "r").readings(622, 620, 621).keys("1"),
		"size-no-metal":         newRig(t).keys("F2", "turkey vulture", "Enter", "a", "u", "r").readings(1022, 1020, 1021),
		"size-above-joint":      newRig(t).keys("F2", "american avocet", "Enter", "a", "u", "r").readings(402, 400, 401),
		"size-one-reading":      newRig(t).told().readings(302).keys("Tab"),
		"size-disagree":         newRig(t).told().readings(302, 301, 341).keys("Tab"),
		"size-not-round":        notRound(t),
		"size-unlisted":         newRig(t).keys("F2", "rock wren", "Right", "a", "u", "r").readings(302, 301, 303),
		"size-closure":          newRig(t).gull().keys("1", "c"),
		"size-chosen":           newRig(t).gull().keys("1", "s", "BackTab"),
		"size-reason":           newRig(t).measured().keys("2", "a", "the list"),
		"size-tight-again":      newRig(t).measured().keys("3", "a", "no other size here", "Enter"),
		"size-not-measured":     newRig(t).told().keys("Tab"),
		"number":                newRig(t).sized().keys("1232-4"),
		"number-stock":          stocked(t, bench.Offer{StockKept: true, Next: "1232-40098", Left: 3, Then: "1232-40201"}),
		"number-stock-empty":    stocked(t, bench.Offer{StockKept: true, Then: "1232-40201"}),
		"number-pattern":        newRig(t).sized().keys("12-34", "Enter"),
		"number-used":           used(t),
		"number-reason":         used(t).keys("r", "read twice"),
		"number-disputed":       used(t).keys("r", "read twice", "Enter"),
		"number-found-known":    wornBefore(t, "1232-40001", known()).keys("l"),
		"number-found-unread":   wornBefore(t, "1232-400?1", many()...),
		"number-found":          newRig(t).measured().keys("F4", "1232-4?001", "Enter", "l", "worn, readable", "Enter", "Enter"),
		"seam-look":             newRig(t).numbered().keys("g", "c"),
		"seam-marked":           newRig(t).numbered().keys("g", "f"),
		"seam-gap":              newRig(t).numbered().keys("g", "Enter"),
		"seam-many-closings":    newRig(t).numbered().keys("g", "Enter", "o", "Enter", "g", "s", "Enter", "g", "Enter"),
		"seam-statements":       newRig(t).flush().keys("e", "a"),
		"number-bands-tried":    triedTwice(t).keys("1232-40003", "Enter"),
		"front-practice":        practised(t, false),
		"size-not-practised":    practised(t, true).told().readings(302, 301, 303).keys("1", "a"),
		"spot-width":            takenOff(t).keys("Ctrl+k", "12,10", "Enter", "12.42", "Enter"),
		"spot-gap":              takenOff(t).keys("Ctrl+k", "12.10", "Enter").readings(1242, 1240, 1238),
		"spot-step":             onLeg(t).keys("f", "Ctrl+k", "Enter").readings(1312, 1212, 1210),
		"spot-living-leg":       hard(t, "herring", "s", "1236-56701", 722, 721, 723).keys("f", "Ctrl+k"),
		"seam-close":            newRig(t).numbered(),
		"seam-close-hard-small": hard(t, "piping", "i", "1231-77051", 259, 260, 259),
		"seam-close-hard-large": hard(t, "herring", "s", "1236-56701", 722, 721, 723),
		"seam-overlap":          hard(t, "herring", "s", "1236-56701", 722, 721, 723).keys("o", "Enter"),
		"seam-spiral":           newRig(t).numbered().keys("s", "Enter"),
		"seam-taper":            newRig(t).numbered().keys("t", "Enter"),
		"seam-out-of-round":     newRig(t).numbered().keys("u", "Enter"),
		"seam-burr":             newRig(t).numbered().keys("b", "Enter"),
		"seam-stress":           newRig(t).numbered().keys("F5", "s", "panting", "Enter"),
		"seam-read-back":        newRig(t).flush().keys("e", "r", "a", "i", "00"),
		"seam-mismatch":         newRig(t).flush().keys("e", "r", "a", "i", "003", "Enter"),
		"seam-scan-read-back":   newRig(t).flush().burst("1232-40001", 5*time.Millisecond),
		"seam-removal":          newRig(t).numbered().keys("o", "Enter", "F6", "overlap"),
		"seam-removed":          newRig(t).numbered().keys("o", "Enter", "F6", "overlap", "Enter"),
		"seam-no-band":          newRig(t).sized().keys("Tab"),
		"fate":                  newRig(t).confirmed(),
		"fate-reason":           newRig(t).flush().keys("F8", "Tab", "c"),
		"fate-not-flush":        newRig(t).numbered().keys("g", "Enter", "Tab", "b"),
		"fate-missing":          newRig(t).numbered().keys("F8", "Tab", "b"),
		"fate-unconfirmed":      newRig(t).flush().keys("F8", "Tab", "c", "it struggled", "Enter"),
		"fate-no-look":          newRig(t).numbered().keys("F8", "Tab", "c", "it slipped out", "Enter"),
		"fate-band-goes-back":   newRig(t).numbered().keys("F8", "Tab", "e"),
		"seam-gone":             newRig(t).numbered().keys("g", "Enter", "F8"),
		"seam-seen-before":      newRig(t).numbered().keys("g", "Enter", "F8", "f"),
		"fate-complete":         newRig(t).fated(),
		"done":                  newRig(t).completed(),
		"refused-empty":         newRig(t).keys("F2", "F9"),
		"refused-worst":         worst(t),
		"refused-unconfirmed":   newRig(t).flush().keys("F9"),
		"refused-width":         newRig(t).told().readings(6001),
		"refused-no-bird":       newRig(t).readings(302),
		"refused-left":          newRig(t).told().keys("F8").readings(302),
		"refused-too-fast":      tooFast(t),
		"refused-by-records":    refusedByRecords(t),
		"trouble-lost":          lost(t),
		"trouble-battery":       batteryLow(t),
		"trouble-frame":         badFrame(t),
		"trouble-not-saved":     notSaved(t),
		"trouble-over-limit":    newRig(t).sized().wait(11 * time.Minute),
		"two-birds":             newRig(t).measured().keys("F2", "herring", "Enter"),
		"many-birds":            manyBirds(t),
		"page-keys":             newRig(t).sized().keys("F1"),
		"page-leave":            newRig(t).sized().keys("Ctrl+q"),
		"page-leave-unsaved":    notSaved(t).keys("Ctrl+q"),
		"leg-live":              live(t),
		"training-no-bird":      training(t).keys("Enter"),
		"training-look":         training(t).keys("Enter", "F2", "common tern", "Enter", "a", "u", "r", " ", " ", " ", "1", "a", "1232-40001", "Enter"),
	}
}

func TestScreens(t *testing.T) {
	for name, r := range screens(t) {
		for _, size := range [][2]int{{80, 24}, {120, 40}} {
			at := fmt.Sprintf("%dx%d", size[0], size[1])
			t.Run(at+"/"+name, func(t *testing.T) {
				r.send(station.Resize{Moment: r.moment(), Width: size[0], Height: size[1]})
				golden(t, at+"/"+name, r.screen().String())
			})
		}
	}
}

func TestTooSmall(t *testing.T) {
	for _, size := range [][2]int{{79, 24}, {80, 23}, {30, 8}, {12, 3}} {
		r := newRig(t).sized()
		r.send(station.Resize{Moment: r.moment(), Width: size[0], Height: size[1]})
		golden(t, fmt.Sprintf("too-small/%dx%d", size[0], size[1]), r.screen().String())
	}
	r := newRig(t).told()
	r.send(station.Resize{Moment: r.moment(), Width: 40, Height: 10})
	r.keys("F8")
	assert.False(t, r.bird().InHand(), "leaving the hand is recorded in any window")
}

// Every sign that the station draws by itself is in code page 437 (IBM, 1981;
// the table of golang.org/x/text), which the fonts of bare text consoles hold;
// code page 437 itself knows ► and its like as the pictures of control codes.
func TestSignsAreInConsoleFonts(t *testing.T) {
	known := map[rune]bool{'►': true, '▲': true, '▼': true, '○': true}
	for b := range 256 {
		known[charmap.CodePage437.DecodeByte(byte(b))] = true
	}
	for name, r := range screens(t) {
		for _, char := range r.screen().String() {
			assert.Truef(t, known[char], "%s shows %q", name, char)
		}
	}
}

// Colour never carries meaning by itself: without colours everything is told
// by words, signs and attributes, of which this is the map.
func TestWithoutColours(t *testing.T) {
	for name, r := range screens(t) {
		r.s.Options.Theme = station.ThemeNone
		g := r.screen()
		eachCell(g, func(c grid.Cell) {
			assert.Equal(t, grid.Default, c.Style.Fore, name)
			assert.Equal(t, grid.Default, c.Style.Back, name)
		})
		switch name {
		case "seam-statements", "trouble-not-saved", "trouble-over-limit", "size-tight-again":
			golden(t, "attributes/"+name, g.Marks())
		}
		marks := g.Marks()
		r.s.Options.Theme = station.ThemeColour
		assert.Equal(t, marks, r.screen().Marks(), "%s: colours change nothing but colours", name)
	}
}

func TestRedOnBlack(t *testing.T) {
	for name, r := range screens(t) {
		r.s.Options.Theme = station.ThemeRed
		eachCell(r.screen(), func(c grid.Cell) {
			assert.Equal(t, grid.Black, c.Style.Back, name)
			assert.Contains(t, []grid.Color{grid.Red, grid.BrightRed}, c.Style.Fore, name)
		})
	}
}

func eachCell(g *grid.Grid, f func(grid.Cell)) {
	w, h := g.Size()
	for y := range h {
		for x := range w {
			f(g.Cell(x, y))
		}
	}
}
