package render

import "math"

// hole is a circle that later shapes cover wholly. What lies in it need not be
// painted; the picture is the same.
type hole struct{ x, y, r float32 }

// span returns the pixels of row y that lie in the hole; a ≥ b: none.
func (o hole) span(y int) (a, b int) {
	dy := float32(y) - o.y
	k := o.r*o.r - dy*dy
	if o.r <= 0 || k <= 0 {
		return 0, 0
	}
	k = sqrt(k)
	return int(math.Ceil(float64(o.x - k))), int(math.Floor(float64(o.x+k))) + 1
}

// cull finds, for each petal, the circle that the petals and the disc above it
// cover, and returns the one that the whole head covers.
func (h *head) cull() hole {
	const rays = 512
	var solid [rays]float32 // how far each direction is covered without a gap
	least := func() hole {
		r := solid[0]
		for _, v := range solid {
			r = min(r, v)
		}
		// A gap that opens between two rays starts a little before both.
		return hole{h.x, h.y, max(r*0.95-2, 0)}
	}
	if h.disc != nil {
		for i := range solid {
			solid[i] = h.disc.r*0.98 - 1.5
		}
	}
	for i := len(h.blades) - 1; i >= 0; i-- {
		b := h.blades[i]
		b.hidden = least()
		for k := range solid {
			sin, cos := math.Sincos(2 * math.Pi * float64(k) / rays)
			for r := solid[k]; r < h.r; r += 2 {
				_, _, d, _, _ := b.outline(float32(cos)*r, float32(sin)*r)
				if d > -1 {
					break
				}
				solid[k] = r
			}
		}
	}
	o := least()
	o.r = max(o.r, h.heart-2)
	return o
}
