package card_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"

	"hueward/colorimg/card"
	"hueward/colorimg/cie"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
	"hueward/colorimg/render/scenes"
)

// stripScene is a scene with a strip, in any light and exposure, with a phone's
// contrast.
func stripScene(i int) render.Scene {
	s := scenes.Varied(i, 7)
	r := rand.New(rand.NewPCG(uint64(i), 77))
	s.Phone = &render.Phone{Contrast: 0.10 + 0.25*r.Float64()}
	s.Card = render.CardSpec{Strip: true, Width: 0.17 + 0.10*r.Float64(), Angle: 360 * r.Float64(), Tilt: 0.08 * r.Float64(),
		Border: render.Border(r.IntN(3))}
	s.EV = min(s.HighestEV(), -0.1) - 0.7*r.Float64()
	return s
}

// stripDrawn is one of the photos with a strip, opened.
type stripDrawn struct {
	scene render.Scene
	im    *photo.Linear
	truth render.Truth
}

var (
	strips     []stripDrawn
	stripsOnce sync.Once
)

// stripsDrawn are the photos with a strip, drawn once for all tests.
func stripsDrawn(t *testing.T) []stripDrawn {
	t.Helper()
	stripsOnce.Do(func() {
		for i := range scenes.Count(5, 24) {
			s := stripScene(i)
			s.Width, s.Height = scenes.Count(800, 1600), scenes.Count(600, 1200)
			im, truth := picture(t, s)
			strips = append(strips, stripDrawn{s, im, truth})
		}
	})
	return strips
}

func TestFindStripRendered(t *testing.T) {
	t.Parallel()
	n, found, worst := 0, 0, 0.0
	for i, d := range stripsDrawn(t) {
		n++
		s, im, truth := d.scene, d.im, d.truth
		if truth.Strip[0] == ([4][2]float64{}) {
			t.Fatalf("scene %d has no strip", i)
		}
		q, ok := card.FindStrip(im, card.Find(im))
		if !ok {
			t.Logf("scene %d, %v: no strip found", i, s.Ground)
			continue
		}
		found++
		for k, p := range [3]card.Quad{q.White, q.Grey, q.Black} {
			d := corner(p, work(im, truth.Strip[k])) / math.Sqrt(p.Area())
			if d > 0.25 {
				t.Errorf("scene %d, %v: patch %d is off by %.2f of its width, want 0.25 at most", i, s.Ground, k, d)
			}
			worst = max(worst, d)
		}
		// The outline and its cutting up again.
		out := q.Outline()
		if out.Area() < 2.6*q.Grey.Area() || out.Area() > 3.5*q.Grey.Area() {
			t.Errorf("scene %d: the outline's area is %.2f grey patches, want 2.6 to 3.5", i, out.Area()/q.Grey.Area())
		}
		again, ok := card.SplitStrip(im, out)
		if !ok || corner(again.White, q.White) > 0.2*math.Sqrt(q.White.Area()) ||
			corner(again.Black, q.Black) > 0.2*math.Sqrt(q.Black.Area()) {
			t.Errorf("scene %d: SplitStrip of the outline, %v, = %.0f, want %.0f", i, ok, again, q)
		}
	}
	t.Logf("found %d of %d strips, worst corner off by %.2f of a patch", found, n, worst)
	if 10*found < 9*n {
		t.Errorf("found %d of %d strips, want 90 %%", found, n)
	}
}

// work is a quad of the full-size photo in working pixels.
func work(im *photo.Linear, q card.Quad) card.Quad {
	for i, p := range q {
		q[i] = [2]float64{(p[0]+0.5)/im.ScaleX - 0.5, (p[1]+0.5)/im.ScaleY - 0.5}
	}
	return q
}

// One grey card is not a strip, whatever lies around it.
func TestFindStripNone(t *testing.T) {
	t.Parallel()
	for i := range scenes.Count(3, 16) {
		s := scenes.Varied(i, 3)
		s.Width, s.Height = scenes.Count(800, 1600), scenes.Count(600, 1200)
		s.Phone = &render.Phone{Contrast: 0.2}
		im, _ := picture(t, s)
		if q, ok := card.FindStrip(im, card.Find(im)); ok {
			t.Errorf("scene %d, %v, border %v: FindStrip = %.0f in a photo with one grey card", i, s.Ground, s.Card.Border, q)
		}
	}
}

func TestSplitStripTurned(t *testing.T) {
	for _, degrees := range []float64{0, 40, 90, 135, 180, 270} {
		im := field(600, 500, [3]float32{0.3, 0.3, 0.3})
		outline := turned(300, 250, 300, 90, degrees)
		sin, cos := math.Sincos(degrees * math.Pi / 180)
		for k, v := range []float32{0.8, 0.18, 0.03} {
			u := float64(k-1) * 100
			cover(im, turned(300+u*cos, 250+u*sin, 100, 90, degrees), [3]float32{v, v, v})
		}
		for k := range 4 {
			q := card.Quad{outline[k], outline[(k+1)%4], outline[(k+2)%4], outline[(k+3)%4]}
			s, ok := card.SplitStrip(im, q)
			if !ok {
				t.Errorf("turned by %g°, from corner %d: no strip", degrees, k)
				continue
			}
			r := card.ReadStrip(im, s, [3]float64{})
			got := [3]float64{r.White.RGB[0], r.Grey.RGB[1], r.Black.RGB[2]}
			for i, want := range [3]float64{0.8, 0.18, 0.03} {
				if math.Abs(got[i]-want) > 1e-6 {
					t.Errorf("turned by %g°: patch %d reads %.4f, want %.4f", degrees, i, got[i], want)
				}
			}
			if r.White.Y != 0.90 || r.Grey.Y != 0.18 || r.Black.Y != 0.035 {
				t.Errorf("reflectances %g, %g, %g, want those of UsualStrip", r.White.Y, r.Grey.Y, r.Black.Y)
			}
		}
	}
	im := field(600, 500, [3]float32{0.3, 0.3, 0.3})
	if s, ok := card.SplitStrip(im, turned(300, 250, 300, 90, 0)); ok {
		t.Errorf("SplitStrip of an even board = %.0f, want none", s)
	}
}

// The figure: a strip at least halves the median error that one grey
// card leaves under a phone's tone curve. Petal colour through the true mask.
func TestStripHalvesError(t *testing.T) {
	t.Parallel()
	var one, three []float64
	n := 0
	for i, d := range stripsDrawn(t) {
		n++
		im, truth := d.im, d.truth
		if truth.Clipped > 0.02 {
			continue
		}
		found, ok := card.FindStrip(im, card.Find(im))
		if !ok {
			continue
		}
		strip := card.ReadStrip(im, found, [3]float64{})
		curve, err := strip.Curve()
		if err != nil {
			t.Errorf("scene %d: %v", i, err)
			continue
		}
		g := strip.Grey.Gains()
		gains := func(c [3]float32) [3]float32 {
			return [3]float32{c[0] * float32(g[0]), c[1] * float32(g[1]), c[2] * float32(g[2])}
		}
		one = append(one, cie.DeltaE2000(petals(im, truth, gains), truth.Seen))
		three = append(three, cie.DeltaE2000(petals(im, truth, curve.Apply), truth.Seen))
	}
	a, b := spread(one), spread(three)
	t.Logf("%d photos: grey card alone median %.2f, 90th percentile %.2f; strip %.2f, %.2f", len(one), a[0], a[1], b[0], b[1])
	if !(b[0] <= a[0]/2) || len(one) < n/2 {
		t.Errorf("median error %.2f with the strip, %.2f with its grey alone, over %d photos; want half at most", b[0], a[0], len(one))
	}
}

// petals is the median Lab of the petals inside the true mask, away from its
// edge, each pixel corrected.
func petals(im *photo.Linear, truth render.Truth, correct func([3]float32) [3]float32) cie.Lab {
	inside := func(x, y int) bool {
		fx, fy := int((float64(x)+0.5)*im.ScaleX), int((float64(y)+0.5)*im.ScaleY)
		b := truth.Mask.Bounds()
		return fx >= 0 && fy >= 0 && fx < b.Dx() && fy < b.Dy() && truth.Mask.GrayAt(fx, fy).Y > 0
	}
	var of [3][]float64
	for y := 1; y < im.H-1; y++ {
		for x := 1; x < im.W-1; x++ {
			if !inside(x, y) || !inside(x-1, y) || !inside(x+1, y) || !inside(x, y-1) || !inside(x, y+1) || im.Clipped[y*im.W+x] > 0 {
				continue
			}
			p := im.Pix[3*(y*im.W+x):]
			c := correct([3]float32{p[0], p[1], p[2]})
			l := cie.SRGB.XYZ(cie.RGB{float64(c[0]), float64(c[1]), float64(c[2])}).Lab()
			for k, v := range [3]float64{l.L, l.A, l.B} {
				of[k] = append(of[k], v)
			}
		}
	}
	return cie.Lab{L: spread(of[0])[0], A: spread(of[1])[0], B: spread(of[2])[0]}
}

// spread is the median and the 90th percentile.
func spread(v []float64) [2]float64 {
	if len(v) == 0 {
		return [2]float64{math.NaN(), math.NaN()}
	}
	s := slices.Clone(v)
	slices.Sort(s)
	return [2]float64{s[len(s)/2], s[len(s)*9/10]}
}
