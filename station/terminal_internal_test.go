package station

import (
	"errors"
	"testing"
	"time"

	"github.com/gdamore/tcell/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/grid"
)

func at(second int) func() time.Time {
	return func() time.Time { return time.Date(2031, 5, 17, 6, 40, second, 0, time.UTC) }
}

func simulated(t *testing.T) (*Terminal, tcell.SimulationScreen) {
	t.Helper()
	screen := tcell.NewSimulationScreen("UTF-8")
	require.NoError(t, screen.Init())
	screen.SetSize(20, 3)
	term := startTerminal(screen, at(1))
	t.Cleanup(term.Close)
	return term, screen
}

// next returns the next input that is no resize.
func next(t *testing.T, term *Terminal) Event {
	t.Helper()
	limit := time.NewTimer(5 * time.Second)
	defer limit.Stop()
	for {
		select {
		case e, ok := <-term.Inputs():
			if _, resize := e.(Resize); resize && ok {
				continue
			}
			return e
		case <-limit.C:
			t.Fatal("no input arrives")
		}
	}
}

func TestTerminalNamesKeys(t *testing.T) {
	term, screen := simulated(t)
	for _, c := range []struct {
		key  tcell.Key
		char rune
		mod  tcell.ModMask
		code Code
		want rune
	}{
		{tcell.KeyRune, 'é', 0, CodeRune, 'é'},
		{tcell.KeyRune, 'F', tcell.ModShift, CodeRune, 'F'},
		{tcell.KeyRune, 'f', tcell.ModAlt, CodeOther, 0},
		{tcell.KeyCtrlO, 0, tcell.ModCtrl, CodeControl, 'o'},
		{tcell.KeyCtrlJ, 0, tcell.ModCtrl, CodeControl, 'j'},
		{tcell.KeyRune, 'q', tcell.ModCtrl, CodeControl, 'q'},
		{tcell.KeyEnter, 0, 0, CodeEnter, 0},
		{tcell.KeyTab, 0, 0, CodeTab, 0},
		{tcell.KeyBacktab, 0, 0, CodeBackTab, 0},
		{tcell.KeyBackspace2, 0, 0, CodeBackspace, 0},
		{tcell.KeyDelete, 0, 0, CodeDelete, 0},
		{tcell.KeyEscape, 0, 0, CodeEscape, 0},
		{tcell.KeyUp, 0, 0, CodeUp, 0},
		{tcell.KeyDown, 0, 0, CodeDown, 0},
		{tcell.KeyLeft, 0, 0, CodeLeft, 0},
		{tcell.KeyRight, 0, 0, CodeRight, 0},
		{tcell.KeyF1, 0, 0, CodeF1, 0},
		{tcell.KeyF8, 0, 0, CodeF8, 0},
		{tcell.KeyF9, 0, 0, CodeF9, 0},
		{tcell.KeyF12, 0, 0, CodeOther, 0},
		{tcell.KeyHome, 0, 0, CodeOther, 0},
	} {
		screen.InjectKey(c.key, c.char, c.mod)
		got, ok := next(t, term).(Key)
		require.True(t, ok)
		assert.Equal(t, Key{Moment: Moment{At: at(1)()}, Code: c.code, Rune: c.want}, got)
	}
}

func TestTerminalCollectsAPaste(t *testing.T) {
	term, screen := simulated(t)
	post := func(e tcell.Event) { require.NoError(t, screen.PostEvent(e)) }
	post(tcell.NewEventPaste(true))
	post(tcell.NewEventKey(tcell.KeyRune, 'a', 0))
	post(tcell.NewEventKey(tcell.KeyEnter, 0, 0))
	post(tcell.NewEventKey(tcell.KeyRune, 'b', 0))
	post(tcell.NewEventPaste(false))
	assert.Equal(t, Paste{Moment: Moment{At: at(1)()}, Text: "a b"}, next(t, term))
	post(tcell.NewEventPaste(false)) // an end without a beginning is nothing
	post(tcell.NewEventKey(tcell.KeyRune, 'c', 0))
	assert.Equal(t, 'c', next(t, term).(Key).Rune)
}

func TestTerminalDraws(t *testing.T) {
	term, screen := simulated(t)
	g := grid.New(20, 3)
	g.All().Put(0, 1, "鳥 8.42", grid.Style{Fore: grid.Red, Back: grid.Black, Bold: true, Reverse: true})
	g.All().Cursor(7, 1)
	term.Draw(g)
	cells, width, _ := screen.GetContents()
	assert.Equal(t, []rune{'鳥'}, cells[width].Runes)
	assert.Equal(t, []rune{'8'}, cells[width+3].Runes)
	fore, back, attrs := cells[width].Style.Decompose()
	assert.Equal(t, tcell.ColorMaroon, fore, "palette colour 1")
	assert.Equal(t, tcell.ColorBlack, back)
	assert.Equal(t, tcell.AttrBold|tcell.AttrReverse, attrs)
	x, y, shown := screen.GetCursor()
	assert.Equal(t, []any{7, 1, true}, []any{x, y, shown})
	term.Draw(grid.New(20, 3))
	_, _, shown = screen.GetCursor()
	assert.False(t, shown)
	term.Bell(2)
}

func TestTerminalThatHangsUpEndsTheInputs(t *testing.T) {
	term, screen := simulated(t)
	require.NoError(t, screen.PostEvent(tcell.NewEventError(errors.New("input/output error"))))
	assert.Nil(t, next(t, term))
	term.Close()
}

// With more keys waiting than the terminal's queue holds, giving it back still
// ends, and soon.
func TestCloseWithUnreadKeys(t *testing.T) {
	term, screen := simulated(t)
	go func() {
		for range 400 {
			if screen.PostEvent(tcell.NewEventKey(tcell.KeyRune, 'x', 0)) != nil {
				return
			}
		}
	}()
	began := time.Now()
	term.Close()
	term.Close()
	assert.Less(t, time.Since(began), finishLimit)
	term.Bell(1) // nothing happens any more
}

func TestTerminalsThatCanNotShowTheStation(t *testing.T) {
	for _, term := range []string{"", "dumb"} {
		_, err := OpenTerminal(term, time.Now)
		var refused *TerminalError
		require.ErrorAs(t, err, &refused)
		assert.Contains(t, err.Error(), "TERM")
		assert.Contains(t, err.Error(), "xterm-256color")
	}
	assert.Contains(t, initFailed(tcell.ErrNoCharset).Error(), "set LANG")
	cause := errors.New("no such device")
	assert.ErrorIs(t, initFailed(cause), cause)
	assert.Contains(t, initFailed(cause).Error(), "terminal window")
}
