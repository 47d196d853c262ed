package main

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var manualTo = flag.String("manual", "", "a folder to write the manual page and the completions to, for a release")

// The manual page is made of the commands themselves. It is written here, and
// not by the program, so that the program does not carry it.
func TestTheManualTellsOfEveryCommandAndFlag(t *testing.T) {
	a := &app{world: system()}
	root := a.root()
	root.InitDefaultHelpCmd()
	root.InitDefaultCompletionCmd()
	page := manual(root)
	every(root, func(cmd *cobra.Command) {
		assert.Contains(t, page, ".SS "+roff(cmd.CommandPath()))
		cmd.LocalFlags().VisitAll(func(f *pflag.Flag) {
			assert.Contains(t, page, roff("--"+f.Name), cmd.CommandPath())
		})
	})
	for line := range strings.Lines(page) {
		assert.False(t, strings.HasPrefix(line, "'"), "a line that troff would obey: %q", line)
	}
	if *manualTo == "" {
		return
	}
	require.NoError(t, os.WriteFile(filepath.Join(*manualTo, "seamfit.1"), []byte(page), 0o644))
	require.NoError(t, root.GenBashCompletionFileV2(filepath.Join(*manualTo, "seamfit.bash"), true))
	require.NoError(t, root.GenZshCompletionFile(filepath.Join(*manualTo, "_seamfit")))
	require.NoError(t, root.GenFishCompletionFile(filepath.Join(*manualTo, "seamfit.fish"), true))
	require.NoError(t, root.GenPowerShellCompletionFileWithDesc(filepath.Join(*manualTo, "seamfit.ps1")))
}

// every calls do for a command and all below it that a person can see.
func every(cmd *cobra.Command, do func(*cobra.Command)) {
	do(cmd)
	for _, sub := range cmd.Commands() {
		if sub.IsAvailableCommand() {
			every(sub, do)
		}
	}
}

// manual is the page in the language of man(7).
func manual(root *cobra.Command) string {
	var b strings.Builder
	fmt.Fprintf(&b, ".TH SEAMFIT 1\n.SH NAME\nseamfit \\- %s\n.SH SYNOPSIS\n.B seamfit\ncommand [flags]\n.SH DESCRIPTION\n%s\n", roff(root.Short), lines(root.Long))
	b.WriteString(".SH COMMANDS\n")
	every(root, func(cmd *cobra.Command) {
		fmt.Fprintf(&b, ".SS %s\n", roff(cmd.CommandPath()))
		if cmd.Runnable() {
			fmt.Fprintf(&b, ".B %s\n.PP\n", roff(cmd.UseLine()))
		}
		about := cmd.Long
		if about == "" {
			about = cmd.Short
		}
		fmt.Fprintf(&b, "%s\n", lines(about))
		cmd.LocalFlags().VisitAll(func(f *pflag.Flag) {
			kind, usage := pflag.UnquoteUsage(f)
			fmt.Fprintf(&b, ".TP\n.B %s\n%s\n", roff(strings.TrimSpace("--"+f.Name+" "+kind)), lines(usage))
		})
	})
	b.WriteString(".SH EXIT STATUS\n0 done, 1 failed, 2 called wrongly. Errors are one line: what went wrong; how to mend it.\n")
	return b.String()
}

// lines keeps paragraphs, and the line ends of what is set in from the margin.
func lines(text string) string {
	var all []string
	for line := range strings.SplitSeq(strings.TrimSpace(text), "\n") {
		switch set := strings.HasPrefix(line, " "); {
		case line == "":
			all = append(all, ".PP")
		case set:
			all = append(all, ".br", roff(line), ".br")
		default:
			all = append(all, roff(line))
		}
	}
	return strings.Join(all, "\n")
}

// roff keeps text from being taken for commands.
func roff(text string) string {
	text = strings.ReplaceAll(text, `\`, `\e`)
	text = strings.ReplaceAll(text, "-", `\-`)
	if strings.HasPrefix(text, ".") || strings.HasPrefix(text, "'") {
		text = `\&` + text
	}
	return text
}
