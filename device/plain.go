package device

// parsePlain reads the plain decimal form of an opto-coupled cable:
//
//	[mark] sign digits . digits [mark]      at most one mark
//	sign = "+" | "-" | " "      mark = "<" | "=" | ">"
//
// The sign is always there: a line without one has lost its head, and with it
// perhaps digits. The mark is the gauge's own tolerance judgement; it is
// accepted on either side of the number, kept in Raw, and never used. The
// other lines are
//
//	ERR0 sensor   ERR1 command   ERR2 parity   ERR3, OR out of range
//	B1 battery well   B0 battery low
//	?  PRI  SET?  the echo of a command
//	a name line at power-on: a letter, then 2 to 39 printable characters
func parsePlain(line []byte, f *fields) Kind {
	if kind := plainWord(line); kind != "" {
		return kind
	}
	body := line
	if isMark(body[0]) {
		body = body[1:]
	} else if isMark(body[len(body)-1]) {
		body = body[:len(body)-1]
	}
	if len(body) < 2 {
		return KindGrammar
	}
	negative, ok := sign(body[0], true)
	if !ok || !isDecimal(body[1:]) {
		return KindGrammar
	}
	f.negative, f.number = negative, body[1:]
	return ""
}

func isMark(c byte) bool { return c == '<' || c == '=' || c == '>' }

// plainWord tells the lines that are words; "" is none of them.
func plainWord(line []byte) Kind {
	switch string(line) {
	case "ERR0":
		return KindSensor
	case "ERR1":
		return KindCommand
	case "ERR2":
		return KindParity
	case "ERR3", "OR":
		return KindRange
	case "B1":
		return KindBatteryWell
	case "B0":
		return KindBatteryLow
	case "?", "PRI", "SET?":
		return KindEcho
	}
	if isName(line) {
		return KindName
	}
	return ""
}

// isName accepts a name line. Anything that starts like an error frame is
// not one, so that an unknown error is never passed off as a name.
func isName(line []byte) bool {
	if len(line) < 3 || len(line) > 40 || !isLetter(line[0]) {
		return false
	}
	if string(line[:3]) == "ERR" {
		return false
	}
	for _, c := range line {
		if c < ' ' || c > '~' {
			return false
		}
	}
	return true
}

func isLetter(c byte) bool { return c >= 'A' && c <= 'Z' || c >= 'a' && c <= 'z' }
