package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"unicode"

	"seamfit/internal/catalogue"
)

// writeJSON writes v as one line of JSON in which no character can act on a
// terminal: what is not printable is escaped, beyond what JSON asks for.
func (a *app) writeJSON(v any) error {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return fmt.Errorf("write the result: %w", err)
	}
	_, err := a.stdout.Write(append(escapeControls(bytes.TrimSuffix(b.Bytes(), []byte("\n"))), '\n'))
	return err
}

// escapeControls escapes the control and format characters that JSON allows
// raw (DEL, U+0080 to U+009F, bidirectional marks). They occur only inside
// strings, where an escape means the same.
func escapeControls(text []byte) []byte {
	var out []byte
	for _, r := range string(text) {
		switch {
		case unicode.IsPrint(r):
			out = append(out, string(r)...)
		case r > 0xFFFF:
			out = fmt.Appendf(out, `\u%04x\u%04x`, 0xD800+(r-0x10000)>>10, 0xDC00+(r-0x10000)&0x3FF)
		default:
			out = fmt.Appendf(out, `\u%04x`, r)
		}
	}
	return out
}

// printf writes a line of text; arguments that are strings are made printable
// first.
func (a *app) printf(format string, args ...any) error {
	for i, arg := range args {
		if s, ok := arg.(string); ok {
			args[i] = catalogue.Printable(s)
		}
	}
	_, err := fmt.Fprintf(a.stdout, format, args...)
	return err
}
