package station

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"time"

	"seamfit/device"
	"seamfit/internal/bench"
	"seamfit/internal/fit"
	"seamfit/internal/grid"
	"seamfit/internal/length"
	"seamfit/internal/seam"
)

// The ways in which a station ends that is not left by its own key.
var (
	// ErrStopped: the system or another program ended it.
	ErrStopped = errors.New("the station was ended from outside; start it again, open birds are taken up where they stood")
	// ErrTerminalLost: the terminal hung up.
	ErrTerminalLost = errors.New("the terminal is gone; start the station again, open birds are taken up where they stood")
)

// UnsavedError says what could not be saved before the station ended.
type UnsavedError struct {
	Facts []bench.Fact
	What  string // why saving failed, with its mend
}

// Error names the facts, so that they can be entered again.
func (e *UnsavedError) Error() string {
	kinds := make([]string, len(e.Facts))
	for i, f := range e.Facts {
		kinds[i] = strings.TrimPrefix(fmt.Sprintf("%T", f), "bench.")
	}
	return fmt.Sprintf("%s not saved (%s): %s; mend that, and enter them again", count(len(e.Facts), "entry"), strings.Join(kinds, ", "), e.What)
}

// CrashError is a fault of the program itself. What was shown as saved is on
// the disk.
type CrashError struct {
	Value any
	Stack string
}

// Error returns the fault in one line; Stack tells where it was.
func (e *CrashError) Error() string {
	return fmt.Sprintf("the station stopped by a fault of its own (%v); start it again, what was shown as saved is safe", e.Value)
}

// Keeper keeps the records.
type Keeper interface {
	// Save stores facts in one transaction, durable when it returns nil. An
	// error that is bench.ErrRefused means that a rule of the records said no
	// and that trying again is of no use; any other may pass.
	Save(ctx context.Context, facts []bench.Fact) error
	// Standing returns what the records know of a band number.
	Standing(ctx context.Context, number string) (bench.Standing, error)
	// Load returns a handling as the records have it; one without an ID when
	// they have none.
	Load(ctx context.Context, handling string) (bench.Handling, error)
}

// Feed is a caliper's link, kept up by itself. device.Supervisor is one;
// SourceFeed makes one of a device.Source.
type Feed interface {
	// Next waits for the next event. Its error ends the feed.
	Next(ctx context.Context) (device.Event, error)
}

// Codes is a scanner on a port of its own, kept up by itself.
// device.ScannerLink is one.
type Codes interface {
	// Next waits for the next event. Its error ends the scanner.
	Next(ctx context.Context) (device.ScanEvent, error)
}

// Screen is the terminal, or a test's stand-in for it.
type Screen interface {
	// Inputs delivers keys, pastes and resizes, in order and none dropped. It
	// is closed when the terminal is gone or the screen is closed.
	Inputs() <-chan Event
	// Draw shows the grid.
	Draw(g *grid.Grid)
	// Bell sounds once or twice. It does not wait.
	Bell(strokes int)
	// Size returns columns and rows.
	Size() (width, height int)
	// Close gives the terminal back as it was found. It may be called more
	// than once.
	Close()
}

// Config is what a station needs. Screen, Keeper, Clock and NewID must be
// there, and Start.Setup.
type Config struct {
	Screen  Screen
	Keeper  Keeper
	Caliper Feed                      // nil: widths are typed
	Scanner Codes                     // nil: numbers are typed, or scanned as keys
	Squeeze func(length.Length) error // the simulated caliper's; nil: none
	// Inspect looks through the records in the background and says what is
	// wrong with them; nil: nobody looks.
	Inspect func(context.Context) error
	// History tells what the bench measured on such birds before; nil: nothing
	// is known.
	History func(context.Context, bench.Likeness) (fit.History, error)
	// Offer tells which number comes next on a tubing; nil: no stock is kept.
	Offer func(context.Context, bench.Tubing) (bench.Offer, error)
	// Trace tells what the records know of an inscription, ? for each digit that
	// could not be read; nil: nothing.
	Trace func(ctx context.Context, inscription string) (Tracks, error)
	// String tells what was measured on the string of a number; nil: nothing.
	String  func(context.Context, string) (seam.StringMeasures, error)
	Start   bench.State
	Options Options
	Clock   func() time.Time // local time
	NewID   func() string    // identifiers that were never used
}

// Run shows the station until it is left. The screen is closed when it
// returns, whatever happens: by Ctrl+Q (nil), SIGTERM, SIGHUP or SIGINT or the
// end of ctx (ErrStopped), the terminal's hang-up (ErrTerminalLost), or a
// fault in any of its goroutines (*CrashError). What could not be saved then
// is in an *UnsavedError. The devices stay open: they are the caller's.
func Run(ctx context.Context, cfg Config) error {
	defer cfg.Screen.Close()
	ctx, stop := signal.NotifyContext(ctx, syscall.SIGTERM, syscall.SIGHUP, os.Interrupt)
	defer stop()
	l := newLoop(ctx, cfg)
	defer l.end()
	err := l.guarded()
	cfg.Screen.Close()
	return errors.Join(err, l.lastSave())
}
