package report

import (
	"fmt"
	"html"
	"image/color"
	"strings"

	"github.com/boombuler/barcode/code128"
	g "maragu.dev/gomponents"
)

// quietModules is the blank on either side that readers of Code 128 need
// (ISO/IEC 15417).
const quietModules = 10

// moduleMM is the width of the thinnest bar of a code that has room enough.
const moduleMM = 0.33

// bars draws a text as Code 128, with its quiet zones, in modules of 0.33 mm or
// as narrow as the widest code that is allowed asks for. It returns an error for
// a text that Code 128 has no signs for, or one too long to scan.
func bars(text string, widestMM, heightMM float64) (g.Node, error) {
	const longest = 32
	if text == "" || len(text) > longest || strings.ContainsFunc(text, func(r rune) bool { return r < ' ' || r > '~' }) {
		return nil, fmt.Errorf("%q can't be a bar code: it is empty, longer than %d characters, or holds others than plain ones", text, longest)
	}
	code, err := code128.Encode(text)
	if err != nil {
		return nil, fmt.Errorf("%q can't be a bar code: %w", text, err)
	}
	width := code.Bounds().Dx()
	total := width + 2*quietModules
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%.2fmm" height="%.2fmm" viewBox="0 0 %d 100" preserveAspectRatio="none" shape-rendering="crispEdges" role="img"><title>bar code of %s</title><rect width="%d" height="100" fill="white"/><path fill="black" d="`,
		min(float64(total)*moduleMM, widestMM), heightMM, total, html.EscapeString(text), total)
	for x := 0; x < width; {
		run := 0
		for x+run < width && isBlack(code.At(x+run, 0)) {
			run++
		}
		if run > 0 {
			fmt.Fprintf(&b, "M%d 0h%dv100h-%dz", x+quietModules, run, run)
		}
		x += max(run, 1)
	}
	b.WriteString(`"/></svg>`)
	return g.Raw(b.String()), nil // numbers, and a text that is escaped above
}

func isBlack(c color.Color) bool {
	r, _, _, _ := c.RGBA()
	return r == 0
}
