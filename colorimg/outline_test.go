package colorimg

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"hueward/colorimg/photo"
)

// mask draws a random picture of set and unset pixels, with blobs, holes,
// pixels that meet at a corner only, and ones at the frame.
func mask(t *rapid.T) (m []uint8, w, h int) {
	w, h = rapid.IntRange(1, 14).Draw(t, "w"), rapid.IntRange(1, 14).Draw(t, "h")
	m = make([]uint8, w*h)
	for i, b := range rapid.SliceOfN(rapid.Bool(), w*h, w*h).Draw(t, "set") {
		if b {
			m[i] = 255
		}
	}
	return m, w, h
}

// signed is a ring's area, positive when it runs clockwise on the screen.
func signed[T int | float64](ring [][2]T) float64 {
	a := 0.0
	for i, p := range ring {
		q := ring[(i+1)%len(ring)]
		a += float64(p[0])*float64(q[1]) - float64(q[0])*float64(p[1])
	}
	return a / 2
}

// TestRings: the rings are closed walks over pixel edges, each boundary edge
// once, and their areas, holes negative, sum to the number of pixels.
func TestRings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, w, h := mask(t)
		set := func(x, y int) bool { return x >= 0 && y >= 0 && x < w && y < h && m[y*w+x] != 0 }
		want := map[[4]int]int{} // boundary edges, set pixel on the right hand
		pixels := 0
		for y := range h {
			for x := range w {
				if !set(x, y) {
					continue
				}
				pixels++
				for _, e := range []struct {
					out  bool
					edge [4]int
				}{
					{!set(x, y-1), [4]int{x, y, x + 1, y}}, {!set(x+1, y), [4]int{x + 1, y, x + 1, y + 1}},
					{!set(x, y+1), [4]int{x + 1, y + 1, x, y + 1}}, {!set(x-1, y), [4]int{x, y + 1, x, y}},
				} {
					if e.out {
						want[e.edge]++
					}
				}
			}
		}
		area := 0.0
		for _, ring := range rings(m, w, h) {
			area += signed(ring)
			for i, p := range ring {
				q := ring[(i+1)%len(ring)]
				if dx, dy := q[0]-p[0], q[1]-p[1]; dx*dx+dy*dy != 1 {
					t.Fatalf("step from %v to %v in ring %v", p, q, ring)
				}
				want[[4]int{p[0], p[1], q[0], q[1]}]--
			}
		}
		for e, n := range want {
			if n != 0 {
				t.Fatalf("edge %v is walked %d times too few", e, n)
			}
		}
		if area != float64(pixels) {
			t.Fatalf("areas sum to %v, want %d pixels", area, pixels)
		}
	})
}

// TestThin: the points kept are points of the ring in their order, and each
// left out lies within the tolerance of the line between the two kept around it.
func TestThin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, w, h := mask(t)
		tol := rapid.Float64Range(0, 3).Draw(t, "tol")
		for _, ring := range rings(m, w, h) {
			out := thin(ring, tol)
			at := 0
			kept := make([]int, len(out)) // place of each in the ring
			for i, p := range out {
				k := slices.Index(ring[at:], p)
				if k < 0 {
					t.Fatalf("thin(%v, %.2f) = %v: %v is not in the order of the ring", ring, tol, out, p)
				}
				kept[i] = at + k
				at += k + 1
			}
			for i, a := range kept {
				b := kept[(i+1)%len(kept)]
				if b <= a {
					b += len(ring)
				}
				p, q := ring[a], ring[b%len(ring)]
				for k := a + 1; k < b; k++ {
					if d := fromLine(ring[k%len(ring)], p, q); d > tol+1e-9 {
						t.Fatalf("thin(%v, %.2f) = %v: %v is %.2f off", ring, tol, out, ring[k%len(ring)], d)
					}
				}
			}
		}
	})
}

// fromLine is the distance of p from the line through a and b, or from a where
// they are the same.
func fromLine(p, a, b [2]int) float64 {
	x, y := float64(p[0]-a[0]), float64(p[1]-a[1])
	u, v := float64(b[0]-a[0]), float64(b[1]-a[1])
	l := math.Hypot(u, v)
	if l == 0 {
		return math.Hypot(x, y)
	}
	return math.Abs(u*y-v*x) / l
}

// TestOutlineArea: the outline of discs with a hole, in full-size pixels, has
// the mask's area within 2 %, the hole taken off; specks are left out.
func TestOutlineArea(t *testing.T) {
	for _, r := range []float64{20, 45, 90} {
		for _, scale := range []float64{1, 3.9} {
			im := &photo.Linear{W: 200, H: 200, ScaleX: scale, ScaleY: scale}
			mask := make([]uint8, 200*200)
			n := 0.0
			for y := range 200 {
				for x := range 200 {
					if d := math.Hypot(float64(x)-99, float64(y)-101); d < r && d > 0.3*r {
						mask[y*200+x] = 255
						n++
					}
				}
			}
			mask[3*200+3] = 255 // a speck
			full := int(200 * scale)
			m := &measuring{Reading: &Reading{Size: [2]int{full, full}}, im: im}
			out := m.outline(mask)
			if len(out) != 2 {
				t.Errorf("radius %.0f: %d polygons, want the disc and its hole", r, len(out))
			}
			area := 0.0
			for _, p := range out {
				v := make([][2]float64, len(p))
				for i, q := range p {
					v[i] = q
					// On the disc's edge or the hole's, in full-size pixels, give or
					// take a working pixel and a half.
					d := math.Hypot(q[0]-((99+0.5)*scale-0.5), q[1]-((101+0.5)*scale-0.5)) / scale
					if min(math.Abs(d-r), math.Abs(d-0.3*r)) > 1.5 {
						t.Errorf("radius %.0f, scale %.1f: outline point %.1f is %.1f working pixels from the middle", r, scale, q, d)
					}
				}
				area += signed(v)
			}
			if want := n * scale * scale; math.Abs(area/want-1) > 0.02 {
				t.Errorf("radius %.0f, scale %.1f: area %.0f, want %.0f ± 2 %%", r, scale, area, want)
			}
			full2 := m.fullMask(mask)
			count := 0.0
			for _, v := range full2.Pix {
				if v != 0 {
					count++
				}
			}
			if full2.Rect.Dx() != full || math.Abs(count/(n*scale*scale)-1) > 0.02 {
				t.Errorf("radius %.0f, scale %.1f: full-size mask %v has %.0f pixels, want %.0f ± 2 %%", r, scale, full2.Rect, count,
					n*scale*scale)
			}
		}
	}
}
