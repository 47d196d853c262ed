package devicetest

import (
	"strings"

	"seamfit/device"
	"seamfit/internal/length"
)

// Example is a form's bytes as instruments' documents print them, and what
// they must come to.
type Example struct {
	Form  device.Form
	Unit  length.Unit // the setting for frames that name none
	Bytes string
	Wants []Want
}

// Examples returns the examples of every wire form. testdata/captures holds
// the same bytes as recordings.
func Examples() []Example {
	return []Example{plainExample(), printExample()}
}

// hundredth is the step of a 0.01 mm display.
const hundredth = 10 * length.Micrometre

// plainExample: frames, error frames and answers as the manual of an
// opto-coupled caliper cable gives them.
func plainExample() Example {
	mm := func(raw string, value length.Length) Want {
		return Want{Raw: raw, Value: value, Unit: length.MM, Resolution: hundredth, Assumed: true}
	}
	wants := []Want{
		mm("+12.34", 12_340_000),
		mm("-0.01", -10_000),
		mm(" 8.42", 8_420_000),
		{Raw: "SET?", Kind: device.KindEcho},
		{Raw: "B1", Kind: device.KindBatteryWell},
		{Raw: "ERR0", Kind: device.KindSensor},
		{Raw: "ERR1", Kind: device.KindCommand},
		{Raw: "ERR2", Kind: device.KindParity},
		{Raw: "ERR3", Kind: device.KindRange},
		{Raw: "OR", Kind: device.KindRange},
		mm("+8.40", 8_400_000),
		{Raw: "B0", Kind: device.KindBatteryLow},
	}
	return Example{Form: device.Plain, Unit: length.MM, Bytes: lines(wants, "\r"), Wants: wants}
}

// printExample: a bridge board's print-outs; the inch line is ours.
func printExample() Example {
	mm := func(raw string, value length.Length) Want {
		return Want{Raw: raw, Value: value, Unit: length.MM, Resolution: hundredth}
	}
	wants := []Want{
		mm("8.42 mm", 8_420_000),
		mm("8.42 mm", 8_420_000),
		mm("8.43 mm", 8_430_000),
		mm("-0.01 mm", -10_000),
		{Raw: "0.3315 in", Value: 8_420_100, Unit: length.In, Resolution: 2_540},
	}
	return Example{Form: device.Print, Bytes: lines(wants, "\r\n"), Wants: wants}
}

func lines(wants []Want, end string) string {
	var b strings.Builder
	for _, w := range wants {
		b.WriteString(w.Raw + end)
	}
	return b.String()
}
