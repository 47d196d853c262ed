package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"time"

	"github.com/google/uuid"
	"github.com/spf13/cobra"

	"seamfit/internal/catalogue"
)

// Exit codes.
const (
	exitDone   = 0
	exitFailed = 1
	exitUsage  = 2
)

// world is everything outside the program that commands touch.
type world struct {
	stdin          io.Reader
	stdout, stderr io.Writer
	env            func(string) string
	now            func() time.Time
	newID          func() string
}

func system() world {
	return world{
		stdin: os.Stdin, stdout: os.Stdout, stderr: os.Stderr, env: os.Getenv,
		// Records keep milliseconds; a finer clock would not read back equal.
		now: func() time.Time { return time.Now().Truncate(time.Millisecond).Round(0) },
		newID: func() string {
			return uuid.Must(uuid.NewV7()).String() // fails only without a random source
		},
	}
}

// app is one call of the program: the world and the flags that all commands
// share.
type app struct {
	world
	dbPath       string
	settingsPath string
	format       string
	began        bool // the command line was understood, and the work began
}

// usageError is a mistake in how the program was called.
type usageError struct{ error }

func usagef(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// run runs one command line and returns the exit code.
func run(args []string, w world) int {
	a := &app{world: w}
	root := a.root()
	root.SetArgs(args)
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	err := root.ExecuteContext(ctx)
	if err == nil {
		return exitDone
	}
	text := strings.ReplaceAll(err.Error(), "\n", "; ")
	if _, err := fmt.Fprintf(a.stderr, "seamfit: %s\n", catalogue.Printable(text)); err != nil {
		return exitFailed // nowhere left to say so
	}
	var usage usageError
	if !a.began || errors.As(err, &usage) {
		return exitUsage
	}
	return exitFailed
}

func (a *app) root() *cobra.Command {
	root := &cobra.Command{
		Use:   "seamfit",
		Short: "A bench for fitting metal bands to wild birds",
		Long: `A bench for fitting metal bands to wild birds: measure the leg, choose the size
with its stated risks, close the band, confirm the closure, keep the record.

Banding needs a permit and training, and the banding office's rules come first.`,
		Args:          cobra.NoArgs,
		SilenceUsage:  true,
		SilenceErrors: true,
		RunE:          func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
		PersistentPreRunE: func(*cobra.Command, []string) error {
			if a.format != "text" && a.format != "json" {
				return usagef("--format %q is unknown; use text or json", a.format)
			}
			a.began = true
			return nil
		},
	}
	root.SetOut(a.stdout)
	root.SetErr(a.stderr)
	root.SetIn(a.stdin)
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		return usageError{fmt.Errorf("%w; see %s --help", err, cmd.CommandPath())}
	})
	flags := root.PersistentFlags()
	flags.StringVar(&a.dbPath, "db", "", "the bench's database (default: in your data folder)")
	flags.StringVar(&a.settingsPath, "settings", "", "the bench's settings, bench.toml (default: in your configuration folder)")
	flags.StringVar(&a.format, "format", "text", "how results are written: text or json")
	root.AddCommand(
		a.stationCommand(), a.findCommand(), a.fitCommand(), a.catalogueCommand(), a.replayCommand(), a.exportCommand(), a.reportCommand(),
		a.bandsCommand(), a.cardsCommand(), a.sheetCommand(), a.calibrateCommand(), a.checkCommand(), a.studyCommand(), a.seamCommand(),
		a.practiceCommand(), a.shiftCommand(), a.verifyCommand(), a.backupCommand(), a.mergeCommand(), a.versionCommand(),
	)
	mendArgs(root)
	return root
}

// mendArgs has a command and those below it say how wrong arguments are mended.
func mendArgs(cmd *cobra.Command) {
	cmd.SuggestionsMinimumDistance = 2
	if wanted := cmd.Args; wanted != nil {
		cmd.Args = func(cmd *cobra.Command, args []string) error {
			err := wanted(cmd, args)
			if err == nil {
				return nil
			}
			if len(args) > 0 {
				if like := cmd.SuggestionsFor(args[0]); len(like) > 0 {
					return usagef("%w; did you mean %s?", err, strings.Join(like, " or "))
				}
			}
			return usagef("%w; see %s --help", err, cmd.CommandPath())
		}
	}
	for _, sub := range cmd.Commands() {
		mendArgs(sub)
	}
}

func (a *app) json() bool { return a.format == "json" }
