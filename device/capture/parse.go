package capture

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"seamfit/device"
	"seamfit/internal/length"
)

// Parse reads a whole recording. Its error names the line and what is wrong
// with it, or is r's own.
func Parse(r io.Reader) (*Capture, error) {
	lines := bufio.NewScanner(r)
	lines.Buffer(nil, 1<<20)
	c := &Capture{}
	number, inHeader := 0, true
	for lines.Scan() {
		number++
		var err error
		switch line := lines.Text(); {
		case number == 1:
			if line != magic {
				err = fmt.Errorf("not a recording: it must begin with %q", magic)
			}
		case inHeader && line == "":
			inHeader = false
			err = c.Header.check()
		case inHeader:
			err = c.Header.set(line)
		case line != "":
			err = c.add(line)
		}
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", number, err)
		}
	}
	if err := lines.Err(); err != nil {
		return nil, fmt.Errorf("line %d: %w", number+1, err)
	}
	if inHeader {
		return nil, errors.New("the recording ends inside its header; an empty line must follow the header")
	}
	return c, nil
}

// set reads one header line.
func (h *Header) set(line string) error {
	key, value, ok := strings.Cut(line, ": ")
	if !ok {
		return fmt.Errorf("%s is not a header line; write key, colon, blank, value", device.Quote([]byte(line)))
	}
	var err error
	switch key {
	case "instrument":
		h.Instrument = value
	case "form":
		h.Form, err = device.ParseForm(value)
	case "baud":
		h.Baud, err = strconv.Atoi(value)
	case "framing":
		h.Framing = value
	case "unit":
		h.Unit, err = length.ParseUnit(value)
	case "date":
		h.Date, err = time.Parse(time.RFC3339, value)
	default:
		return fmt.Errorf("header %s is not known", device.Quote([]byte(key)))
	}
	if err != nil {
		return fmt.Errorf("header %s: %w", key, err)
	}
	return nil
}

// add reads one chunk line.
func (c *Capture) add(line string) error {
	at, rest, _ := strings.Cut(line, " ")
	offset, err := parseOffset(at)
	if err != nil {
		return err
	}
	if len(c.Chunks) > 0 && offset < c.Chunks[len(c.Chunks)-1].Offset {
		return fmt.Errorf("offset %s lies before the line above", at)
	}
	if len(rest) < 4 || (rest[0] != '<' && rest[0] != '>') || rest[1] != ' ' || rest[2] != '"' || rest[len(rest)-1] != '"' {
		return errors.New(`a chunk is an offset, < or >, and bytes between quotes`)
	}
	raw, err := unescape(rest[3 : len(rest)-1])
	if err != nil {
		return err
	}
	c.Chunks = append(c.Chunks, Chunk{Offset: offset, Direction: Direction(rest[0]), Bytes: raw})
	return nil
}

// parseOffset reads seconds with six decimals, up to a year.
func parseOffset(s string) (time.Duration, error) {
	whole, frac, _ := strings.Cut(s, ".")
	seconds, err1 := strconv.ParseUint(whole, 10, 25)
	micros, err2 := strconv.ParseUint(frac, 10, 20)
	if err1 != nil || err2 != nil || len(frac) != 6 {
		return 0, fmt.Errorf("offset %s is not seconds with six decimals", device.Quote([]byte(s)))
	}
	return time.Duration(seconds)*time.Second + time.Duration(micros)*time.Microsecond, nil
}

// unescape reads what device.Escape writes, and nothing else.
func unescape(s string) ([]byte, error) {
	out := make([]byte, 0, len(s))
	for i := 0; i < len(s); i++ {
		c := s[i]
		switch {
		case c < ' ' || c > '~' || c == '"':
			return nil, fmt.Errorf("byte %#02x must be written as an escape", c)
		case c != '\\':
			out = append(out, c)
			continue
		}
		i++
		if i == len(s) {
			return nil, errors.New(`a lone \ at the end`)
		}
		switch s[i] {
		case 'r':
			out = append(out, '\r')
		case 'n':
			out = append(out, '\n')
		case 't':
			out = append(out, '\t')
		case '\\', '"':
			out = append(out, s[i])
		case 'x':
			if i+2 >= len(s) {
				return nil, errors.New(`\x needs two hexadecimal digits`)
			}
			v, err := strconv.ParseUint(s[i+1:i+3], 16, 8)
			if err != nil {
				return nil, errors.New(`\x needs two hexadecimal digits`)
			}
			out = append(out, byte(v))
			i += 2
		default:
			return nil, fmt.Errorf(`\%c is no escape; there are \r \n \t \\ \" \xHH`, s[i])
		}
	}
	return out, nil
}
