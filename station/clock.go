package station

import "time"

func clock(at time.Time) string { return at.Format("15:04:05") }

// timeOfDay reads a time of day as people write it, 06:05, 0605 or 06:05:30;
// its date means nothing. toSecond reports whether seconds were told.
func timeOfDay(text string) (read time.Time, toSecond, ok bool) {
	for _, layout := range []string{"15:04:05", "15:04", "1504"} {
		if read, err := time.Parse(layout, text); err == nil {
			return read, layout == "15:04:05", true
		}
	}
	return time.Time{}, false, false
}
