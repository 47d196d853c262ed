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
	return []Example{
		plainExample(), printExample(), channelExample(), wideExample(),
		multiplexedExample(), nibblesExample(), typedExample(),
	}
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

// channelExample: the first line is a gauge multiplexer's manual's; the second
// is ours.
func channelExample() Example {
	wants := []Want{
		{Raw: "01A-001.2340", Value: -1_234_000, Unit: length.MM, Resolution: 100, Assumed: true, Channel: "1"},
		{Raw: "02A+0008.420", Value: 8_420_000, Unit: length.MM, Resolution: 1_000, Assumed: true, Channel: "2"},
	}
	return Example{Form: device.Channel, Unit: length.MM, Bytes: lines(wants, "\r"), Wants: wants}
}

// wideExample: value, NOT FOUND and OUT OF BOUNDS as a gauge interface's
// manual gives them; the other values are ours.
func wideExample() Example {
	wants := []Want{
		{Raw: "+ 2.1380, MM", Value: 2_138_000, Unit: length.MM, Resolution: 100},
		{Raw: "R", Kind: device.KindEcho},
		{Raw: "-  0.0100 MM", Value: -10_000, Unit: length.MM, Resolution: 100},
		{Raw: "+ 0.33150,IN", Value: 8_420_100, Unit: length.In, Resolution: 254},
		{Raw: "NOT FOUND", Kind: device.KindNoGauge},
		{Raw: "OUT OF BOUNDS", Kind: device.KindRange},
	}
	return Example{Form: device.Wide, Bytes: lines(wants, "\r\n"), Wants: wants}
}

// multiplexedExample: the MW and TO lines as a multiplexer's manual gives
// them; the inch line is ours.
func multiplexedExample() Example {
	wants := []Want{
		{Raw: "2 MW-00088.29 mm", Value: -88_290_000, Unit: length.MM, Resolution: hundredth, Channel: "2"},
		{Raw: "3 TO 999999.99 mm", Kind: device.KindNoGauge},
		{Raw: "1 MW+00000.3315 in", Value: 8_420_100, Unit: length.In, Resolution: 2_540, Channel: "1"},
	}
	return Example{Form: device.Multiplexed, Bytes: lines(wants, "\r\n"), Wants: wants}
}

// nibblesExample: −12.345 mm of document 99MBA043A, +21.0765 mm of 99MBC095A,
// and +0.123 mm of 99MAF600B (there as bits); the inch line is ours.
func nibblesExample() Example {
	wants := []Want{
		{Raw: "FFFF801234530", Value: -12_345_000, Unit: length.MM, Resolution: 1_000},
		{Raw: "FFFF021076540", Value: 21_076_500, Unit: length.MM, Resolution: 100},
		{Raw: "FFFF000012330", Value: 123_000, Unit: length.MM, Resolution: 1_000},
		{Raw: "FFFF003315041", Value: 84_201_000, Unit: length.In, Resolution: 2_540},
	}
	return Example{Form: device.Nibbles, Unit: length.MM, Bytes: lines(wants, "\r\n"), Wants: wants}
}

// typedExample: value and Enter, Tab, comma or newline, sometimes a unit.
func typedExample() Example {
	wants := []Want{
		{Raw: "8.42", Value: 8_420_000, Unit: length.MM, Resolution: hundredth, Assumed: true},
		{Raw: "8.43", Value: 8_430_000, Unit: length.MM, Resolution: hundredth, Assumed: true},
		{Raw: "-0.01mm", Value: -10_000, Unit: length.MM, Resolution: hundredth},
		{Raw: "0.3315 in", Value: 8_420_100, Unit: length.In, Resolution: 2_540},
	}
	return Example{
		Form: device.Typed, Unit: length.MM, Wants: wants,
		Bytes: "8.42\r8.43\t-0.01mm,0.3315 in\n",
	}
}

func lines(wants []Want, end string) string {
	var b strings.Builder
	for _, w := range wants {
		b.WriteString(w.Raw + end)
	}
	return b.String()
}
