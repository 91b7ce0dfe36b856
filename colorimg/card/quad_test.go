package card

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// off is the largest distance of a corner of q from the nearest of want's.
func off(q, want Quad) float64 {
	worst := 0.0
	for _, p := range want {
		best := math.Inf(1)
		for _, c := range q {
			best = min(best, math.Hypot(p[0]-c[0], p[1]-c[1]))
		}
		worst = max(worst, best)
	}
	return worst
}

func rectangle(t *rapid.T) Quad {
	w := rapid.Float64Range(20, 200).Draw(t, "width")
	h := w * rapid.Float64Range(0.5, 1).Draw(t, "aspect")
	sin, cos := math.Sincos(rapid.Float64Range(0, 2*math.Pi).Draw(t, "angle"))
	var q Quad
	for i, uv := range [4][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
		u, v := uv[0]*w/2, uv[1]*h/2
		q[i] = [2]float64{300 + u*cos - v*sin, 300 + u*sin + v*cos}
	}
	return q
}

// TestFitQuadCut: a rectangle with its corners cut off, an octagon, goes back to
// the rectangle.
func TestFitQuadCut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := rectangle(t)
		var cut [][2]float64
		for i, p := range want {
			for _, o := range [2][2]float64{want[(i+3)%4], want[(i+1)%4]} {
				f := rapid.Float64Range(0.02, 0.15).Draw(t, "cut")
				cut = append(cut, [2]float64{p[0] + f*(o[0]-p[0]), p[1] + f*(o[1]-p[1])})
			}
		}
		q, ok := fitQuad(cut)
		if d := off(q, want); !ok || d > 1e-6 {
			t.Fatalf("fitQuad = %.2f, %v, off by %.2g; want %.2f", q, ok, d, want)
		}
	})
}

// TestFitQuadPixels: so does the outline of the pixels of a rectangle, to
// within two pixels, and it holds all of them.
func TestFitQuadPixels(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := rectangle(t)
		a := area{x0: 600, y0: 600, left: make([]int32, 600), right: make([]int32, 600)}
		for y := range a.left {
			a.left[y], a.right[y] = 600, -1
		}
		var pixels [][2]float64
		want.Each(600, 600, func(x, y int) {
			a.n++
			a.left[y], a.right[y] = min(a.left[y], int32(x)), max(a.right[y], int32(x))
			a.x0, a.x1, a.y0, a.y1 = min(a.x0, x), max(a.x1, x), min(a.y0, y), max(a.y1, y)
			pixels = append(pixels, [2]float64{float64(x), float64(y)})
		})
		q, ok := fitQuad(a.outline())
		if d := off(q, want); !ok || d > 2 {
			t.Fatalf("fitQuad = %.2f, %v, off by %.2f; want %.2f ± 2", q, ok, d, want)
		}
		for _, p := range pixels {
			if !q.Contains(p[0], p[1]) {
				t.Fatalf("fitQuad = %.2f leaves out pixel %v", q, p)
			}
		}
	})
}

// TestFitQuadAwkward: fewer than four corners, or none, make no quadrilateral.
func TestFitQuadAwkward(t *testing.T) {
	for _, p := range [][][2]float64{nil, {{0, 0}}, {{0, 0}, {9, 0}, {0, 9}}, {{0, 0}, {5, 0}, {5, 0}, {5, 0}, {0, 0}, {0, 0}}} {
		if q, ok := fitQuad(p); ok && q.Area() > 0 {
			t.Errorf("fitQuad(%v) = %v, want none", p, q)
		}
	}
}

// TestQuadLaws: what holds of every rectangle by geometry.
func TestQuadLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := rectangle(t)
		d := q.sides()
		if a := q.Area(); math.Abs(a-d[0]*d[1]) > 1e-6*a {
			t.Fatalf("Area = %v, want %v", a, d[0]*d[1])
		}
		f := rapid.Float64Range(0.1, 2).Draw(t, "f")
		s := q.Shrunk(f)
		if math.Abs(s.Area()-f*f*q.Area()) > 1e-6*q.Area() {
			t.Fatalf("Shrunk(%v).Area = %v, want %v", f, s.Area(), f*f*q.Area())
		}
		if v := q.squareness(); v > 1e-6 {
			t.Fatalf("squareness of a rectangle = %v, want 0", v)
		}
		x, y := q.Center()
		if math.Abs(x-300) > 1e-9 || math.Abs(y-300) > 1e-9 {
			t.Fatalf("Center = %v,%v, want 300,300", x, y)
		}
		n := 0
		q.Each(600, 600, func(x, y int) { n++ })
		// Pixels in a shape, those on its sides too: its area, give or take half
		// its outline, and one a corner.
		if rim := d[0] + d[1] + 4; math.Abs(float64(n)-q.Area()) > rim {
			t.Fatalf("Each visits %d pixels, area %.0f", n, q.Area())
		}
		for i := range q {
			in, out := q.Shrunk(0.99)[i], q.Shrunk(1.01)[i]
			if !q.Contains(in[0], in[1]) || q.Contains(out[0], out[1]) {
				t.Fatalf("Contains: %v %v", q.Contains(in[0], in[1]), q.Contains(out[0], out[1]))
			}
		}
	})
}
