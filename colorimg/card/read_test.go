package card_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"hueward/colorimg/card"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
)

// grainy multiplies every value by 1 plus noise of the standard deviation.
func grainy(im *photo.Linear, sd float64) {
	r := rand.New(rand.NewPCG(3, 4))
	for i := range im.Pix {
		im.Pix[i] *= float32(1 + sd*r.NormFloat64())
	}
}

// TestReadGiven: a card given by its corners is read to within 2 % of what was
// drawn, whichever corner comes first and whichever way round they go.
func TestReadGiven(t *testing.T) {
	for i, width := range []float64{0.05, 0.12, 0.25} {
		s := render.Scene{Width: 800, Height: 600, Diameter: 0.4, EV: -0.6, Kelvin: 4800, Seed: int64(i), Ground: render.Soil,
			Card: render.CardSpec{Width: width, Angle: 33 * float64(i+1), Border: render.DarkBorder}}
		im, truth := picture(t, s)
		q := card.Quad(truth.Card)
		want := card.Read(im, q, 0)
		for c := range 3 {
			if v := want.RGB[c] / truth.Gains[c] / math.Exp2(s.EV); math.Abs(v/0.18-1) > 0.02 {
				t.Errorf("card of %.2f: channel %d = %.4f, want 0.18 ± 2 %%", width, c, v)
			}
		}
		for _, o := range []card.Quad{{q[1], q[2], q[3], q[0]}, {q[2], q[3], q[0], q[1]}, {q[3], q[2], q[1], q[0]}} {
			got := card.Read(im, o, 0)
			if got.RGB != want.RGB || got.Pixels != want.Pixels || math.Abs(got.Slope-want.Slope) > 1e-3 {
				t.Errorf("card of %.2f, corners in another order: %+v, want %+v", width, got, want)
			}
		}
	}
}

// TestReadIgnores: what lies over a seventh of the face that is read changes the
// reading by less than 1 %: the fifth farthest from the middle is left out.
func TestReadIgnores(t *testing.T) {
	q := turned(200, 150, 140, 100, 20)
	at := func(u, v float64) [2]float64 { // 0 to 1 along the sides
		return [2]float64{q[0][0] + u*(q[1][0]-q[0][0]) + v*(q[3][0]-q[0][0]), q[0][1] + u*(q[1][1]-q[0][1]) + v*(q[3][1]-q[0][1])}
	}
	clean := field(400, 300, [3]float32{0.4, 0.4, 0.4})
	cover(clean, q, [3]float32{0.17, 0.18, 0.20})
	grainy(clean, 0.03)
	want := card.Read(clean, q, 0)
	for _, c := range []struct {
		name string
		over card.Quad
		rgb  [3]float32
	}{
		{"a pale scratch", card.Quad{at(0.05, 0.1), at(0.09, 0.06), at(0.95, 0.88), at(0.91, 0.92)}, [3]float32{0.6, 0.6, 0.6}},
		// A triangle of 0.55 × 0.55 / 2, that is 15 % of the card.
		{"a leaf's tip", card.Quad{at(0, 0.45), at(0, 1), at(0.55, 1), at(0.55, 1)}, [3]float32{0.05, 0.12, 0.03}},
		{"a stalk across", card.Quad{at(0.45, 0), at(0.55, 0), at(0.55, 1), at(0.45, 1)}, [3]float32{0.5, 0.28, 0.2}},
		{"a shine", card.Quad{at(0.5, 0.5), at(0.7, 0.5), at(0.7, 0.9), at(0.5, 0.9)}, [3]float32{1, 1, 1}},
	} {
		im := field(400, 300, [3]float32{0.4, 0.4, 0.4})
		cover(im, q, [3]float32{0.17, 0.18, 0.20})
		cover(im, c.over, c.rgb)
		grainy(im, 0.03)
		got := card.Read(im, q, 0)
		for ch := range 3 {
			if math.Abs(got.RGB[ch]/want.RGB[ch]-1) > 0.01 {
				t.Errorf("%s: channel %d = %.4f, want %.4f ± 1 %%", c.name, ch, got.RGB[ch], want.RGB[ch])
			}
		}
	}
}

// TestReadSlope: light that rises by a known share across the card, along
// either side or both, is read as that share.
func TestReadSlope(t *testing.T) {
	for _, angle := range []float64{0, 30, 75} {
		for _, c := range []struct{ u, v float64 }{{0, 0}, {0.3, 0}, {0, 0.2}, {0.3, 0.4}} {
			q := turned(200, 150, 120, 80, angle)
			im := field(400, 300, [3]float32{0.18, 0.18, 0.18})
			sin, cos := math.Sincos(angle * math.Pi / 180)
			for y := range im.H {
				for x := range im.W {
					dx, dy := float64(x)-200, float64(y)-150
					k := float32(1 + c.u*(dx*cos+dy*sin)/120 + c.v*(dy*cos-dx*sin)/80)
					for ch := range 3 {
						im.Pix[3*(y*im.W+x)+ch] *= k
					}
				}
			}
			grainy(im, 0.02)
			p := card.Read(im, q, 0)
			if want := math.Hypot(c.u, c.v); math.Abs(p.Slope-want) > 0.01 {
				t.Errorf("turned %.0f°, light rising by %.1f and %.1f: Slope = %.3f, want %.3f ± 0.01", angle, c.u, c.v, p.Slope, want)
			}
			if math.Abs(p.RGB[1]/0.18-1) > 0.01 {
				t.Errorf("turned %.0f°, light rising by %.1f and %.1f: green = %.4f, want 0.18 ± 1 %%: it rises and falls alike", angle,
					c.u, c.v, p.RGB[1])
			}
		}
	}
}

// TestReadClipped: the share of the face that is too bright is reported.
func TestReadClipped(t *testing.T) {
	for _, want := range []float64{0, 0.3, 1} {
		im := field(200, 200, [3]float32{0.9, 0.9, 0.9})
		q := card.Quad{{50, 50}, {150, 50}, {150, 150}, {50, 150}}
		for y := range 200 {
			for x := range 200 {
				if float64(x) < 61+78*want { // the face that is read runs from 61 to 139
					im.Clipped[y*200+x] = 255
				}
			}
		}
		if p := card.Read(im, q, 0); math.Abs(p.Clipped-want) > 0.02 {
			t.Errorf("Clipped = %.3f, want %.2f ± 0.02", p.Clipped, want)
		}
	}
	// By the photo: an 18 % card exposed by three stops too much is above white.
	s := render.Scene{Width: 800, Height: 600, Diameter: 0.4, EV: 3}
	im, truth := picture(t, s)
	if p := card.Read(im, card.Quad(truth.Card), 0); p.Clipped < 0.99 {
		t.Errorf("card exposed at +3 EV: Clipped = %.2f, want at least 0.99", p.Clipped)
	}
}

// TestReadError: the standard error covers the reading's true scatter. 200
// patches with known noise are read; the root mean square of their errors is
// within a third of the mean standard error.
func TestReadError(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 9))
	q := card.Quad{{20, 20}, {70, 20}, {70, 60}, {20, 60}}
	var sq, se float64
	const n = 200
	for range n {
		im := field(90, 80, [3]float32{0.18, 0.18, 0.18})
		for i := range im.Pix {
			im.Pix[i] += float32(0.02 * r.NormFloat64())
		}
		p := card.Read(im, q, 0)
		d := p.RGB[1] - 0.18
		sq += d * d / n
		se += p.SE[1] / n
		if math.Abs(p.Noise/(0.02*math.Sqrt(0.2126*0.2126+0.7152*0.7152+0.0722*0.0722)/0.18)-1) > 0.15 {
			t.Errorf("Noise = %.4f, want the luminance's relative scatter, within 15 %%", p.Noise)
		}
	}
	if rms := math.Sqrt(sq); rms < 0.67*se || rms > 1.33*se {
		t.Errorf("errors scatter by %.6f, standard error says %.6f; want within a third", rms, se)
	}
}

// TestPatchLight: the light is named from what it did to the card (the gains
// of CIE daylight), and undoing it makes the card grey again.
func TestPatchLight(t *testing.T) {
	for _, k := range []float64{4000, 5000, 6504, 9000, 12000} {
		g := render.Gains(k, 1)
		p := card.Patch{Y: 0.18, RGB: [3]float64{0.09 * g[0], 0.09 * g[1], 0.09 * g[2]}}
		kelvin, duv := p.Light()
		if math.Abs(1e6/kelvin-1e6/k) > 1 || duv > 5e-4 {
			t.Errorf("Light(%.0f K) = %.0f K, %.5f from daylight; want ± 1 mired, 0", k, kelvin, duv)
		}
		back := p.Gains()
		for c := range 3 {
			if v := back[c] * p.RGB[c]; math.Abs(v-0.18) > 1e-9 {
				t.Errorf("%.0f K: channel %d corrected = %v, want 0.18", k, c, v)
			}
		}
	}
	dim := card.Patch{Y: 0.18, RGB: [3]float64{0.09, 0.09, 0.09}}
	if math.Abs(dim.EV()+1) > 0.001 { // sRGB's luminance weights sum to 1
		t.Errorf("EV of half the light = %.4f, want -1 ± 0.001", dim.EV())
	}
}

// TestReadAwkward: a patch outside the picture, or of no area, gives no pixels
// and no panic.
func TestReadAwkward(t *testing.T) {
	im := field(40, 30, [3]float32{0.18, 0.18, 0.18})
	nan := math.NaN()
	for _, q := range []card.Quad{
		{},
		{{-50, -50}, {-20, -50}, {-20, -20}, {-50, -20}},
		{{100, 100}, {140, 100}, {140, 130}, {100, 130}},
		{{5.4, 5.4}, {5.6, 5.4}, {5.6, 5.6}, {5.4, 5.6}},
		{{nan, nan}, {nan, nan}, {nan, nan}, {nan, nan}},
		{{math.Inf(-1), 0}, {math.Inf(1), 0}, {math.Inf(1), 9}, {math.Inf(-1), 9}},
	} {
		p := card.Read(im, q, 0)
		if p.Pixels > 1 {
			t.Errorf("Read(%v): %d pixels, want none or one", q, p.Pixels)
		}
		for _, g := range p.Gains() {
			if math.IsNaN(g) || g <= 0 {
				t.Errorf("Read(%v): gain %v", q, g)
			}
		}
	}
}
