package device

import (
	"fmt"

	"seamfit/internal/length"
)

// nibbleCount is the length of a frame in nibbles.
const nibbleCount = 13

// parseNibbles reads a frame of 13 nibbles that a bridge forwards as 13
// hexadecimal digits in a line:
//
//	d1–d4 F    d5 sign: 0 plus, 8 minus    d6–d11 decimal digits
//	d12 number of decimals, 0–5    d13 unit: 0 mm, 1 inch, 2–7 with a
//	tolerance judgement
//
// With a judgement the unit is not told, so the setting's is meant. The line
// end alone tells where a frame begins: FFFF is no mark to find one by.
func parseNibbles(line []byte, f *fields) Kind {
	if len(line) != nibbleCount {
		return KindGrammar
	}
	for _, c := range line[:4] {
		if c != 'F' && c != 'f' {
			return KindGrammar
		}
	}
	decimals, judged := line[11], line[12]
	if (line[4] != '0' && line[4] != '8') || decimals < '0' || decimals > '5' || judged < '0' || judged > '7' {
		return KindGrammar
	}
	for _, c := range line[5:11] {
		if !isDigit(c) {
			return KindGrammar
		}
	}
	switch judged {
	case '0':
		f.unit = length.MM
	case '1':
		f.unit = length.In
	}
	f.negative = line[4] == '8'
	f.number = withPoint(f.scratch[:0], line[5:11], int(decimals-'0'))
	return ""
}

// withPoint writes digits with a point before the last n of them.
func withPoint(dst, digits []byte, n int) []byte {
	whole := len(digits) - n
	dst = append(dst, digits[:whole]...)
	if n > 0 {
		dst = append(dst, '.')
		dst = append(dst, digits[whole:]...)
	}
	return dst
}

// NibbleLine writes the 52 bits of a frame as the line that the nibbles form
// reads, for bridges that forward bits: each nibble comes least bit first.
// Blanks between the bits are passed over. It fails on anything but 52 bits.
func NibbleLine(bits string) (string, error) {
	const hex = "0123456789ABCDEF"
	line := make([]byte, 0, nibbleCount)
	nibble, n := 0, 0
	for _, c := range []byte(bits) {
		switch c {
		case ' ':
			continue
		case '0', '1':
			nibble |= int(c-'0') << (n % 4)
		default:
			return "", fmt.Errorf("%s is no bit", Quote([]byte{c}))
		}
		if n++; n%4 == 0 {
			line, nibble = append(line, hex[nibble]), 0
		}
	}
	if n != 4*nibbleCount {
		return "", fmt.Errorf("%d bits are no frame; it has %d", n, 4*nibbleCount)
	}
	return string(line), nil
}
