package device_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"seamfit/device"
)

// BenchmarkDecode measures bytes of one frame → reading, per form.
func BenchmarkDecode(b *testing.B) {
	for form, line := range map[device.Form]string{
		device.Plain: "+12.34\r", device.Print: "8.42 mm\r\n", device.Channel: "01A-001.2340\r",
		device.Wide: "+ 2.1380, MM\r\n", device.Multiplexed: "2 MW-00088.29 mm\r\n",
		device.Nibbles: "FFFF801234530\r\n", device.Typed: "8.42\r",
	} {
		b.Run(string(form), func(b *testing.B) {
			d := newDecoder(b, form)
			frame := []byte(line)
			require.Len(b, d.Feed(frame), 1)
			b.ReportAllocs()
			for b.Loop() {
				if f := d.Feed(frame); len(f) != 1 || f[0].Err != nil {
					b.Fatal("not one reading")
				}
			}
		})
	}
}
