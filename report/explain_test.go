package report

import (
	"image"
	"image/color"
	"math"
	"runtime"
	"strings"
	"sync"
	"testing"

	"hueward/colorimg"
)

// apricot is a whole reading of a photo of 4000 × 3000 pixels: the petals a
// square with a disc in it, a card at the lower left, eight rings.
func apricot() *colorimg.Reading {
	plant := "M-07"
	r := &colorimg.Reading{
		File: "garden/IMG_0412.jpg", Plant: &plant, Camera: "Garden Pocket 1", Size: [2]int{4000, 3000}, Status: colorimg.OK,
		Lab: &colorimg.Triple{76, 18, 42}, LCh: &colorimg.Triple{76, 45.7, 66.8}, Hex: "#e7ae70", Name: "moderate orange yellow",
		Spread: &colorimg.Triple{3, 2, 4}, SE: colorimg.Errors{Precision: 0.71, Trueness: 6.1}, Profile: "sRGB",
		Colors: []colorimg.Share{{Lab: colorimg.Triple{76, 18, 42}, Share: 0.8}, {Lab: colorimg.Triple{40, 30, 20}, Share: 0.2}},
		Petal: colorimg.PetalArea{Pixels: 3900000, Share: 0.325, Bloom: &colorimg.Point{2000, 1400}, DiameterPixels: 2000,
			Outline: [][]colorimg.Point{{{1000, 400}, {3000, 400}, {3000, 2400}, {1000, 2400}}}},
		Card: colorimg.CardRead{Found: true, Kind: "grey", Gains: [3]float64{1.2, 1, 0.8}, CCT: 5600, EV: -0.4,
			Corners: &[4]colorimg.Point{{200, 2500}, {600, 2500}, {600, 2900}, {200, 2900}}},
		Zones: []colorimg.Zone{{Name: "eye", From: 0, To: 0.25, Lab: colorimg.Triple{40, 30, 20}, Share: 0.0625},
			{Name: "body", From: 0.25, To: 1, Lab: colorimg.Triple{76, 18, 42}, Share: 0.9375}},
		Flags: []colorimg.Flag{},
	}
	for i := range 8 {
		c := colorimg.Triple{40 + 5*float64(i), 30, 20}
		r.Radial = append(r.Radial, colorimg.Ring{At: (float64(i) + 0.5) / 8, Lab: c, Share: 0.125})
	}
	return r
}

// reasonsOf fills a picture of 400 × 300 by a rule.
func reasonsOf(rule func(x, y int) colorimg.Reason) *colorimg.Reasons {
	q := &colorimg.Reasons{W: 400, H: 300, Pix: make([]colorimg.Reason, 400*300)}
	for i := range q.Pix {
		q.Pix[i] = rule(i%400, i/400)
	}
	return q
}

// bands has every reason in the bloom of apricot, 25 columns each.
func bands(x, y int) colorimg.Reason {
	if x < 100 || x >= 300 || y < 40 || y >= 240 {
		return colorimg.Ground
	}
	order := []colorimg.Reason{colorimg.Rim, colorimg.Read, colorimg.Read, colorimg.Disc, colorimg.Clipped, colorimg.Shadow, colorimg.Browned,
		colorimg.Browned}
	return order[(x-100)/25]
}

// The lines pass where the reading says. The photo of 4000 × 3000 is shown at
// 620 × 465 from (40, 148): 0.155 of its size, so that the petals' left edge
// at 1000 comes to 40 + 155 and their upper at 400 to 148 + 62, and the card's
// corner (600, 2900) to (133, 597.5).
func TestExplainOutlines(t *testing.T) {
	ground := color.NRGBA{160, 20, 90, 255}
	got := Explain(flat(800, 600, ground), apricot())
	for _, p := range []image.Point{{195, 400}, {505, 400}, {250, 210}, {350, 520}, {71, 560}, {133, 560}, {100, 536}, {133, 597}} {
		light, dark := 0, 255
		for dy := -4; dy <= 4; dy++ {
			for dx := -4; dx <= 4; dx++ {
				l := luma(got.NRGBAAt(p.X+dx, p.Y+dy))
				light, dark = max(light, l), min(dark, l)
			}
		}
		if light < 200 || dark > 60 {
			t.Errorf("near %v: lightest %d, darkest %d; want at least 200 and at most 60", p, light, dark)
		}
	}
	for _, p := range []image.Point{{300, 450}, {100, 570}, {45, 152}, {655, 608}} {
		if c := got.NRGBAAt(p.X, p.Y); c != ground {
			t.Errorf("pixel %v = %v, want the photo's %v: no line passes there", p, c, ground)
		}
	}
	// Outside the photo's place is paper.
	for _, p := range []image.Point{{38, 400}, {662, 400}} {
		if c := got.NRGBAAt(p.X, p.Y); c != sheetPaper {
			t.Errorf("pixel %v = %v, want paper", p, c)
		}
	}
}

// Colours are shown where they are named: the reading's in its swatch, the two
// of the petals in a bar of their shares (0.8 of 295 pixels from 40), the
// rings in a strip of eight equal parts from 80 to 1170.
func TestExplainSwatches(t *testing.T) {
	r := apricot()
	got := Explain(flat(80, 60, color.NRGBA{1, 2, 3, 255}), r)
	hexAt := func(what string, x, y int, hex string) {
		t.Helper()
		want, ok := hexColor(hex)
		if c := got.NRGBAAt(x, y); !ok || c != want {
			t.Errorf("%s at %d,%d = %v, want %s", what, x, y, c, hex)
		}
	}
	hexAt("the reading", 1400, 200, r.Hex)
	hexAt("the first colour", 40+230, 670, r.Colors[0].Lab.Lab().Hex())
	hexAt("the second colour", 40+242, 670, r.Colors[1].Lab.Lab().Hex())
	for i, ring := range r.Radial {
		hexAt("a ring", 80+(1170-80)*(2*i+1)/16, int(explainTop+explainTall+270+profileStrip)+17, ring.Lab.Lab().Hex())
	}
}

// Nothing is written into the margins or between the columns, however long the
// names and however many the doubts, and the last line is whole.
func TestExplainKeepsItsMargins(t *testing.T) {
	long := strings.Repeat("A_very_long_name ", 40)
	r := apricot()
	r.File, r.Camera, r.Profile, r.Model, r.Name, r.Hex = "x/"+strings.Repeat("W", 3000)+".jpg", long, long, long, long, long
	r.Plant, r.Reasons = &long, reasonsOf(bands)
	r.Card.Kind, r.Card.Gains, r.Card.CCT, r.Card.EV = long, [3]float64{1e9, 1e9, 1e9}, 1e12, -1e9
	r.Tag = colorimg.TagRead{Found: true, Text: long, Sheet: long}
	r.SE = colorimg.Errors{Precision: 1e15, Trueness: 1e15}
	r.Petal.DiameterMM = 1e12
	r.Lab, r.LCh, r.Spread = &colorimg.Triple{1e12, -1e12, 1e12}, &colorimg.Triple{1e12, 1e12, 1e12}, &colorimg.Triple{1e12, 1e12, 1e12}
	r.Zones[0].Name = long
	for range 8 {
		r.Flags = append(r.Flags, colorimg.FlagCardTwo, colorimg.FlagProfile, colorimg.Flag(long), colorimg.Flag(strings.Repeat("W", 900)))
	}
	refused := apricot()
	refused.Status, refused.Reason, refused.Flags = colorimg.Refused, strings.Repeat("W", 400)+"; "+long, r.Flags
	for name, r := range map[string]*colorimg.Reading{"long": r, "refused": refused} {
		got := Explain(flat(80, 60, color.NRGBA{90, 90, 90, 255}), r)
		w, h := got.Rect.Dx(), got.Rect.Dy()
		if w != 1600 || h < 1100 || h > 4*1100 {
			t.Errorf("%s: %d × %d, want 1600 wide and 1100 to 4400 high", name, w, h)
		}
		blank := []image.Rectangle{{image.Pt(0, 0), image.Pt(38, h)}, {image.Pt(1562, 0), image.Pt(w, h)},
			{image.Pt(1176, 110), image.Pt(1206, h)}, {image.Pt(0, h-20), image.Pt(w, h)}}
		if name != "refused" {
			blank = append(blank, image.Rect(664, 160, 686, 860))
		}
	looking:
		for _, b := range blank {
			for y := b.Min.Y; y < b.Max.Y; y++ {
				for x := b.Min.X; x < b.Max.X; x++ {
					if c := got.NRGBAAt(x, y); c != sheetPaper {
						t.Errorf("%s: pixel %d,%d = %v, want paper in %v", name, x, y, c, b)
						continue looking
					}
				}
			}
		}
	}
}

// A usual reading's picture is about 1600 × 1100, and grows where the doubts
// need it; it is the same every time, also when several are drawn at once.
func TestExplainSize(t *testing.T) {
	photo := flat(400, 300, color.NRGBA{200, 120, 60, 255})
	var few [2]*image.NRGBA
	var both sync.WaitGroup
	for i := range few {
		both.Go(func() { few[i] = Explain(photo, apricot()) })
	}
	both.Wait()
	if h := few[0].Rect.Dy(); h < 1100 || h > 1150 {
		t.Errorf("height = %d, want 1100 to 1150", h)
	}
	if string(few[0].Pix) != string(few[1].Pix) {
		t.Error("two pictures of one reading differ")
	}
	if len(few[0].Pix) != 4*1600*few[0].Rect.Dy() {
		t.Errorf("%d bytes for %v", len(few[0].Pix), few[0].Rect)
	}
	r := apricot()
	r.Flags = []colorimg.Flag{colorimg.FlagNoCard, colorimg.FlagBloomTwo, colorimg.FlagBloomEdge, colorimg.FlagCardTwo,
		colorimg.FlagPetalShadow,
		colorimg.FlagLightOdd, colorimg.FlagPetalClipped, colorimg.FlagLightUneven, colorimg.FlagPetalUncertain, colorimg.FlagCardUncertain}
	if h := Explain(photo, r).Rect.Dy(); h <= few[0].Rect.Dy() {
		t.Errorf("height with ten doubts = %d, want more than %d", h, few[0].Rect.Dy())
	}
}

// However much a reading holds, drawing takes the same memory: the sheet, the
// photo's copy, and as much again for its parts and shapes.
func TestExplainMemory(t *testing.T) {
	photo := flat(1600, 1200, color.NRGBA{200, 120, 60, 255})
	r := apricot()
	r.Reasons = reasonsOf(bands)
	r.File = strings.Repeat("W", 1<<20) + ".jpg"
	for i := range 20000 {
		s, c := math.Sincos(float64(i) * math.Pi / 10000)
		r.Petal.Outline[0] = append(r.Petal.Outline[0], colorimg.Point{2000 + 900*c, 1400 + 900*s})
		r.Radial = append(r.Radial, colorimg.Ring{At: 1, Lab: colorimg.Triple{50, 5, 5}})
		r.Flags = append(r.Flags, colorimg.FlagCardTwo)
		r.Colors = append(r.Colors, r.Colors[0])
	}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	Explain(photo, r)
	runtime.ReadMemStats(&after)
	if mb := float64(after.TotalAlloc-before.TotalAlloc) / (1 << 20); mb > 160 {
		t.Errorf("one picture took %.0f MB, want at most 160", mb)
	} else {
		t.Logf("one picture took %.0f MB", mb)
	}
}

// Whatever a reading lacks, a picture comes of it.
func TestExplainAwkward(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	photo := flat(80, 60, color.NRGBA{200, 120, 60, 255})
	edit := func(f func(*colorimg.Reading)) *colorimg.Reading {
		r := apricot()
		f(r)
		return r
	}
	for name, c := range map[string]struct {
		photo image.Image
		r     *colorimg.Reading
	}{
		"nothing known":    {nil, &colorimg.Reading{}},
		"refused, nothing": {nil, &colorimg.Reading{Status: colorimg.Refused, Reason: "cannot be opened"}},
		"refused, a card": {photo, edit(func(r *colorimg.Reading) {
			r.Status, r.Reason, r.Lab = colorimg.Refused, "no bloom found; give --bloom x,y", nil
		})},
		"no photo":    {nil, apricot()},
		"empty photo": {image.NewNRGBA(image.Rectangle{}), apricot()},
		"a line":      {flat(4000, 1, color.NRGBA{9, 9, 9, 255}), edit(func(r *colorimg.Reading) { r.Size = [2]int{4000, 1} })},
		"a column":    {flat(1, 4000, color.NRGBA{9, 9, 9, 255}), edit(func(r *colorimg.Reading) { r.Size = [2]int{1, 4000} })},
		"no size":     {photo, edit(func(r *colorimg.Reading) { r.Size = [2]int{} })},
		"no card":     {photo, edit(func(r *colorimg.Reading) { r.Card = colorimg.CardRead{Gains: [3]float64{1, 1, 1}} })},
		"no petals":   {photo, edit(func(r *colorimg.Reading) { r.Petal = colorimg.PetalArea{} })},
		"one ring":    {photo, edit(func(r *colorimg.Reading) { r.Radial = r.Radial[:1] })},
		"no ring":     {photo, edit(func(r *colorimg.Reading) { r.Radial, r.Zones = nil, nil })},
		"grey rings":  {photo, edit(func(r *colorimg.Reading) { r.Radial = []colorimg.Ring{{At: 0.5, Lab: colorimg.Triple{50, 0, 0}}} })},
		"many rings": {photo, edit(func(r *colorimg.Reading) {
			for i := range 5000 {
				r.Radial = append(r.Radial, colorimg.Ring{At: float64(i), Lab: colorimg.Triple{50, 5, 5}})
			}
		})},
		"not numbers": {photo, edit(func(r *colorimg.Reading) {
			r.Lab, r.LCh, r.Spread = &colorimg.Triple{nan, nan, nan}, &colorimg.Triple{inf, inf, inf}, &colorimg.Triple{nan, inf, -inf}
			r.Radial[3].Lab[1], r.Radial[4].At, r.Radial[5].Share, r.Zones[0].To = nan, inf, nan, nan
			r.Colors[0].Share, r.Colors[1].Lab[0], r.SE.Precision = nan, nan, inf
			r.Petal.Outline, r.Petal.Bloom, r.Petal.Share = [][]colorimg.Point{{{nan, inf}, {nan, 3}, {inf, 4}}}, &colorimg.Point{nan, inf}, nan
			r.Card.Corners, r.Card.CCT, r.Card.EV, r.Petal.DiameterMM = &[4]colorimg.Point{{nan, nan}, {inf, 3}, {1e300, 4}, {0, -1e300}}, inf, nan,
				inf
		})},
		"far outside": {photo, edit(func(r *colorimg.Reading) { r.Petal.Outline = [][]colorimg.Point{{{1e300, 0}, {1e301, 9}, {-1e300, 9}}} })},
		"empty loops": {photo, edit(func(r *colorimg.Reading) { r.Petal.Outline = [][]colorimg.Point{{}, {{1, 1}}} })},
		"reasons cut off": {photo, edit(func(r *colorimg.Reading) {
			r.Reasons = &colorimg.Reasons{W: 40, H: 30, Pix: make([]colorimg.Reason, 7)}
		})},
		"no reasons": {photo, edit(func(r *colorimg.Reading) { r.Reasons = &colorimg.Reasons{} })},
		"all ground": {photo, edit(func(r *colorimg.Reading) {
			r.Reasons = reasonsOf(func(x, y int) colorimg.Reason { return colorimg.Ground })
		})},
		"unknown reasons": {photo, edit(func(r *colorimg.Reading) {
			r.Reasons = reasonsOf(func(x, y int) colorimg.Reason { return colorimg.Reason(x) })
		})},
		"unknown flag": {photo, edit(func(r *colorimg.Reading) { r.Flags = []colorimg.Flag{"not-known", ""} })},
		"tag":          {photo, edit(func(r *colorimg.Reading) { r.Tag = colorimg.TagRead{Found: true, Corners: r.Card.Corners} })},
	} {
		got := Explain(c.photo, c.r)
		if got.Rect.Dx() != 1600 || got.Rect.Dy() < 1100 {
			t.Errorf("%s: %v, want 1600 × 1100 or higher", name, got.Rect)
		}
		inked := 0
		for i := 0; i < len(got.Pix); i += 4 {
			if got.Pix[i] < 100 {
				inked++
			}
		}
		if inked < 300 {
			t.Errorf("%s: %d dark pixels, want some words at least", name, inked)
		}
	}
}
