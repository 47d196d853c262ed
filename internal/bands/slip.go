package bands

// SlipKind is a slip of the hand or the eye that makes one number of another.
type SlipKind string

// The slips that are looked for.
const (
	Swapped  SlipKind = "two digits swapped"
	DigitOff SlipKind = "one digit off"
)

// Slip is a text that a number may have been meant for.
type Slip struct {
	Text string
	Kind SlipKind
}

// Slips lists the texts that are one slip away from a number in its canonical
// form: two neighbouring characters swapped, or one digit off. Separators are
// passed over. Most are no one's number: look them up in the stock.
func Slips(number string) []Slip {
	var slips []Slip
	places := placesOf(number)
	for k := range len(places) - 1 {
		text := []byte(number)
		i, j := places[k], places[k+1]
		if text[i] == text[j] {
			continue
		}
		text[i], text[j] = text[j], text[i]
		slips = append(slips, Slip{string(text), Swapped})
	}
	for _, i := range places {
		if !isDigit(number[i]) {
			continue
		}
		for d := byte('0'); d <= '9'; d++ {
			if d != number[i] {
				slips = append(slips, Slip{number[:i] + string(d) + number[i+1:], DigitOff})
			}
		}
	}
	return slips
}

// SlipBetween returns the slip that makes a of b; "" when it takes more than
// one.
func SlipBetween(a, b string) SlipKind {
	for _, s := range Slips(a) {
		if s.Text == b {
			return s.Kind
		}
	}
	return ""
}

// placesOf lists where the letters and digits of a number stand.
func placesOf(number string) []int {
	var places []int
	for i := range len(number) {
		if isLetterOrDigit(number[i]) {
			places = append(places, i)
		}
	}
	return places
}
