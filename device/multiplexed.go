package device

import "seamfit/internal/length"

// parseMultiplexed reads a multiplexer's line:
//
//	channel " " flags sign digits . digits " " unit
//	channel = one digit, flags = "MW" | "TO", sign = "+" | "-" | " ",
//	unit = "mm" | "in"
//
// MW is a measured value. TO says that no gauge answered, and what stands
// behind it is no value, although it parses as one. Other flags are refused:
// a number under a flag that nobody knows may be an error too. Nines in every
// place are never a value.
func parseMultiplexed(line []byte, f *fields) Kind {
	if len(line) < 12 || !isDigit(line[0]) || line[1] != ' ' {
		return KindGrammar
	}
	negative, ok := sign(line[4], true)
	number, unit := line[5:len(line)-3], line[len(line)-3:]
	switch string(unit) {
	case " mm":
		f.unit = length.MM
	case " in":
		f.unit = length.In
	default:
		return KindGrammar
	}
	if !ok || !isDecimal(number) {
		return KindGrammar
	}
	f.channel = line[0]
	switch flags := string(line[2:4]); {
	case flags == "TO":
		return KindNoGauge
	case flags != "MW":
		return KindGrammar
	case allNines(number):
		return KindRange
	}
	f.negative, f.number = negative, number
	return ""
}

func allNines(number []byte) bool {
	for _, c := range number {
		if c != '9' && c != '.' {
			return false
		}
	}
	return len(number) > 6 // a short one, 9.99, is a width
}
