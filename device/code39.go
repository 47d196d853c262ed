package device

import (
	"fmt"
	"strings"
)

// code39 holds the characters of Code 39 in the order of their values, 0 to
// 42.
const code39 = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-. $/+%"

// Code39Check returns the optional check character of Code 39 for data: the
// character whose value is the sum of all values modulo 43. It fails when data holds a character that Code 39 has not; small
// letters are not folded.
func Code39Check(data string) (byte, error) {
	sum := 0
	for i := range len(data) {
		value := strings.IndexByte(code39, data[i])
		if value < 0 {
			return 0, fmt.Errorf("the code 39 has no character %s", Quote([]byte{data[i]}))
		}
		sum += value
	}
	return code39[sum%len(code39)], nil
}
