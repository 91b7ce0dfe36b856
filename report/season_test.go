package report

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/selection"
)

// A made-up garden of pot marigolds on the way from orange and cream to a buff
// apricot, with every kind of thing that a report can have to show. The colours
// are invented; nothing here is a measurement.

var buff = cie.Lab{L: 76, A: 16, B: 36}

func hexOf(c cie.Lab) string {
	rgb := cie.SRGB.RGB(c.XYZ())
	var n [3]uint8
	for i, v := range []float64{rgb[0], rgb[1], rgb[2]} {
		n[i] = uint8(math.Round(255 * cie.Encode(min(1, max(0, v)))))
	}
	return fmt.Sprintf("#%02x%02x%02x", n[0], n[1], n[2])
}

// garden returns a season of n plants with photos of each, the same for the
// same n.
func garden(n, photos int) *Season {
	rnd := rand.New(rand.NewPCG(7, uint64(n)))
	s := &Season{
		Line: "buff apricot", Season: "2026", Aim: Move,
		Made: time.Date(2026, 9, 12, 18, 30, 0, 0, time.UTC),
		Target: Target{Lab: buff, Within: 4, Name: "moderate orange yellow", Hex: hexOf(buff),
			Source: "given as L* a* b*"},
		Unmeasured: []selection.Unmeasured{{ID: "M25", Why: "no photo this season"},
			{ID: "M26", Why: "its only photo was refused: no grey card found"}},
		Refused: []Refused{
			{"photos/2026/M26/M26_1.jpg", "M26", "no grey card found", "give --card x,y,w,h or photograph it again"},
			{"photos/2026/M11/M11_4.jpg", "M11", "the card is too bright to read", "take a darker photo, or move out of the sun"},
		},
		Repeatability: &Repeatability{Value: 0.91},
		Trueness:      2.5,
		Sure: "The first three places are clear; from the fourth to the eighth, plants are close and their order may change with " +
			"more photos.",
		Assumed: []string{
			"The grey card reflects 18 % of the light (L* 49.5).",
			"Photos without a colour profile were read as sRGB.",
			"Delta E 2000 with kL = kC = kH = 1, for D65 and the 2 degree observer.",
		},
		Warnings: []string{"Two plants have only one photo each: their intervals are wide and partly assumed."},
		Version:  "0.1.0",
	}
	for i := range n {
		t := rnd.Float64()
		c := cie.Lab{ // from orange to cream
			L: 68 + 18*t + 3*rnd.NormFloat64(),
			A: 34 - 32*t + 4*rnd.NormFloat64(),
			B: 58 - 36*t + 6*rnd.NormFloat64(),
		}
		d := cie.DeltaE2000(c, buff)
		k := photos
		if i == 5 && k > 1 {
			k = 1
		}
		se := 0.9 / math.Sqrt(float64(max(k, 1)))
		s.Plants = append(s.Plants, Plant{
			ID: fmt.Sprintf("M%02d", i+1), Lab: c, Hex: hexOf(c), SE: &colorimg.Triple{se, 1.2 * se, 1.6 * se},
			Name: "light orange yellow", DeltaE: d, Low: max(0, d-1.8*se), High: d + 1.9*se,
			Direction: "lighter and yellower than the target", Photos: k, ChanceKept: math.NaN(),
		})
	}
	slices.SortStableFunc(s.Plants, func(a, b Plant) int {
		if a.DeltaE < b.DeltaE {
			return -1
		}
		return 1
	})
	for i := range s.Plants {
		p := &s.Plants[i]
		p.Rank = i + 1
		p.ChanceKept = 1 / (1 + math.Exp(float64(i)-5.5))
		switch {
		case i < 6:
			p.Advice, p.Why = Keep, "among the six nearest, and clear of the seventh"
		case i < 9:
			p.Advice, p.Why = Reserve, "close behind the kept; the photos cannot tell them apart"
		default:
			p.Advice, p.Why = Pass, "farther from the target than any plant kept"
		}
		for j := range p.Photos {
			s.Photos = append(s.Photos, madeUpPhoto(p, j, rnd))
		}
	}
	if n > 3 {
		s.Plants[1].Note = "sturdy, short stems"
		s.Plants[3].Colors = []colorimg.Share{{Lab: colorimg.Triple{74, 18, 38}, Share: 0.8}, {Lab: colorimg.Triple{60, 34, 50}, Share: 0.2}}
		s.Plants[2].Warnings = []string{"Its two photos differ by 4.1: photograph it again in open shade."}
	}
	return s
}

// madeUpPhoto draws a round bloom and a card, and says where they are.
func madeUpPhoto(p *Plant, j int, rnd *rand.Rand) Photo {
	const w, h, scale = 320, 240, 10
	im := image.NewNRGBA(image.Rect(0, 0, w, h))
	draw.Draw(im, im.Rect, image.NewUniform(color.NRGBA{94, 104, 78, 255}), image.Point{}, draw.Src)
	cx, cy, r := 190+20*rnd.Float64(), 110+20*rnd.Float64(), 70+15*rnd.Float64()
	edge := func(t float64) float64 { return r * (1 + 0.07*math.Cos(14*t)) }
	var bloom color.NRGBA
	fmt.Sscanf(p.Hex, "#%02x%02x%02x", &bloom.R, &bloom.G, &bloom.B)
	bloom.A = 255
	for y := range h {
		for x := range w {
			dx, dy := float64(x)-cx, float64(y)-cy
			switch d := math.Hypot(dx, dy); {
			case d < 16:
				im.SetNRGBA(x, y, color.NRGBA{110, 70, 30, 255})
			case d < edge(math.Atan2(dy, dx)):
				shade := 0.9 + 0.1*d/r + 0.03*rnd.NormFloat64()
				im.SetNRGBA(x, y, color.NRGBA{byteOf(bloom.R, shade), byteOf(bloom.G, shade), byteOf(bloom.B, shade), 255})
			}
		}
	}
	card := image.Rect(24, 130, 94, 200)
	draw.Draw(im, card, image.NewUniform(color.NRGBA{119, 119, 119, 255}), image.Point{}, draw.Src)

	var outer, inner []colorimg.Point
	for i := range 90 {
		s, c := math.Sincos(float64(i) * math.Pi / 45)
		e := edge(float64(i) * math.Pi / 45)
		outer = append(outer, colorimg.Point{scale * (cx + e*c), scale * (cy + e*s)})
		inner = append(inner, colorimg.Point{scale * (cx + 16*c), scale * (cy + 16*s)})
	}
	lab := colorimg.Triple{p.Lab.L + 0.4*float64(j), p.Lab.A, p.Lab.B - 0.6*float64(j)}
	reading := &colorimg.Reading{
		File: fmt.Sprintf("/home/garden/secret lane 4/%s/%s_%d.jpg", p.ID, p.ID, j+1),
		Size: [2]int{w * scale, h * scale}, Status: colorimg.OK, Lab: &lab, Hex: hexOf(lab.Lab()),
		Name: p.Name, Camera: "Own Phone 3",
		TakenAt: &colorimg.TakenAt{Time: time.Date(2026, 7, 3+j, 9, 40, 0, 0, time.UTC)},
		Petal:   colorimg.PetalArea{Pixels: 1_500_000, Share: 0.2, Outline: [][]colorimg.Point{outer, inner}},
		Card: colorimg.CardRead{Found: true, Corners: &[4]colorimg.Point{
			{240, 1300}, {940, 1300}, {940, 2000}, {240, 2000}}},
		Flags: []colorimg.Flag{},
	}
	switch rnd.IntN(12) {
	case 0:
		reading.Status, reading.Flags = colorimg.Check, []colorimg.Flag{colorimg.FlagCardUneven}
	case 1:
		reading.Status, reading.Flags = colorimg.Check, []colorimg.Flag{colorimg.FlagPetalClipped, colorimg.FlagLightUneven}
	case 2:
		reading.Flags = []colorimg.Flag{colorimg.FlagProfile}
	}
	return Photo{Plant: p.ID, Reading: reading, Thumb: im}
}

func byteOf(v uint8, by float64) uint8 { return uint8(min(255, max(0, float64(v)*by))) }
