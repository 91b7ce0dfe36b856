package camera_test

import (
	"testing"

	"hueward/colorimg/camera"
	"hueward/colorimg/card"
	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/colorimg/patches"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
	"hueward/colorimg/render/scenes"
	"hueward/colorimg/robust"
)

// petalColor is the median of the petals where the drawing has them, by the
// grey card where it has that, with the phone's model applied first; nil: none.
func petalColor(p *photo.Photo, truth render.Truth, m *camera.Model) cie.Lab {
	im := *p.Image
	im.Pix = append([]float32(nil), im.Pix...)
	if m != nil {
		m.Correct(im.Pix)
	}
	toWork := func(v [2]float64) [2]float64 {
		return [2]float64{(v[0]+0.5)/im.ScaleX - 0.5, (v[1]+0.5)/im.ScaleY - 0.5}
	}
	var q card.Quad
	for i, c := range truth.Card {
		q[i] = toWork(c)
	}
	gains := card.Read(&im, q, 0).Gains()
	var l, a, b []float64
	for y := range im.H {
		for x := range im.W {
			fx, fy := int((float64(x)+0.5)*im.ScaleX), int((float64(y)+0.5)*im.ScaleY)
			i := y*im.W + x
			if truth.Mask.GrayAt(fx, fy).Y == 0 || im.Clipped[i] > 0 {
				continue
			}
			v := im.Pix[3*i:]
			c := cie.SRGB.XYZ(cie.RGB{float64(v[0]) * gains[0], float64(v[1]) * gains[1], float64(v[2]) * gains[2]}).Lab()
			l, a, b = append(l, c.L), append(a, c.A), append(b, c.B)
		}
	}
	return cie.Lab{L: robust.Median(l), A: robust.Median(a), B: robust.Median(b)}
}

// A chart is drawn, found and learnt from; then petals in other photos of the
// phone, in other lights, are read by the grey card. Asked for: a median error
// of 2.5 at most.
func TestRenderedPhone(t *testing.T) {
	set := must.Have(patches.Open("../patches/testdata/garden24.txt"))(t)
	petals := []cie.Lab{
		{L: 76, A: 14, B: 38}, {L: 66, A: 30, B: 58}, {L: 88, A: 2, B: 24}, {L: 72, A: 24, B: -7}, {L: 92, A: 0, B: 4},
		{L: 58, A: 38, B: 10},
		{L: 46, A: 26, B: -26}, {L: 52, A: 50, B: 22}, {L: 82, A: 6, B: 58},
	}
	petals = petals[:scenes.Count(6, len(petals))]
	for name, phone := range map[string]render.Phone{"usual": render.UsualPhone, "strong": {Contrast: 0.35, Saturation: 1.3}} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			spec := &render.ChartSpec{Rows: set.Rows, Cols: set.Cols, Gap: set.Gap}
			for _, p := range set.Patches { // row by row in the file
				spec.Patches = append(spec.Patches, p.Ref.Lab())
			}
			p, _ := scenes.Shoot(t, render.Scene{
				Width: 1200, Height: 900, EV: -0.4, Kelvin: 6000, Seed: 1, Phone: &phone, At: [2]float64{0.1, 0.15}, Diameter: 0.15,
				Card: render.CardSpec{Chart: spec, Width: 0.6, At: &[2]float64{0.55, 0.5}, Angle: 5},
			})
			q, _, ok := set.Find(p.Image)
			if !ok {
				t.Fatal("the chart was not found")
			}
			samples := must.Have(set.Read(p.Image, q))(t)
			m := must.Have(camera.Fit(samples, &camera.Options{Profile: p.Profile}))(t)
			var with, without []float64
			for i, c := range petals {
				p, truth := scenes.Shoot(t, render.Scene{
					Width: 800, Height: 600, Petal: c, Seed: int64(10 + i), Phone: &phone, Ground: render.Grounds[i%len(render.Grounds)],
					Form: render.Forms[i%len(render.Forms)], Kelvin: 5200 + 450*float64(i%6), EV: -0.5 - 0.15*float64(i%5),
				})
				before, after := cie.DeltaE2000(truth.Seen, petalColor(p, truth, nil)), cie.DeltaE2000(truth.Seen,
					petalColor(p, truth, m))
				without, with = append(without, before), append(with, after)
				if after > before+1 || after > 3*m.Trueness() {
					t.Errorf("petals of %v: error %.2f with the model, %.2f without, trueness told %.2f", c, after, before, m.Trueness())
				}
			}
			a, b := robust.Median(without), robust.Median(with)
			t.Logf("%s: %s: median error of %d petals %.2f by the card alone, %.2f with the model; trueness %.2f", name, m, len(petals),
				a, b, m.Trueness())
			if b > 2.5 || b > a/2 {
				t.Errorf("median error = %.2f, want at most 2.5 and half of the card's %.2f", b, a)
			}
		})
	}
}
