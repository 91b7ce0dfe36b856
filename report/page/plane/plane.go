// Package plane draws the plane of a* and b* on which a shade is chosen by touch, and converts
// between shades and places in the drawing. Start with a [Window], a part of the plane, from [Around].
package plane

import (
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"strconv"

	"hueward/colorimg/cie"
)

// Side is the pixels of a drawing, both ways.
const Side = 480

// Window is a square part of the plane: from A and B, redder to the right and yellower upward, Span units wide.
type Window struct{ A, B, Span float64 }

// Whole is the part in which flowers lie.
var Whole = Window{-60, -60, 160}

const least = 32 // units: nearer, a finger chooses finer than an eye sees

// Around returns the smallest window that shows the shades with a margin; [Whole] where there are none, or where they fill it.
func Around(shades []cie.Lab) Window {
	if len(shades) == 0 {
		return Whole
	}
	lowA, highA, lowB, highB := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for _, c := range shades {
		lowA, highA, lowB, highB = min(lowA, c.A), max(highA, c.A), min(lowB, c.B), max(highB, c.B)
	}
	span := math.Ceil(max(highA-lowA, highB-lowB)*1.4 + 6)
	if span >= Whole.Span {
		return Whole
	}
	span = max(span, least)
	return Window{math.Round((lowA + highA - span) / 2), math.Round((lowB + highB - span) / 2), span}
}

// Read is a window of three numbers as text; Whole where they are none.
func Read(a, b, span string) Window {
	var n [3]float64
	for i, s := range []string{a, b, span} {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil || !(math.Abs(v) <= 400) {
			return Whole
		}
		n[i] = math.Round(v)
	}
	if n[2] < 10 {
		return Whole
	}
	return Window{n[0], n[1], n[2]}
}

// At is where a shade lies in a drawing.
func (w Window) At(c cie.Lab) (x, y float64) {
	return (c.A - w.A) / w.Span * Side, Side - (c.B-w.B)/w.Span*Side
}

// Shows reports whether a shade lies in the window.
func (w Window) Shows(c cie.Lab) bool {
	x, y := w.At(c)
	return x >= 0 && x <= Side && y >= 0 && y <= Side
}

// Shade is that of a place in a drawing, to a tenth.
func (w Window) Shade(light, x, y float64) cie.Lab {
	tenth := func(v float64) float64 { return math.Round(v*10) / 10 }
	return cie.Lab{L: tenth(light), A: tenth(w.A + x/Side*w.Span), B: tenth(w.B + (Side-y)/Side*w.Span)}
}

// Tick is a number of a* and of b* with its places along both edges.
type Tick struct {
	X, Y float64
	Text string
}

// Ticks are about six numbers of either axis.
func (w Window) Ticks() (across, up []Tick) {
	step := 20.0
	for _, s := range []float64{5, 10, 20} {
		if w.Span/s <= 8 {
			step = s
			break
		}
	}
	for v := math.Ceil(w.A/step) * step; v < w.A+w.Span; v += step {
		x, _ := w.At(cie.Lab{A: v})
		across = append(across, Tick{X: x, Text: strconv.Itoa(int(v))})
	}
	for v := math.Ceil(w.B/step) * step; v < w.B+w.Span; v += step {
		_, y := w.At(cie.Lab{B: v})
		up = append(up, Tick{Y: y, Text: strconv.Itoa(int(v))})
	}
	return across, up
}

// Draw writes the colours of one lightness as PNG; those that no screen shows are left out.
func (w Window) Draw(out io.Writer, light float64) error {
	const cell = 4
	im := image.NewNRGBA(image.Rect(0, 0, Side, Side))
	for y := 0; y < Side; y += cell {
		for x := 0; x < Side; x += cell {
			c := cie.Lab{L: light, A: w.A + (float64(x)+cell/2)/Side*w.Span, B: w.B + (Side-float64(y)-cell/2)/Side*w.Span}
			hex := c.Hex()
			back, err := cie.ParseHex(hex)
			if err != nil || cie.DeltaE2000(back, c) > 1 {
				continue
			}
			n, err := strconv.ParseUint(hex[1:], 16, 32)
			if err != nil {
				return err
			}
			for dy := range cell {
				for dx := range cell {
					im.SetNRGBA(x+dx, y+dy, color.NRGBA{uint8(n >> 16), uint8(n >> 8), uint8(n), 255})
				}
			}
		}
	}
	return png.Encode(out, im)
}
