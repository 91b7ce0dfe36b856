package petal_test

import (
	"math"
	"testing"

	"hueward/colorimg/cie"
	"hueward/colorimg/render"
	"hueward/colorimg/render/scenes"
)

// TestColorsOne: flowers of one colour, in all forms and lights, give one
// colour; at least 17 of 20.
func TestColorsOne(t *testing.T) {
	one, n := 0, scenes.Count(8, 60)
	for i := range n {
		s := scenes.Varied(i, 1)
		s.Width, s.Height, s.Eye = 640, 480, nil
		x := shoot(t, s)
		b, err := x.find(nil)
		if err != nil {
			t.Logf("%d: %v", i, err)
			continue
		}
		c, err := b.Colors()
		if err != nil {
			t.Errorf("%d: %v", i, err)
			continue
		}
		if len(c.Shares) == 1 {
			one++
		} else {
			t.Logf("%d: %v on %v, petals %.0f, reads %.2f", i, s.Form, s.Ground, s.Petal, c.Shares)
		}
	}
	t.Logf("one colour in %d of %d", one, n)
	if one*100 < 85*n {
		t.Errorf("one colour in %d of %d, want 85 %%", one, n)
	}
}

// TestColorsTwo: petals with tips of another colour give two colours, with
// shares within 0.1 of the true ones in seven of eight, the larger first. The true shares are
// counted in the drawing, without noise and blur, by the nearer of both hues.
func TestColorsTwo(t *testing.T) {
	orange, cream := cie.Lab{L: 66, A: 37, B: 60}, cie.Lab{L: 88, A: 1, B: 19}
	pink, white := cie.Lab{L: 70, A: 32, B: -2}, cie.Lab{L: 92, A: -1, B: 4}
	violet, yellow, red := cie.Lab{L: 40, A: 37, B: -40}, cie.Lab{L: 83, A: 3, B: 66}, cie.Lab{L: 46, A: 52, B: 31}
	far := 0
	for i, c := range []struct{ body, tip cie.Lab }{{orange, cream}, {pink, white}, {violet, white}, {red, yellow}} {
		for _, form := range []render.Form{render.Single, render.SemiDouble} {
			s := render.Scene{Width: 640, Height: 480, Petal: c.body, Tip: &c.tip, Form: form, Ground: render.DarkBoard, Diameter: 0.6,
				Seed: int64(i), EV: -0.7}
			x := shoot(t, s)
			b, err := x.find(nil)
			if err != nil {
				t.Errorf("%v of %v and %v: %v", form, c.body, c.tip, err)
				continue
			}
			got, err := b.Colors()
			if err != nil {
				t.Errorf("%v of %v and %v: %v", form, c.body, c.tip, err)
				continue
			}
			if len(got.Shares) != 2 {
				t.Errorf("%v of %v and %v: colours %.2f, want 2", form, c.body, c.tip, got.Shares)
				continue
			}
			first, second := got.Shares[0], got.Shares[1]
			if first.Share < second.Share || math.Abs(first.Share+second.Share-1) > 1e-9 {
				t.Errorf("%v: shares %.3f and %.3f, want the larger first and 1 in all", form, first.Share, second.Share)
			}
			body, tip := first, second
			if cie.DeltaE2000(body.Lab, c.body) > cie.DeltaE2000(tip.Lab, c.body) {
				body, tip = tip, body
			}
			want := tipShare(s)
			if math.Abs(tip.Share-want) > 0.1 {
				t.Logf("%v of %v and %v: the tips' share is %.3f, want %.3f ± 0.1", form, c.body, c.tip, tip.Share, want)
				far++
			}
			if d := cie.DeltaE2000(body.Lab, c.body); d > 2.5 {
				t.Errorf("%v: body reads %.1f, want %.1f: Delta E %.2f, want at most 2.5", form, body.Lab, c.body, d)
			}
			// The tip's colour comes in gradually, so its middle lies between.
			if cie.DeltaE2000(tip.Lab, c.tip) > 0.5*cie.DeltaE2000(c.body, c.tip) {
				t.Errorf("%v: tips read %.1f, want nearer %.1f than %.1f", form, tip.Lab, c.tip, c.body)
			}
			if got.Lab != first.Lab {
				t.Errorf("%v: Lab = %v, want the larger colour, %v", form, got.Lab, first.Lab)
			}
		}
	}
	if far > 1 {
		t.Errorf("the tips' share is off by more than 0.1 in %d of 8, want 1 at most", far)
	}
}

// tipShare is the share of the drawn petals nearer in hue and chroma to the
// tips than to the body.
func tipShare(s render.Scene) float64 {
	s.Noise, s.Blur = -1, -1
	im, truth := render.Draw(s)
	light := math.Exp2(-s.EV)
	flat := func(c cie.Lab) [2]float64 { return [2]float64{c.A * 60 / (c.L + 16), c.B * 60 / (c.L + 16)} }
	body, tip := flat(s.Petal), flat(*s.Tip)
	n, all := 0.0, 0.0
	for i, m := range truth.Mask.Pix {
		if m == 0 {
			continue
		}
		var v [3]float64
		for c := range v {
			v[c] = cie.Linear(float64(im.Pix[4*i+c])/255) * light
		}
		p := flat(cie.SRGB.XYZ(v).Lab())
		all++
		if math.Hypot(p[0]-tip[0], p[1]-tip[1]) < math.Hypot(p[0]-body[0], p[1]-body[1]) {
			n++
		}
	}
	return n / all
}

// TestColorsClipped: petals exposed until they clip say how many, and are not
// read from the clipped ones; fully clipped ones are not read at all.
func TestColorsClipped(t *testing.T) {
	for _, ev := range []float64{-0.6, 0, 1.2} {
		s := render.Scene{Petal: cie.Lab{L: 92, A: -1, B: 4}, Form: render.SemiDouble, Ground: render.DarkBoard, Diameter: 0.5, EV: ev}
		x := shoot(t, s)
		b, err := x.find(nil)
		if err != nil {
			t.Errorf("at %+.1f EV: %v", ev, err)
			continue
		}
		c, err := b.Colors()
		switch {
		case ev < 0 && (err != nil || c.Clipped > 0.05):
			t.Errorf("at %+.1f EV: %v, Clipped %.2f, want none", ev, err, c.Clipped)
		case ev == 0 && math.Abs(c.Clipped-x.truth.Clipped) > 0.15:
			t.Errorf("at %+.1f EV: Clipped = %.2f, drawn %.2f; want within 0.15", ev, c.Clipped, x.truth.Clipped)
		case ev > 1 && err == nil && c.Clipped < 0.8:
			t.Errorf("at %+.1f EV: Clipped = %.2f, drawn %.2f; want an error or 0.8", ev, c.Clipped, x.truth.Clipped)
		}
	}
}

// TestColorsClippedTwo: where much is cut off, which of two colours is the larger is a guess, and twice
// what is said of it reaches to the middle of the petals as drawn.
func TestColorsClippedTwo(t *testing.T) {
	x := shoot(t, render.Scene{Width: 480, Height: 360, Petal: cie.Lab{L: 46, A: 52, B: 31}, Tip: &cie.Lab{L: 83, A: 3, B: 66},
		Form: render.SemiDouble, Ground: render.DarkBoard, Diameter: 0.6, Seed: 3, EV: 0.4})
	b, err := x.find(nil)
	if err != nil {
		t.Fatal(err)
	}
	c, err := b.Colors()
	if err != nil || len(c.Shares) != 2 || c.Clipped < 1./3 {
		t.Fatalf("%v, colours %.2f, Clipped %.2f; want two, and a third or more cut off", err, c.Shares, c.Clipped)
	}
	if d := cie.DeltaE2000(c.Lab, x.truth.Seen); d < 5 || d > 2*c.Guessed {
		t.Errorf("Guessed = %.1f, %.1f from what is seen; want at least half of that, and that 5 or more", c.Guessed, d)
	}
}

// TestColorsWhite: a light told too bright shows as petals whiter than white.
func TestColorsWhite(t *testing.T) {
	x := shoot(t, render.Scene{Petal: cie.Lab{L: 92, A: -1, B: 4}, Form: render.SemiDouble, Ground: render.DarkBoard, Diameter: 0.5, EV: -0.8})
	for _, c := range []struct {
		k, low, high float64
	}{{1, 0, 0.01}, {1.5, 0.3, 1}} {
		y := x
		for i := range y.gains {
			y.gains[i] *= c.k
		}
		b, err := y.find(nil)
		if err != nil {
			t.Fatal(err)
		}
		got, err := b.Colors()
		if err != nil || got.White < c.low || got.White > c.high {
			t.Errorf("light told %.1f times too weak: White = %.3f, %v; want %.2f to %.2f", c.k, got.White, err, c.low, c.high)
		}
	}
}
