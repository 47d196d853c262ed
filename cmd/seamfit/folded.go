package main

import (
	"io"
	"os"
	"strings"

	"golang.org/x/term"

	"seamfit/internal/grid"
)

// folded writes to a terminal and breaks lines between words, where the
// terminal itself would break them anywhere.
type folded struct {
	to      io.Writer
	columns int
}

// foldedFor returns w, folded if it is a terminal.
func foldedFor(w io.Writer) io.Writer {
	f, ok := w.(*os.File)
	if !ok {
		return w
	}
	columns, _, err := term.GetSize(int(f.Fd()))
	if err != nil || columns <= 0 {
		return w // not a terminal
	}
	return folded{w, columns}
}

// Write takes whole lines, the last one perhaps without its end.
func (f folded) Write(p []byte) (int, error) {
	if _, err := io.WriteString(f.to, fold(string(p), f.columns)); err != nil {
		return 0, err
	}
	return len(p), nil
}

// fold breaks lines of more columns at a blank, and sets what follows in by two
// more than the line. All else stays as it is: a quoted frame keeps its blanks, a
// long path is not broken.
func fold(text string, columns int) string {
	var b strings.Builder
	for line := range strings.SplitAfterSeq(text, "\n") {
		indent := strings.Repeat(" ", len(line)-len(strings.TrimLeft(line, " "))) + "  "
		for {
			at := breakOf(line, len(indent)-2, columns)
			if at < 0 {
				break
			}
			b.WriteString(line[:at] + "\n")
			line = indent + line[at+1:]
		}
		b.WriteString(line)
	}
	return b.String()
}

// breakOf returns the place of the blank at which a line is broken, behind its
// first word: the last within the columns, else the first; -1 for none.
func breakOf(line string, from, columns int) int {
	end := len(strings.TrimRight(line, " \n"))
	if grid.Width(line[:end]) <= columns {
		return -1
	}
	at := -1
	for i := from; i < end; i++ {
		within := grid.Width(line[:i]) <= columns
		if at >= 0 && !within {
			break
		}
		if line[i] == ' ' && strings.TrimSpace(line[:i]) != "" {
			at = i
		}
	}
	return at
}
