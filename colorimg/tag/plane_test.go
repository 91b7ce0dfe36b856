package tag

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// A code of 24 mm seen straight on by 10 pixels a millimetre: by hand.
func TestPixelsPerMMFlat(t *testing.T) {
	tag := Tag{Corners: [4][2]float64{{100, 50}, {340, 50}, {340, 290}, {100, 290}}}
	if s := tag.PixelsPerMM(24); math.Abs(s-10) > 1e-9 {
		t.Errorf("PixelsPerMM = %.6f, want 10 ± 1e-9", s)
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

func TestPixelsPerMMPinhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := pinhole{
			focal:    3000,
			distance: rapid.Float64Range(200, 800).Draw(t, "distance"),
			turn:     rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "turn"),
			tilt:     rapid.Float64Range(-1, 1).Draw(t, "tilt"),
			cx:       2000, cy: 1500,
		}
		// A small square's area, by the camera, where the middle of the diagonal is seen.
		q, lo, hi := c.corners(24), 0.0, 24.0
		for range 60 {
			if p := c.see((lo+hi)/2, (lo+hi)/2); math.Hypot(p[0]-q[0][0], p[1]-q[0][1]) < math.Hypot(q[2][0]-q[0][0], q[2][1]-q[0][1])/2 {
				lo = (lo + hi) / 2
			} else {
				hi = (lo + hi) / 2
			}
		}
		const d = 0.01
		a, e, s := c.see(lo, lo), c.see(lo+d, lo), c.see(lo, lo+d)
		area := math.Abs((e[0]-a[0])*(s[1]-a[1]) - (e[1]-a[1])*(s[0]-a[0]))
		if got, want := (Tag{Corners: q}).PixelsPerMM(24), math.Sqrt(area)/d; !(math.Abs(got/want-1) <= 1e-3) {
			t.Fatalf("PixelsPerMM = %.5f, want %.5f ± 0.1 %%", got, want)
		}
	})
}

func TestPixelsPerMMRefuses(t *testing.T) {
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
		if s := (Tag{Corners: c.q}).PixelsPerMM(c.mm); s != 0 {
			t.Errorf("%s: PixelsPerMM = %v, want 0", name, s)
		}
	}
}
