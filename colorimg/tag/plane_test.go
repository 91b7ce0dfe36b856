package tag

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// A code of 24 mm seen straight on by 10 pixels a millimetre: by hand.
func TestPlaneFlat(t *testing.T) {
	p, err := NewPlane([4][2]float64{{100, 50}, {340, 50}, {340, 290}, {100, 290}}, 24)
	if err != nil {
		t.Fatal(err)
	}
	if x, y := p.fwd.Apply(12, -3); math.Abs(x-220) > 1e-9 || math.Abs(y-20) > 1e-9 {
		t.Errorf("Pixel(12, -3) = %.6f, %.6f, want 220, 20 ± 1e-9", x, y)
	}
	if x, y := p.inv.Apply(100, 290); math.Abs(x) > 1e-9 || math.Abs(y-24) > 1e-9 {
		t.Errorf("MM(100, 290) = %.6f, %.6f, want 0, 24 ± 1e-9", x, y)
	}
	if s := p.Scale(0, 0); math.Abs(s-10) > 1e-9 {
		t.Errorf("Scale = %.6f, want 10 ± 1e-9", s)
	}
}

// pinhole is a camera that sees a paper at a distance, turned and tilted: the
// collinearity equations of photogrammetry, written out without a homography.
type pinhole struct{ focal, distance, turn, tilt, cx, cy float64 }

func (c pinhole) see(x, y float64) [2]float64 {
	x, y = x*math.Cos(c.turn)-y*math.Sin(c.turn), x*math.Sin(c.turn)+y*math.Cos(c.turn)
	z := c.distance + y*math.Sin(c.tilt)
	y *= math.Cos(c.tilt)
	return [2]float64{c.cx + c.focal*x/z, c.cy + c.focal*y/z}
}

func (c pinhole) corners(mm float64) (q [4][2]float64) {
	for i, p := range [4][2]float64{{0, 0}, {mm, 0}, {mm, mm}, {0, mm}} {
		q[i] = c.see(p[0], p[1])
	}
	return q
}

func TestPlanePinhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := pinhole{
			focal:    3000,
			distance: rapid.Float64Range(200, 800).Draw(t, "distance"),
			turn:     rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "turn"),
			tilt:     rapid.Float64Range(-1, 1).Draw(t, "tilt"),
			cx:       2000, cy: 1500,
		}
		p, err := NewPlane(c.corners(24), 24)
		if err != nil {
			t.Fatal(err)
		}
		x, y := rapid.Float64Range(-60, 60).Draw(t, "x"), rapid.Float64Range(-60, 60).Draw(t, "y")
		want := c.see(x, y)
		px, py := p.fwd.Apply(x, y)
		if math.Hypot(px-want[0], py-want[1]) > 1e-5 {
			t.Fatalf("Pixel(%.2f, %.2f) = %.6f, %.6f, want %.6f ± 1e-5", x, y, px, py, want)
		}
		if mx, my := p.inv.Apply(px, py); math.Hypot(mx-x, my-y) > 1e-6 {
			t.Fatalf("MM(Pixel(%.2f, %.2f)) = %.7f, %.7f", x, y, mx, my)
		}
		// A small square's area, by the camera.
		const d = 0.01
		a, e, s := c.see(x, y), c.see(x+d, y), c.see(x, y+d)
		area := math.Abs((e[0]-a[0])*(s[1]-a[1]) - (e[1]-a[1])*(s[0]-a[0]))
		if got, want := p.Scale(px, py), math.Sqrt(area)/d; math.Abs(got/want-1) > 1e-3 {
			t.Fatalf("Scale at (%.2f, %.2f) mm = %.5f, want %.5f ± 0.1 %%", x, y, got, want)
		}
	})
}

func TestPlaneRefuses(t *testing.T) {
	sq := [4][2]float64{{0, 0}, {10, 0}, {10, 10}, {0, 10}}
	for name, c := range map[string]struct {
		q  [4][2]float64
		mm float64
	}{
		"no width":    {sq, 0},
		"NaN width":   {sq, math.NaN()},
		"one line":    {[4][2]float64{{0, 0}, {10, 0}, {20, 0}, {30, 0}}, 24},
		"one point":   {[4][2]float64{}, 24},
		"mirrored":    {[4][2]float64{{10, 0}, {0, 0}, {0, 10}, {10, 10}}, 24},
		"crossed":     {[4][2]float64{{0, 0}, {10, 10}, {10, 0}, {0, 10}}, 24},
		"NaN corner":  {[4][2]float64{{math.NaN(), 0}, {10, 0}, {10, 10}, {0, 10}}, 24},
		"not bounded": {[4][2]float64{{0, 0}, {math.Inf(1), 0}, {10, 10}, {0, 10}}, 24},
	} {
		if p, err := NewPlane(c.q, c.mm); err == nil {
			t.Errorf("%s: NewPlane = %+v, want an error", name, p)
		}
	}
}
