package station

import (
	"errors"
	"fmt"
	"runtime"
	"sync"
	"sync/atomic"
	"time"

	"github.com/gdamore/tcell/v2"

	"seamfit/internal/grid"
)

// TerminalError is a terminal that the station can't be shown on.
type TerminalError struct {
	What string
	Mend string
	Err  error
}

// Error returns "what went wrong; how to mend it".
func (e *TerminalError) Error() string { return e.What + "; " + e.Mend }

// Unwrap returns the cause.
func (e *TerminalError) Unwrap() error { return e.Err }

// Terminal is the Screen on a real terminal.
type Terminal struct {
	screen tcell.Screen
	clock  func() time.Time
	inputs chan Event    // closed by poll when the terminal ends; nothing is dropped
	quit   chan struct{} // closed by Close
	once   sync.Once
	closed chan struct{} // closed when the terminal is as it was found

	shown   []grid.Cell // what was drawn last, row after row
	width   int         // of its rows
	resized atomic.Bool // the terminal may have forgotten what was drawn
}

// OpenTerminal takes the terminal that the program was started in. term is the
// environment's TERM. Its errors are *TerminalError.
func OpenTerminal(term string, clock func() time.Time) (*Terminal, error) {
	screen, err := newScreen(term)
	if err != nil {
		return nil, err
	}
	if err := screen.Init(); err != nil {
		return nil, initFailed(err)
	}
	return startTerminal(screen, clock), nil
}

func startTerminal(screen tcell.Screen, clock func() time.Time) *Terminal {
	screen.EnablePaste()
	for char, plain := range fallbacks() {
		screen.RegisterRuneFallback(char, plain)
	}
	t := &Terminal{
		screen: screen, clock: clock,
		inputs: make(chan Event), quit: make(chan struct{}), closed: make(chan struct{}),
	}
	go t.poll()
	return t
}

func newScreen(term string) (tcell.Screen, error) {
	if runtime.GOOS == "windows" {
		screen, err := tcell.NewScreen()
		if err != nil {
			return nil, &TerminalError{What: "no console", Mend: "start it in a console window", Err: err}
		}
		return screen, nil
	}
	if term == "" || term == "dumb" {
		return nil, &TerminalError{
			What: fmt.Sprintf("this terminal (TERM is %q) can't show a full screen", term),
			Mend: "start it in a terminal window, or set TERM to what the terminal is, often xterm-256color",
		}
	}
	info, err := tcell.LookupTerminfo(term)
	if err != nil {
		if info, err = tcell.LookupTerminfo("xterm-256color"); err != nil {
			return nil, &TerminalError{
				What: fmt.Sprintf("the terminal %q is not known here", term),
				Mend: "set TERM to what the terminal is, often xterm-256color", Err: err,
			}
		}
	}
	screen, err := tcell.NewTerminfoScreenFromTtyTerminfo(nil, info)
	if err != nil {
		return nil, initFailed(err)
	}
	return screen, nil
}

func initFailed(err error) error {
	if errors.Is(err, tcell.ErrNoCharset) {
		return &TerminalError{What: "the character set of this environment is not known", Mend: "set LANG to one in UTF-8, such as C.UTF-8", Err: err}
	}
	return &TerminalError{What: fmt.Sprintf("no terminal to show the station on (%v)", err), Mend: "start it in a terminal window, without redirecting it", Err: err}
}

// fallbacks are what character sets without these signs show.
func fallbacks() map[rune]string {
	return map[rune]string{
		'►': ">", '√': "v", '○': "o", '■': "*", '±': "~", '·': ".", '»': ">", '█': "#", '░': ":", '│': "|", '─': "-",
	}
}

// Inputs implements Screen.
func (t *Terminal) Inputs() <-chan Event { return t.inputs }

// Size implements Screen.
func (t *Terminal) Size() (width, height int) { return t.screen.Size() }

// Draw implements Screen. Only cells that have changed are handed to the
// terminal library, which is slow with each.
func (t *Terminal) Draw(g *grid.Grid) {
	width, height := g.Size()
	if t.resized.Swap(false) || width != t.width || len(t.shown) != width*height {
		t.width, t.shown = width, make([]grid.Cell, width*height)
	}
	for y := range height {
		for x := range width {
			cell, was := g.Cell(x, y), &t.shown[y*width+x]
			if cell != *was && cell.Text != "" {
				t.screen.Put(x, y, cell.Text, styleOf(cell.Style))
			}
			*was = cell
		}
	}
	if g.CursorX >= 0 {
		t.screen.ShowCursor(g.CursorX, g.CursorY)
	} else {
		t.screen.HideCursor()
	}
	t.screen.Show()
}

// bellGap keeps two strokes apart, or an ear hears one.
const bellGap = 180 * time.Millisecond

// Bell implements Screen.
func (t *Terminal) Bell(strokes int) {
	select {
	case <-t.quit:
		return
	default:
	}
	_ = t.screen.Beep() // a terminal without a bell is no trouble
	if strokes < 2 {
		return
	}
	time.AfterFunc(bellGap, func() {
		select {
		case <-t.quit:
		default:
			_ = t.screen.Beep()
		}
	})
}

// finishLimit is the longest that giving the terminal back may take: with
// many keys unread it can hang.
const finishLimit = 2 * time.Second

// Close implements Screen.
func (t *Terminal) Close() {
	t.once.Do(func() {
		close(t.quit)
		go func() {
			defer close(t.closed)
			t.screen.Fini()
		}()
	})
	limit := time.NewTimer(finishLimit)
	defer limit.Stop()
	select {
	case <-t.closed:
	case <-limit.C:
	}
}

// poll hands on what the terminal sends. Once the terminal is being given
// back it only drains, because keys that nobody takes would hold that up.
func (t *Terminal) poll() {
	defer close(t.inputs)
	var paste *pasting
	for {
		event := t.screen.PollEvent()
		select {
		case <-t.closed:
			return
		case <-t.quit:
			continue
		default:
		}
		if lost(event) {
			return
		}
		if _, resized := event.(*tcell.EventResize); resized {
			t.resized.Store(true)
		}
		var input Event
		if input, paste = t.translate(event, paste); input == nil {
			continue
		}
		select {
		case t.inputs <- input:
		case <-t.quit:
		}
	}
}

// lost reports whether the terminal has hung up or ended.
func lost(event tcell.Event) bool {
	if event == nil {
		return true
	}
	_, failed := event.(*tcell.EventError)
	return failed
}
