package station_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"seamfit/device"
	"seamfit/internal/bench"
	"seamfit/internal/drill"
	"seamfit/internal/fit"
	"seamfit/internal/grid"
	"seamfit/internal/length"
	"seamfit/station"
)

// FuzzUpdate plays a session from bytes, each byte one event, and holds what
// must hold after any of them.
func FuzzUpdate(f *testing.F) {
	f.Add([]byte("\x81common tern\x80afr\xc1\xc2\xc31a1232-40001\x80ferai001\x80\x87b\x80\x88"))
	f.Add([]byte("\x81herr\x80afl\xc1\xc1\xc16\x80y1236-56701\x80o\x80\x85overlap\x80\x81\x82\x82\x8a\x8b\x8c\x8d"))
	f.Add([]byte("\xd0\xd1\xd2\xd3\xd4\xd5\xd6\xd7\xd8\xd9\xda\x81\xe0\xe1\xe2\xe3\xf0\xf1\xf2\xf3"))
	f.Add([]byte("\x81common tern\x80afr\xc1\xc2\xc31a1232-40001\x80feraiv\x80f001\x80\x87b\x80"))
	f.Add([]byte("\x81common tern\x80afrm1\xc1n2\x807\x80t4\x80l\xc1u\xc2m1421\x80"))
	f.Add([]byte("\x802031-05-16 05:40\x80Ola\x80y\x816:05\x80common tern\x80afrt3.02\x80t3.01\x80t3.03\x801a1232-40001\x80ferai001\x80\x876:11\x80b\x80\x88")) // a sheet
	f.Add([]byte("\xa7w06:43\x80n Jon\x80ti balance,B-2\x80p56.1,-4\x80\x91\x81\xdd\xea\xf7\xde\xeb\xf8\xdf\xec\xf9"))
	set := setup(f)
	set.Further = []bench.FurtherMeasure{{Name: "wing", Unit: "mm", AtMost: 900}, {Name: "mass", Unit: "g"}}
	f.Fuzz(func(t *testing.T, session []byte) {
		play(t, set, session)
	})
}

func play(t *testing.T, set *bench.Setup, session []byte) {
	p := &player{t: t, at: morning()}
	o := options()
	o.People = []string{"Mira Tolland", "Jon Arve"}
	o.Late = len(session) > 0 && session[0] == 0x80
	start := bench.State{Setup: set, Shift: shift()}
	if len(session)%2 == 0 {
		start.Shift.People = bench.People{{Name: "Mira Tolland", Role: bench.RoleTrainee}, {Name: "Agnes Voe", Role: bench.RoleSupervisor}}
	}
	if len(session) > 0 && session[0]%5 == 0 && !o.Late {
		o.Trainer, start.Shift = drill.ThreeBirds(), nil
	}
	p.s = station.NewState(start, o, p.at)
	p.s.Width, p.s.Height = 80, 24
	for _, b := range session[:min(len(session), 400)] {
		p.byte(b)
		p.holds()
	}
	p.draws(len(session))
}

// player sends events and answers effects at random, but as the bytes say.
type player struct {
	t        *testing.T
	s        station.State
	at       time.Time
	ids      int
	events   int
	pending  []station.Event
	inFlight bool
	stored   map[string]int // the seq of the last fact that each handling has stored
	quit     bool
}

func (p *player) moment() station.Moment { return station.Moment{At: p.at} }

func (p *player) send(e station.Event) {
	if s, ok := e.(station.Saved); ok {
		p.store(s.Count)
	}
	switch e.(type) {
	case station.Saved, station.SaveFailed:
		p.inFlight = false
	}
	p.events++
	look := p.events%8 == 0 // drawing is slow
	before, was := p.s, picture(p.s, look)
	var effects []station.Effect
	p.s, effects = station.Update(p.s, e)
	require.Equal(p.t, was, picture(before, look), "Update changed the state that it was given")
	for _, effect := range effects {
		p.answer(effect)
	}
}

// picture is what a state looks like, if it is looked at.
func picture(s station.State, look bool) string {
	if !look {
		return ""
	}
	g := grid.New(120, 40)
	station.View(s, g)
	return g.String()
}

func (p *player) answer(effect station.Effect) {
	switch e := effect.(type) {
	case station.Save:
		require.False(p.t, p.inFlight, "two saves in flight")
		p.inFlight = true
		require.Equal(p.t, p.s.Queue.Facts[:len(e.Facts)], e.Facts)
		p.pending = append(p.pending, station.Saved{Moment: p.moment(), Count: len(e.Facts)})
	case station.LookUp:
		p.pending = append(p.pending, station.LookedUp{Moment: p.moment(), Ticket: e.Ticket})
	case station.Reload:
		h, _ := p.s.Bench.Handling(e.Handling)
		p.pending = append(p.pending, station.Reloaded{Moment: p.moment(), Handling: e.Handling, Record: h})
	case station.AskStock:
		p.pending = append(p.pending, station.Offered{Moment: p.moment(), Tubing: e.Tubing, Offer: p.offer(), Trouble: [...]string{"", "\x1b[2J"}[p.events%2]})
	case station.Trace:
		p.pending = append(p.pending, station.Traced{Moment: p.moment(), Tracks: station.Tracks{
			Inscription: e.Inscription, Found: []station.Track{{Number: "1232-40001", Words: []string{"\x1b[31mred\nline"}}, {}}[:p.events%3], More: p.events % 5,
		}})
	case station.LookBack:
		p.pending = append(p.pending, station.LookedBack{Moment: p.moment(), Like: e.Like, History: p.history()})
	case station.Squeeze:
		p.read(e.Width)
	case station.Quit:
		p.quit = true
	}
}

// offer is what the stock may offer: all that it can be.
func (p *player) offer() bench.Offer {
	odd := []bench.Offer{
		{},
		{StockKept: true},
		{StockKept: true, Next: "1232-40001", Left: 1, Then: "1232-40101"},
		{StockKept: true, Next: "1232-40002", Left: 60},
		{StockKept: true, Next: "\x00", Left: -1, Then: "\x1b[2J", ThenOpened: true},
	}
	return odd[p.events%len(odd)]
}

// card scans one of the bench's cards.
func (p *player) card(n byte) {
	all := bench.Cards(p.s.Bench.Setup.Book, p.s.Bench.Catalogue(), p.s.Options.People)
	word := all[(int(n)*7+p.events)%len(all)].Word
	p.send(station.Scanned{Moment: p.moment(), ID: p.moment().At.String(), Text: word})
}

// history is what earlier birds measured: anything that numbers can be.
func (p *player) history() fit.History {
	odd := []fit.History{{}, {N: 1, Median: 3}, {N: 9, Median: 3, SD: 0.1}, {N: 500, Median: 3}, {N: 2, Median: math.NaN(), SD: math.Inf(1)}, {N: 7, Median: 1e300, SD: 1e300}}
	return odd[len(p.s.Queue.Facts)%len(odd)]
}

// store notes what is on the disk: each handling's facts in order, each once.
func (p *player) store(count int) {
	if p.stored == nil {
		p.stored = map[string]int{}
	}
	for _, f := range p.s.Queue.Facts[:count] {
		key := f.Key()
		if key.Handling != "" {
			require.Equal(p.t, p.stored[key.Handling]+1, key.Seq)
			p.stored[key.Handling] = key.Seq
		}
	}
}

func (p *player) read(width length.Length) {
	p.send(station.Read{Moment: p.moment(), Reading: device.Reading{Value: width, Unit: length.MM, Resolution: 10 * length.Micrometre}})
}

func (p *player) byte(b byte) {
	p.at = p.at.Add(100 * time.Millisecond)
	switch {
	case b < 0x80:
		p.key(station.CodeRune, rune(b))
	case b < 0x98:
		codes := []station.Code{
			station.CodeEnter, station.CodeF2, station.CodeF3, station.CodeF4, station.CodeF5, station.CodeF6, station.CodeF7,
			station.CodeF8, station.CodeF9, station.CodeF1, station.CodeTab, station.CodeBackTab, station.CodeUp, station.CodeDown,
			station.CodeLeft, station.CodeRight, station.CodeBackspace, station.CodeEscape, station.CodeDelete, station.CodeOther,
		}
		p.key(codes[int(b-0x80)%len(codes)], 0)
	case b < 0xb2:
		p.key(station.CodeControl, 'a'+rune(b-0x98))
	case b < 0xc8:
		p.read(length.Length(290+int(b-0xb2)) * 10 * length.Micrometre)
	case b < 0xd0:
		p.send(station.Tick{Moment: p.moment()})
	default:
		p.odd(b - 0xd0)
	}
	if b%3 != 0 && len(p.pending) > 0 {
		e := p.pending[0]
		p.pending = p.pending[1:]
		p.send(e)
	}
}

func (p *player) key(code station.Code, char rune) {
	p.ids++
	p.send(station.Key{Moment: p.moment(), ID: time.Duration(p.ids).String(), Code: code, Rune: char})
}

// odd sends what comes seldom.
func (p *player) odd(n byte) {
	m := p.moment()
	switch n % 15 {
	case 0:
		p.send(station.Resize{Moment: m, Width: int(n) * 3, Height: int(n)})
	case 1:
		p.send(station.Linked{Moment: m, Device: station.Caliper, Trouble: "gone\x1b[2J", Mend: "plug it in"})
	case 2:
		p.send(station.Scanned{Moment: m, ID: m.At.String(), Text: "1232-4000" + string('0'+rune(n%10))})
	case 3:
		p.send(station.Paste{Moment: m, Text: "a\x1b[31m\nb"})
	case 4:
		p.fail()
	case 5:
		p.at = p.at.Add(time.Nanosecond)
	case 6:
		p.send(station.Remarked{Moment: m, Device: station.Scanner, What: "\x00\xff", Mend: "try again", Low: n%2 == 0})
	case 7:
		p.read(-5)
	case 8:
		p.at = p.at.Add(-time.Hour) // a clock that was set back
		p.send(station.Tick{Moment: p.moment()})
	case 9:
		p.at = p.at.Add(40 * time.Minute)
		p.send(station.Tick{Moment: p.moment()})
	case 10:
		p.send(station.Reloaded{Moment: m, Handling: "nobody"})
	case 12:
		p.send(station.LookedBack{Moment: m, Like: bench.Likeness{Except: "nobody"}, Trouble: "the disk is gone\x1b[2J"})
	case 13:
		p.card(n)
	case 14:
		p.refuse()
	case 11:
		p.send(station.Squeezed{Moment: m, Trouble: "closed"})
	}
}

// fail turns the save that is in flight into a failure.
func (p *player) fail() {
	i := slices.IndexFunc(p.pending, func(e station.Event) bool { _, ok := e.(station.Saved); return ok })
	if i < 0 {
		return
	}
	saved := p.pending[i].(station.Saved)
	p.pending = slices.Delete(p.pending, i, i+1)
	p.send(station.SaveFailed{Moment: p.moment(), Count: saved.Count, What: "no", Mend: "mend"})
}

// refuse has the records refuse the save that is in flight.
func (p *player) refuse() {
	i := slices.IndexFunc(p.pending, func(e station.Event) bool { _, ok := e.(station.Saved); return ok })
	if i < 0 || p.s.Queue.Facts[0].Key().Handling != "" {
		return // a handling that is refused is read again: its facts are another test's
	}
	saved := p.pending[i].(station.Saved)
	p.pending = slices.Delete(p.pending, i, i+1)
	p.send(station.SaveFailed{Moment: p.moment(), Count: saved.Count, Refused: true, What: "no"})
}

// holds checks what must hold after every event.
func (p *player) holds() {
	s := p.s
	for _, h := range s.Bench.Handlings {
		if h.Complete && !h.Disputed() {
			require.Empty(p.t, bench.Blockers(h, s.Bench.Setup.Book), "complete with a blocker")
		}
		require.Contains(p.t, s.Order, h.ID)
	}
	if h, ok := s.Bench.ActiveHandling(); ok {
		require.Equal(p.t, h.ID, s.Desk.Handling, "the desk is not the active bird's")
	}
	seen := map[string]bool{s.Desk.Handling: true}
	for _, d := range s.Parked {
		require.False(p.t, seen[d.Handling], "two desks for one bird")
		seen[d.Handling] = true
	}
	require.LessOrEqual(p.t, s.Queue.InFlight, len(s.Queue.Facts))
	last := map[string]int{}
	for _, f := range s.Queue.Facts {
		key := f.Key()
		require.Greater(p.t, key.Seq, last[key.Handling], "facts out of order")
		if key.Handling != "" {
			last[key.Handling] = key.Seq
		}
	}
}

// draws checks that the view stays within any grid and shows no control
// character.
func (p *player) draws(seed int) {
	r := rand.New(rand.NewPCG(uint64(seed), 1))
	for _, size := range [][2]int{{80, 24}, {120, 40}, {r.IntN(200), r.IntN(60)}, {0, 0}, {1, 1}} {
		g := grid.New(size[0], size[1])
		station.View(p.s, g)
		for _, row := range g.Lines() {
			require.LessOrEqual(p.t, grid.Width(row), size[0])
			require.False(p.t, strings.ContainsFunc(row, func(c rune) bool { return c < ' ' || c == 0x7f || c >= 0x80 && c < 0xa0 }))
		}
	}
}
