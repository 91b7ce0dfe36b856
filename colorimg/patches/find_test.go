package patches

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"hueward/colorimg/card"
	"hueward/colorimg/must"
	"hueward/colorimg/render"
	"hueward/colorimg/render/scenes"
	"hueward/colorimg/shape"
)

// Sets any way round, in daylight of 4000 to 9000 K that falls off, with a phone's contrast and saturation, on boards, soil and
// leaves: found to a fifth of a patch, the right way round. The drawing does not share this package's geometry.
func TestFindRendered(t *testing.T) {
	t.Parallel()
	s := garden(t)
	r := rand.New(rand.NewPCG(5, 5))
	n, found := scenes.Count(6, 40), 0
	least := 1.0
	for i := range n {
		im, want := shoot(t, s, render.Scene{Seed: int64(i), Gradient: 0.12 * r.Float64(), Ground: render.Grounds[i%len(render.Grounds)],
			Kelvin: 4000 + 5000*r.Float64(), EV: -1.5 + 1.2*r.Float64(),
			Phone: &render.Phone{Contrast: 0.5 * r.Float64(), Saturation: 1 + 0.3*r.Float64()},
			Card: render.CardSpec{Width: 0.27 + 0.34*r.Float64(), Angle: 360 * r.Float64(), Tilt: 0.15 * r.Float64(),
				At: &[2]float64{0.5 + 0.1*(r.Float64()-0.5), 0.5 + 0.08*(r.Float64()-0.5)}}})
		patch := math.Sqrt(want.Area() / 24)
		q, score, ok := s.Find(im)
		if !ok {
			t.Logf("photo %d, patches of %.0f pixels: not found, score %.3f", i, patch, score)
			continue
		}
		found++
		least = min(least, score)
		if d := off(q, want); d > patch/5 {
			t.Errorf("photo %d: Find is off by %.1f pixels, want %.1f at most", i, d, patch/5)
		}
		if samples, err := s.Read(im, q); err != nil || len(samples) != 24 {
			t.Errorf("photo %d: %d samples, %v", i, len(samples), err)
		}
	}
	t.Logf("found %d of %d; lowest score %.3f", found, n, least)
	if 100*found < 95*n {
		t.Errorf("found %d of %d, want 95 %%", found, n)
	}
}

// A picture without the set does not show it: the same card with its colours in
// another order, and soil.
func TestFindNone(t *testing.T) {
	t.Parallel()
	s := garden(t)
	for i := range scenes.Count(4, 12) {
		other := *s
		other.Patches = append([]Patch(nil), s.Patches...)
		r := rand.New(rand.NewPCG(uint64(i), 2))
		r.Shuffle(24, func(a, b int) {
			other.Patches[a].Ref, other.Patches[b].Ref = other.Patches[b].Ref, other.Patches[a].Ref
		})
		o := render.Scene{Seed: int64(i), Ground: render.Grounds[i%len(render.Grounds)], EV: -0.5, Card: render.CardSpec{Width: 0.55, Angle: 20}}
		if i%4 == 3 {
			o.Ground, o.Card.Width = render.Soil, 0.01 // too small to be seen: soil alone
		}
		im, quad := shoot(t, &other, o)
		if q, score, ok := s.Find(im); ok {
			t.Errorf("picture %d: Find = %.0f with score %.3f, want none", i, q, score)
		}
		if i%4 == 3 {
			quad = card.Quad{{200, 150}, {600, 150}, {600, 450}, {200, 450}}
		}
		if _, err := s.Read(im, quad); !errors.Is(err, ErrNoMatch) {
			t.Errorf("picture %d: Read = %v, want %v", i, err, ErrNoMatch)
		}
	}
}

// Rows and columns exchanged are found where the names leave it open, and only
// there.
func TestFindExchanged(t *testing.T) {
	s := garden(t)
	turned := Set{Rows: s.Cols, Cols: s.Rows, Gap: s.Gap} // its rows run down the picture
	for _, p := range s.Patches {
		p.Row, p.Col = p.Col, p.Row
		turned.Patches = append(turned.Patches, p)
	}
	im, quad := shoot(t, &turned, render.Scene{EV: -0.5, Card: render.CardSpec{Width: 0.35, Angle: 8, Tilt: 0.05}})
	back := card.Quad{quad[0], quad[3], quad[2], quad[1]}
	if _, score, ok := s.Find(im); ok {
		t.Errorf("a mirrored set of a stated layout was found, score %.3f", score)
	}
	named := *s
	named.FromIDs = true
	q, score, ok := named.Find(im)
	if !ok || off(q, back) > 15 {
		t.Errorf("Find = %.0f, %.3f, %v, want %.0f ± 15", q, score, ok, back)
	}
}

func TestOrient(t *testing.T) {
	s := garden(t)
	im, quad := shoot(t, s, render.Scene{EV: -0.6, Kelvin: 5000, Phone: &render.Phone{Contrast: 0.5},
		Card: render.CardSpec{Width: 0.55, Angle: 190, Tilt: 0.05}})
	for k := range 4 {
		given := card.Quad{quad[k], quad[(k+1)%4], quad[(k+2)%4], quad[(k+3)%4]}
		for _, g := range []card.Quad{given, {given[3], given[2], given[1], given[0]}} {
			got, score, ok := s.Orient(im, g)
			if !ok || got != quad {
				t.Errorf("Orient(%.0f) = %.0f, %.3f, %v, want %.0f", g, got, score, ok, quad)
			}
			_, err := s.Read(im, g)
			if g == quad && err != nil {
				t.Errorf("Read = %v", err)
			}
			if g != quad && !errors.Is(err, ErrTurned) {
				t.Errorf("Read(%.0f) = %v, want %v", g, err, ErrTurned)
			}
		}
	}
	for _, k := range []struct {
		what string
		q    card.Quad
		want error
	}{
		{"a line", card.Quad{{10, 10}, {20, 20}, {30, 30}, {40, 40}}, ErrNoMatch},
		{"a point", card.Quad{{10, 10}, {10, 10}, {10, 10}, {10, 10}}, ErrNoMatch},
		{"not a number", card.Quad{{math.NaN(), 10}, {20, 20}, {30, 30}, {40, 40}}, ErrNoMatch},
		{"outside", card.Quad{{4800, 250}, {5200, 250}, {5200, 520}, {4800, 520}}, ErrSmall},
		{"tiny", quad.Shrunk(0.03), ErrSmall},
		{"the ground", card.Quad{{20, 495}, {160, 495}, {160, 585}, {20, 585}}, ErrNoMatch},
	} {
		if _, err := s.Read(im, k.q); !errors.Is(err, k.want) {
			t.Errorf("%s: Read = %v, want %v", k.what, err, k.want)
		}
	}
}

// Without curve or saturation the light that is read is the patches' own times
// the light, to the camera's noise and rounding.
func TestReadValues(t *testing.T) {
	s := garden(t)
	o := render.Scene{Kelvin: 5000, EV: -0.5, Card: render.CardSpec{Width: 0.55, Angle: 30, Tilt: 0.1}}
	im, quad := shoot(t, s, o)
	samples := must.Have(s.Read(im, quad))(t)
	known, light := s.known(), render.Gains(o.Kelvin, 1)
	for i, p := range samples {
		if p.ID != s.Patches[i].ID || p.Ref != s.Patches[i].Ref || p.Neutral != s.Patches[i].Neutral {
			t.Fatalf("sample %d is %+v, want that of %+v", i, p, s.Patches[i])
		}
		for c := range 3 {
			want := known[i][c] * light[c] * math.Exp2(o.EV)
			if math.Abs(p.RGB[c]-want) > 0.002+0.004*want {
				t.Errorf("%s channel %d = %.4f, want %.4f ± %.4f", p.ID, c, p.RGB[c], want, 0.002+0.004*want)
			}
			if !(p.SE[c] >= 0 && p.SE[c] < 0.002) {
				t.Errorf("%s channel %d has standard error %.5f, want 0 to 0.002", p.ID, c, p.SE[c])
			}
		}
		if p.Clipped != 0 || p.Pixels < 300 {
			t.Errorf("%s: clipped %.2f, %d pixels, want 0, 300 or more", p.ID, p.Clipped, p.Pixels)
		}
	}
	o.EV = 0.5
	im, quad = shoot(t, s, o)
	if w := must.Have(s.Read(im, quad))(t)[18]; w.ID != "D1" || w.Clipped < 0.99 {
		t.Errorf("overexposed white %s: clipped %.2f, want D1, 1", w.ID, w.Clipped)
	}
}

func TestPlane(t *testing.T) {
	from := [][2]float64{{0, 0}, {5, 0}, {5, 3}, {0, 3}, {2, 1}}
	want := plane{shape.Homography{80, 5, 100, -4, 90, 200, 0.01, 0.02, 1}}
	var to [][2]float64
	for _, p := range from {
		to = append(to, want.At(p))
	}
	got, ok := fitPlane(from, to)
	for i, v := range want.Homography {
		if !(math.Abs(got.Homography[i]/got.Homography[8]-v) <= 1e-8) || !ok {
			t.Fatalf("fitPlane = %v, %v, want %v", got, ok, want)
		}
	}
	if _, ok := fitPlane([][2]float64{{0, 0}, {1, 0}, {2, 0}, {3, 0}}, [][2]float64{{0, 0}, {1, 0}, {2, 0}, {3, 0}}); ok {
		t.Error("fitPlane took four points of one line")
	}
}
