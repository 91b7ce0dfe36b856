package patches

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"hueward/colorimg/card"
	"hueward/colorimg/cie"

	"hueward/colorimg/render/scenes"
	"hueward/colorimg/shape"
)

// Sets drawn any way round, in daylight of 4000 to 9000 K, with a phone's
// contrast and saturation: found to a fifth of a patch, the right way round.
func TestFindRendered(t *testing.T) {
	s := garden(t)
	r := rand.New(rand.NewPCG(5, 5))
	t.Parallel()
	n, found := scenes.Count(8, 40), 0
	least := 1.0
	for i := range n {
		w := 200 + 270*r.Float64()
		o := shot{seed: uint64(i), gradient: 0.25 * r.Float64(), contrast: 0.6 * r.Float64(), saturation: 0.3 * r.Float64(), noise: 2,
			busy: i%2 == 1}
		o.quad = turned(400+90*(r.Float64()-0.5), 300+50*(r.Float64()-0.5), w, w*0.66, 360*r.Float64(), 0.15*r.Float64())
		c := cie.SRGB.RGB(cie.Daylight(4000 + 5000*r.Float64()))
		k := 0.35 + 0.5*r.Float64()
		o.light = [3]float64{c[0] / c[1] * k, k, c[2] / c[1] * k}
		im := draw(t, s, o)
		q, score, ok := s.Find(im)
		if !ok {
			t.Logf("photo %d, %.0f pixels wide: not found, score %.3f", i, w, score)
			continue
		}
		found++
		least = min(least, score)
		if d := off(q, o.quad); d > w/6/5 {
			t.Errorf("photo %d: Find is off by %.1f pixels, want %.1f at most", i, d, w/6/5)
		}
		samples, err := s.Read(im, q)
		if err != nil {
			t.Errorf("photo %d: %v", i, err)
		} else if len(samples) != 24 {
			t.Errorf("photo %d: %d samples", i, len(samples))
		}
	}
	t.Logf("found %d of %d; lowest score %.3f", found, n, least)
	if 100*found < 95*n {
		t.Errorf("found %d of %d, want 95 %%", found, n)
	}
}

// A picture without the set does not show it: the same card with its colours in
// another order, and gravel.
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
		q := turned(400, 300, 400, 260, 20, 0)
		if i%4 == 3 {
			q = turned(400, 300, 12, 8, 20, 0) // too small to be seen: gravel alone
		}
		im := draw(t, &other, shot{quad: q, noise: 2, busy: i%2 == 1, seed: uint64(i)})
		if q, score, ok := s.Find(im); ok {
			t.Errorf("picture %d: Find = %.0f with score %.3f, want none", i, q, score)
		}
		if _, err := s.Read(im, turned(400, 300, 400, 260, 20, 0)); !errors.Is(err, ErrNoMatch) {
			t.Errorf("picture %d: Read = %v, want %v", i, err, ErrNoMatch)
		}
	}
}

// Rows and columns exchanged are found where the names leave it open, and only
// there.
func TestFindExchanged(t *testing.T) {
	s := garden(t)
	quad := turned(400, 300, 280, 420, 8, 0.05) // its rows run down the picture
	back := card.Quad{quad[0], quad[3], quad[2], quad[1]}
	im := draw(t, s, shot{quad: back, noise: 2, light: [3]float64{0.7, 0.7, 0.7}})
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
	quad := turned(400, 300, 420, 280, 190, 0.05)
	im := draw(t, s, shot{quad: quad, noise: 2, light: [3]float64{0.7, 0.6, 0.5}, contrast: 0.5})
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
		{"outside", turned(5000, 384, 420, 280, 0, 0), ErrSmall},
		{"tiny", turned(400, 300, 12, 8, 0, 0), ErrSmall},
		{"the ground", turned(90, 540, 140, 90, 0, 0), ErrNoMatch},
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
	light := [3]float64{0.9, 0.8, 0.6}
	quad := turned(400, 300, 420, 280, 30, 0.1)
	samples, err := s.Read(draw(t, s, shot{quad: quad, noise: 2, light: light}), quad)
	if err != nil {
		t.Fatal(err)
	}
	known := s.known()
	for i, p := range samples {
		if p.ID != s.Patches[i].ID || p.Ref != s.Patches[i].Ref || p.Neutral != s.Patches[i].Neutral {
			t.Fatalf("sample %d is %+v, want that of %+v", i, p, s.Patches[i])
		}
		for c := range 3 {
			want := known[i][c] * light[c]
			if math.Abs(p.RGB[c]-want) > 0.002+0.004*want {
				t.Errorf("%s channel %d = %.4f, want %.4f ± %.4f", p.ID, c, p.RGB[c], want, 0.002+0.004*want)
			}
			if !(p.SE[c] >= 0 && p.SE[c] < 0.002) {
				t.Errorf("%s channel %d has standard error %.5f, want 0 to 0.002", p.ID, c, p.SE[c])
			}
		}
		if p.Clipped != 0 || p.Pixels < 300 {
			t.Errorf("%s: clipped %.2f, %d pixels, want 0, 500 or more", p.ID, p.Clipped, p.Pixels)
		}
	}
	samples, err = s.Read(draw(t, s, shot{quad: quad, light: [3]float64{1.4, 1.4, 1.4}}), quad)
	if err != nil {
		t.Fatal(err)
	}
	if w := samples[18]; w.ID != "D1" || w.Clipped < 0.99 {
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
