package petal

import (
	"math"

	"hueward/colorimg/shape"
)

// rate sets the head's score: how much it stands out from what is around it,
// how closed its outline is, and how much it looks like one thing.
func (s *scene) rate(h *head) {
	// Colour step across the outline: two pixels either way.
	var step, weak, sharp, weight, hidden, n float64
	x0, y0, x1, y1 := s.window(h.x, h.y, 2.1*h.r)
	k := len(s.palette)
	in, out := make([]float64, k), make([]float64, k)
	for y := y0; y < y1; y++ {
		for x := x0; x < x1; x++ {
			i := y*s.w + x
			if s.skip[i] {
				continue
			}
			if h.mask[i] {
				in[s.label[i]]++
			} else {
				d := distance(float64(x)-h.x, float64(y)-h.y) / h.r
				if d < 2 {
					out[s.label[i]]++
				}
				continue
			}
			for _, d := range [...][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
				j, ok := s.at(x+d[0], y+d[1])
				if !ok || h.mask[j] {
					continue
				}
				if s.skip[j] {
					hidden++
					continue
				}
				a, okA := s.at(x-d[0], y-d[1])
				b, okB := s.at(x+2*d[0], y+2*d[1])
				if !okA || !okB {
					continue
				}
				e := apart(s.lab[a], s.lab[b])
				step += min(e, 25)
				if k, ok := s.steepness(i, d[0], d[1]); ok {
					sharp += min(1, max(0, k-0.1)/0.15) // an edge in focus has 0.3 and more
					weight++
				}
				if e < 4 {
					weak++
				}
				n++
			}
		}
	}
	if n == 0 {
		return
	}
	ni, no := total(in), total(out)
	overlap, green := 0.0, 0.0
	for j := range in {
		if LeafGreen(s.palette[j]) {
			green += in[j] / max(ni, 1)
		}
		overlap += math.Sqrt(in[j] / max(ni, 1) * out[j] / max(no, 1))
	}
	solid := float64(h.area) / max(1, hullArea(h.mask, s.w, x0, y0, x1, y1))
	h.parts = [4]float64{step / n, weak / n, overlap, solid}
	if weight > 0 {
		h.sharp = sharp / weight
	}
	h.score = (1 - math.Exp(-step/n/9)) * (1 - 0.7*weak/n) * (1 - overlap*overlap) *
		math.Pow(solid, 0.7) * (1 - min(0.7, 0.8*h.edge)) * (1 - 0.45*green)
	// A head that ends where nothing may be seen is the ground: the white of a
	// photo sheet around the bloom's ring.
	if share := hidden / (hidden + n); share > 0.2 {
		h.score *= max(0.1, 1-2*(share-0.2))
	}
}

// at is the index of a map pixel.
func (s *scene) at(x, y int) (int, bool) {
	if x < 0 || y < 0 || x >= s.w || y >= s.h {
		return 0, false
	}
	return y*s.w + x, true
}

// hullArea is the area of the convex hull of the mask's pixels in the window.
func hullArea(mask []bool, w, x0, y0, x1, y1 int) float64 {
	return shape.Area(shape.RowHull(y0, y1, func(y int) (left, right int) {
		left, right = 0, -1
		for x := x0; x < x1; x++ {
			if mask[y*w+x] {
				if right < 0 {
					left = x
				}
				right = x
			}
		}
		return left, right
	}))
}
