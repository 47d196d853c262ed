package device

import "seamfit/internal/length"

// parsePrint reads a bridge's print-out:
//
//	[+|-] digits . digits " " ("mm" | "in")
//
// Such bridges print many times a second, with no button: what they send is
// a stream, of which a steady value is taken. The head of a line is not
// marked, so a line whose beginning was missed may still fit this grammar:
// sources never decode a line that began before they were listening.
func parsePrint(line []byte, f *fields) Kind {
	if len(line) < 6 {
		return KindGrammar
	}
	body, unit := line[:len(line)-3], line[len(line)-3:]
	switch string(unit) {
	case " mm":
		f.unit = length.MM
	case " in":
		f.unit = length.In
	default:
		return KindGrammar
	}
	if negative, ok := sign(body[0], false); ok {
		f.negative, body = negative, body[1:]
	}
	if !isDecimal(body) {
		return KindGrammar
	}
	f.number = body
	return ""
}
