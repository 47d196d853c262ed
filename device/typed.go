package device

import "seamfit/internal/length"

// parseTyped reads what a caliper types that acts as a keyboard:
//
//	["+"|"-"] digits . digits [[" "] unit]
//	unit = "mm" | "MM" | "in" | "IN" | "inch" | `"`
//
// A line ends with Enter, Tab or newline, and with a comma unless a comma is
// the decimal mark by setting. Digits that a keyboard layout has turned into
// other characters do not fit, and are never translated back.
func parseTyped(line []byte, f *fields) Kind {
	body := line
	if negative, ok := sign(body[0], false); ok {
		f.negative, body = negative, body[1:]
	}
	end := 0
	for end < len(body) && (isDigit(body[end]) || body[end] == '.') {
		end++
	}
	number, rest := body[:end], body[end:]
	if !isDecimal(number) {
		return KindGrammar
	}
	if len(rest) > 1 && rest[0] == ' ' {
		rest = rest[1:]
	}
	switch string(rest) {
	case "":
	case "mm", "MM":
		f.unit = length.MM
	case "in", "IN", "inch", `"`:
		f.unit = length.In
	default:
		return KindGrammar
	}
	f.number = number
	return ""
}

// parseTypedComma is parseTyped with a comma as the decimal mark. A point
// does not fit then: a layout that was switched shows up as an error.
func parseTypedComma(line []byte, f *fields) Kind {
	if len(line) > len(f.scratch) {
		return KindGrammar
	}
	text := f.scratch[:0]
	for _, c := range line {
		switch c {
		case '.':
			return KindGrammar
		case ',':
			c = '.'
		}
		text = append(text, c)
	}
	return parseTyped(text, f)
}
