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

// fold breaks lines of more columns between words. What follows is set in by two
// more than the line.
func fold(text string, columns int) string {
	var b strings.Builder
	for line := range strings.SplitAfterSeq(text, "\n") {
		if grid.Width(strings.TrimRight(line, " \n")) <= columns {
			b.WriteString(line)
			continue
		}
		words := strings.TrimLeft(strings.TrimRight(line, " \n"), " ")
		indent := strings.Repeat(" ", strings.Index(line, words))
		b.WriteString(indent)
		b.WriteString(strings.Join(grid.Wrap(words, columns-len(indent)-2), "\n  "+indent))
		b.WriteString(line[len(indent)+len(words):])
	}
	return b.String()
}
