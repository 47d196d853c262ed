package device

// parseChannel reads a gauge multiplexer's channel line:
//
//	"0" channel "A" sign value      channel = one digit, sign = "+" | "-"
//	value = 8 characters: digits with one point between them
//
// The frame names no unit. It has no error frames of its own.
func parseChannel(line []byte, f *fields) Kind {
	if len(line) != 12 || line[0] != '0' || !isDigit(line[1]) || line[2] != 'A' {
		return KindGrammar
	}
	negative, ok := sign(line[3], false)
	if !ok || !isDecimal(line[4:]) {
		return KindGrammar
	}
	f.channel, f.negative, f.number = line[1], negative, line[4:]
	return ""
}
