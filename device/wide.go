package device

import (
	"bytes"

	"seamfit/internal/length"
)

// parseWide reads the wide line:
//
//	sign field (" " | ",") unit      sign = "+" | "-", unit = "IN" | "MM"
//	field = 8 characters: blanks, digits with one point between them,
//	        blanks, and a comma at the very end or not at all
//
// Blanks stand only around the number: one between digits is a lost digit.
// The other lines are NOT FOUND (no gauge), OUT OF BOUNDS (range) and the
// echo R of the command that asks.
func parseWide(line []byte, f *fields) Kind {
	switch string(line) {
	case "NOT FOUND":
		return KindNoGauge
	case "OUT OF BOUNDS":
		return KindRange
	case "R":
		return KindEcho
	}
	if len(line) != 12 || (line[9] != ' ' && line[9] != ',') {
		return KindGrammar
	}
	switch string(line[10:]) {
	case "MM":
		f.unit = length.MM
	case "IN":
		f.unit = length.In
	default:
		return KindGrammar
	}
	negative, ok := sign(line[0], false)
	number := line[1:9]
	if number[7] == ',' {
		if line[9] == ',' {
			return KindGrammar
		}
		number = number[:7]
	}
	number = bytes.Trim(number, " ")
	if !ok || !isDecimal(number) {
		return KindGrammar
	}
	f.negative, f.number = negative, number
	return ""
}
