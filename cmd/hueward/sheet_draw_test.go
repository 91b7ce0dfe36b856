package main

import (
	"fmt"
	"image"
	"image/color"
	"io"
	"math"

	"github.com/rogpeppe/go-internal/testscript"

	"hueward/cmd/hueward/internal/cli"
	"hueward/colorimg/cie"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
	"hueward/colorimg/tag"
)

// What paper, ink and card reflect; common practice, no source.
const paperY, inkY, cardY = 0.83, 0.04, 0.18

// cmdDrawSheet is "drawsheet NAME.jpg SHEET PLANT key=value…": draws a photo of a
// photo sheet from straight above, with a card in its frame and a bloom in its
// ring. Keys are those of draw; diameter is a share of the paper's height. It
// prints the bloom's colour, and its width in millimetres from tip to tip.
func cmdDrawSheet(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 3 {
		ts.Fatalf("usage: drawsheet NAME SHEET PLANT key=value...")
	}
	sheet, ok := tag.SheetNamed(args[1])
	if !ok {
		ts.Fatalf("no sheet %q", args[1])
	}
	const perMM = 6
	s, info, err := sceneOf(args[3:])
	ts.Check(err)
	s.Width, s.Height = int(sheet.Width*perMM), int(sheet.Height*perMM)
	s.At = [2]float64{sheet.Bloom.X / sheet.Width, sheet.Bloom.Y / sheet.Height}
	white := cie.XYZ{X: paperY * cie.D65.X, Y: paperY, Z: paperY * cie.D65.Z}.Lab()
	noCard := s.Card.None
	s.Ground, s.GroundLab, s.Card.None = render.Board, &white, true
	im, truth := render.Draw(s)
	code, err := tag.Matrix(tag.Payload{Plant: args[2], Sheet: sheet.Name}.String())
	ts.Check(err)
	gains := render.Gains(s.Kelvin, 1)
	for y := range s.Height {
		for x := range s.Width {
			printOver(im, x, y, perMM, sheet, code, !noCard, gains, math.Exp2(s.EV))
		}
	}
	name := ts.MkAbs(args[0])
	ts.Check(cli.WriteFile(name, cli.Photo, func(w io.Writer) error { return photo.WriteJPEG(w, im, 92, info) }))
	fmt.Fprintf(ts.Stdout(), "%.2f,%.2f,%.2f %.1f\n", truth.Petal.L, truth.Petal.A, truth.Petal.B, 2*truth.Radius/perMM)
}

// printOver prints what the sheet has at a pixel over the paper that is drawn
// there: the mean of 4 × 4 places within it, in linear light.
func printOver(im *image.NRGBA, x, y int, perMM float64, s tag.Sheet, code [][]bool, card bool, gains [3]float64, exposure float64) {
	sum, n := 0.0, 0
	for i := range 16 {
		if v, ok := printed(s, code, card, (float64(x)+float64(i%4)/4+0.125)/perMM, (float64(y)+float64(i/4)/4+0.125)/perMM); ok {
			sum, n = sum+v, n+1
		}
	}
	if n == 0 {
		return
	}
	c := im.NRGBAAt(x, y)
	at := func(v uint8, gain float64) uint8 {
		light := (cie.Linear(float64(v)/255)*float64(16-n) + sum*gain*exposure) / 16
		return uint8(math.Round(255 * cie.Encode(min(max(light, 0), 1))))
	}
	im.SetNRGBA(x, y, color.NRGBA{at(c.R, gains[0]), at(c.G, gains[1]), at(c.B, gains[2]), 255})
}

// printed is what a place of the sheet reflects, in millimetres; false where
// bare paper or the bloom shows.
func printed(s tag.Sheet, code [][]bool, card bool, x, y float64) (float64, bool) {
	for _, m := range s.Marks {
		switch d := math.Hypot(x-m[0], y-m[1]); {
		case d < s.HoleR:
			return paperY, true
		case d < s.MarkR:
			return inkY, true
		}
	}
	if u, v := x-s.Card.X, y-s.Card.Y; u >= 0 && v >= 0 && u < s.Card.W && v < s.Card.H {
		if card {
			return cardY, true
		}
		// The cross that a card hides: its arms end at the corners.
		slope := s.Card.H / s.Card.W
		off := min(math.Abs(v-u*slope), math.Abs(v-(s.Card.H-u*slope))) / math.Hypot(1, slope)
		if off < tag.CrossMM/2 {
			return inkY, true
		}
		return paperY, true
	}
	n := float64(len(code))
	if u, v := (x-s.Code.X)/s.Code.W*n, (y-s.Code.Y)/s.Code.H*n; u >= -4 && v >= -4 && u < n+4 && v < n+4 {
		if u >= 0 && v >= 0 && u < n && v < n && code[int(v)][int(u)] {
			return inkY, true
		}
		return paperY, true
	}
	return 0, false
}
