package report_test

import (
	"bytes"
	"encoding/xml"
	"image"
	"image/color"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/oned"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/report"
)

// picture draws a bar code's SVG: its path of upright bars, three pixels a
// module.
func picture(t *testing.T, drawing string) image.Image {
	t.Helper()
	var svg struct {
		ViewBox string `xml:"viewBox,attr"`
		Path    struct {
			D string `xml:"d,attr"`
		} `xml:"path"`
	}
	require.NoError(t, xml.Unmarshal([]byte(drawing), &svg))
	width, err := strconv.Atoi(strings.Fields(svg.ViewBox)[2])
	require.NoError(t, err)
	const scale = 3
	img := image.NewGray(image.Rect(0, 0, width*scale, 60))
	for i := range img.Pix {
		img.Pix[i] = 255
	}
	for _, bar := range regexp.MustCompile(`M(\d+) 0h(\d+)v100`).FindAllStringSubmatch(svg.Path.D, -1) {
		from, err := strconv.Atoi(bar[1])
		require.NoError(t, err)
		wide, err := strconv.Atoi(bar[2])
		require.NoError(t, err)
		for x := from * scale; x < (from+wide)*scale; x++ {
			for y := range 60 {
				img.SetGray(x, y, color.Gray{})
			}
		}
	}
	return img
}

// scanned reads a picture with an independent reader of bar codes (the module
// gozxing).
func scanned(t *testing.T, img image.Image) string {
	t.Helper()
	bitmap, err := gozxing.NewBinaryBitmapFromImage(img)
	require.NoError(t, err)
	result, err := oned.NewCode128Reader().Decode(bitmap, nil)
	require.NoError(t, err)
	return result.GetText()
}

func TestAnIndependentReaderReadsEveryLabel(t *testing.T) {
	patterns, err := bands.Embedded()
	require.NoError(t, err)
	for name, text := range map[string]string{"federal": "888-88895..00", "general": "XA00999..XA01001"} {
		p, ok := patterns.Named(name)
		require.True(t, ok)
		run, err := p.ParseRun(text)
		require.NoError(t, err)
		var b bytes.Buffer
		require.NoError(t, report.WriteLabels(&b, run))
		codes := drawings(t, b.String())
		require.Len(t, codes, int(run.Count()))
		i := 0
		for number := range run.All() {
			assert.Equal(t, number.String(), scanned(t, picture(t, codes[i])))
			assert.Contains(t, b.String(), "<b>"+number.String()+"</b>", "readable by eye too")
			i++
		}
	}
}

func TestAnIndependentReaderReadsEveryCard(t *testing.T) {
	book, err := catalogue.Embedded()
	require.NoError(t, err)
	c, ok := book.Catalogue("us-federal")
	require.True(t, ok)
	cards := bench.Cards(book, c, []string{"Mira Tolland"})
	var b bytes.Buffer
	require.NoError(t, report.WriteCards(&b, cards))
	codes := drawings(t, b.String())
	require.Len(t, codes, len(cards))
	for i, card := range cards {
		assert.Equal(t, card.Word, scanned(t, picture(t, codes[i])))
	}
	assert.NotContains(t, b.String(), "<script")
}

func TestLabelsAndCardsHaveLimits(t *testing.T) {
	patterns, err := bands.Embedded()
	require.NoError(t, err)
	p, ok := patterns.Named("federal")
	require.True(t, ok)
	run, err := p.ParseRun("888-00001 20000")
	require.NoError(t, err)
	require.ErrorContains(t, report.WriteLabels(&bytes.Buffer{}, run), "20000 labels on one sheet; ask for 1 to 10000")
	require.ErrorContains(t, report.WriteLabels(&bytes.Buffer{}, bands.Run{}), "0 labels on one sheet")
	for _, word := range []string{"", "SF:\x07", "SF:Ä", strings.Repeat("A", 33)} {
		require.ErrorContains(t, report.WriteCards(&bytes.Buffer{}, []bench.Card{{Word: word, Title: "x"}}), "can't be a bar code", "%q", word)
	}
	hostile := []bench.Card{{Word: "<&>\"'", Title: "<script>", Group: "<b>"}}
	var b bytes.Buffer
	require.NoError(t, report.WriteCards(&b, hostile))
	assert.NotContains(t, b.String(), "<script")
	assert.Equal(t, "<&>\"'", scanned(t, picture(t, drawings(t, b.String())[0])))
}
