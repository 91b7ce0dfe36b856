package petal

import (
	"math"

	"hueward/colorimg/cie"
)

// head is a flower head on the map: petals and disc florets together.
type head struct {
	x, y, r float64 // middle and radius of a disc of the same area
	area    int
	mask    []bool     // w × h
	score   float64    // 0 to 1
	parts   [4]float64 // mean colour step across the outline, share of it that is weak, overlap of colours inside and around, area over hull
	sharp   float64    // share of the outline on which the picture is in focus; 0: no telling
	edge    float64    // share of its outline that lies on the frame
}

// settle starts from the disc of radius r around (x, y) and lets the tallies
// of colours inside and around, and the area they imply, follow each other
// until they settle. It returns nil when nothing is left.
func (s *scene) settle(x, y, r float64, fixed bool) *head {
	k := len(s.palette)
	h := &head{x: x, y: y, r: r}
	n := s.w * s.h
	mask := make([]bool, n)
	prob := make([]float32, n)
	in, out := make([]float64, k), make([]float64, k)
	for round := range 4 {
		x0, y0, x1, y1 := s.window(h.x, h.y, 2.1*h.r)
		clear(in)
		clear(out)
		for yy := y0; yy < y1; yy++ {
			for xx := x0; xx < x1; xx++ {
				i := yy*s.w + xx
				if s.skip[i] {
					continue
				}
				d := distance(float64(xx)-h.x, float64(yy)-h.y) / h.r
				switch {
				case round == 0 && d < 0.75, round > 0 && mask[i] && d < 1.7:
					in[s.label[i]]++
				case round == 0 && d > 1.2 && d < 2, round > 0 && !mask[i] && d < 2:
					out[s.label[i]]++
				}
			}
		}
		logit := s.evidence(in, out)
		s.field(prob, logit, x0, y0, x1, y1, h)
		cx, cy := h.x, h.y
		if fixed {
			cx, cy = x, y
		}
		if !s.connect(mask, prob, logit, x0, y0, x1, y1, cx, cy, h.r) {
			return nil
		}
		before := h.area
		h.measure(mask, s.w, s.h, x0, y0, x1, y1)
		if h.r < 1.4 {
			return nil
		}
		if abs(h.area-before)*200 < h.area && round > 0 {
			break
		}
	}
	h.mask = mask
	s.rate(h)
	return h
}

// redraw draws a head found on the coarse map c on the map s.
func (s *scene) redraw(c *scene, found *head) *head {
	n := s.w * s.h
	mask, prob := make([]bool, n), make([]float32, n)
	k := len(s.palette)
	in, out := make([]float64, k), make([]float64, k)
	fx, fy := float64(s.w)/float64(c.w), float64(s.h)/float64(c.h)
	h := &head{x: (found.x+0.5)*fx - 0.5, y: (found.y+0.5)*fy - 0.5, r: found.r * math.Sqrt(fx*fy)}
	x0, y0, x1, y1 := s.window(h.x, h.y, 2.1*h.r)
	for y := y0; y < y1; y++ {
		cy := min(c.h-1, int((float64(y)+0.5)/fy))
		for x := x0; x < x1; x++ {
			i := y*s.w + x
			if s.skip[i] {
				continue
			}
			if mask[i] = found.mask[cy*c.w+min(c.w-1, int((float64(x)+0.5)/fx))]; mask[i] {
				in[s.label[i]]++
			} else if distance(float64(x)-h.x, float64(y)-h.y) < 2*h.r {
				out[s.label[i]]++
			}
		}
	}
	logit := s.evidence(in, out)
	s.field(prob, logit, x0, y0, x1, y1, h)
	if !s.connect(mask, prob, logit, x0, y0, x1, y1, h.x, h.y, h.r) {
		return nil
	}
	h.measure(mask, s.w, s.h, x0, y0, x1, y1)
	h.mask, h.score, h.edge = mask, found.score, found.edge
	return h
}

// window is the square of half side half around (x, y), within the map.
func (s *scene) window(x, y, half float64) (x0, y0, x1, y1 int) {
	return max(0, int(x-half)), max(0, int(y-half)), min(s.w, int(x+half)+2), min(s.h, int(y+half)+2)
}

// evidence is the log odds of each palette entry to be bloom.
func (s *scene) evidence(in, out []float64) []float64 {
	l := s.odds(in, out, 0.002)
	// Leaves touch petals everywhere. They are bloom only when the bloom is
	// mostly of their colour.
	green := 0.0
	for j, n := range in {
		if LeafGreen(s.palette[j]) {
			green += n / max(total(in), 1)
		}
	}
	if green < 0.5 {
		for j := range l {
			if LeafGreen(s.palette[j]) {
				l[j] = min(l[j], -2.5)
			}
		}
	}
	return l
}

// odds is the log odds of each palette entry between two tallies, each spread
// to the entries like it. The tallies count alike, however many pixels they
// hold. floor is the share that an entry met in neither is given in both.
func (s *scene) odds(in, out []float64, floor float64) []float64 {
	ni, no := max(total(in), 1), max(total(out), 1)
	si, so := s.spreadTally(in), s.spreadTally(out)
	l := make([]float64, len(in))
	for j := range l {
		l[j] = min(max(math.Log((si[j]/ni+floor)/(so[j]/no+floor)), -4), 4)
	}
	return l
}

func total(tally []float64) (n float64) {
	for _, v := range tally {
		n += v
	}
	return n
}

// LeafGreen reports whether the colour is one of leaves: common practice, no
// source; leaves lie near hue 110 to 145 with a chroma of 15 to 45, and are darker
// than pale green petals.
func LeafGreen(c cie.Lab) bool {
	h := c.LCh()
	return h.H > 102 && h.H < 165 && h.C > 9 && h.L < 70
}

// field fills prob with each pixel's probability to be bloom, from its own
// evidence, its place, and its neighbours: a mean field of a grid whose links
// weaken across colour edges.
func (s *scene) field(prob []float32, logit []float64, x0, y0, x1, y1 int, h *head) {
	const coupling = 1.6
	base := make([]float32, (x1-x0)*(y1-y0))
	bw := x1 - x0
	for y := y0; y < y1; y++ {
		for x := x0; x < x1; x++ {
			i := y*s.w + x
			d := distance(float64(x)-h.x, float64(y)-h.y) / h.r
			b := logit[s.label[i]] + min(max(1.6*(1.15-d), -3), 0.8)
			if s.skip[i] {
				b = -6
			}
			base[(y-y0)*bw+x-x0] = float32(b)
			prob[i] = tanh2(float32(b)) // -1 to 1 while the field settles
		}
	}
	for range 3 {
		for y := y0; y < y1; y++ {
			for x := x0; x < x1; x++ {
				i := y*s.w + x
				var m float32
				if x > x0 {
					m += s.right[i-1] * prob[i-1]
				}
				if x+1 < x1 {
					m += s.right[i] * prob[i+1]
				}
				if y > y0 {
					m += s.down[i-s.w] * prob[i-s.w]
				}
				if y+1 < y1 {
					m += s.down[i] * prob[i+s.w]
				}
				prob[i] = tanh2(base[(y-y0)*bw+x-x0] + coupling*m)
			}
		}
	}
	for y := y0; y < y1; y++ {
		for x := x0; x < x1; x++ {
			i := y*s.w + x
			prob[i] = (prob[i] + 1) / 2
		}
	}
}

// tanh2 is near tanh(v/2), by a ratio of polynomials.
func tanh2(v float32) float32 {
	v = min(max(v/2, -3), 3)
	q := v * v
	return v * (27 + q) / (27 + 9*q)
}

// connect sets mask to the likely pixels that hang together with the middle:
// the piece with most pixels near (cx, cy), holes filled, and pieces nearby
// that are a good part of it.
func (s *scene) connect(mask []bool, prob []float32, logit []float64, x0, y0, x1, y1 int, cx, cy, r float64) bool {
	clear(mask)
	bw, bh := x1-x0, y1-y0
	piece := make([]int32, bw*bh) // 1 and up: number of the pixel's piece
	core := []int{0}              // by piece: pixels near the middle
	var stack []int32
	best := 0
	for start := range piece {
		if piece[start] != 0 || prob[(start/bw+y0)*s.w+start%bw+x0] < 0.5 {
			continue
		}
		n := int32(len(core))
		core = append(core, 0)
		piece[start] = n
		stack = append(stack[:0], int32(start))
		for len(stack) > 0 {
			j := int(stack[len(stack)-1])
			stack = stack[:len(stack)-1]
			jx, jy := j%bw, j/bw
			dx, dy := float64(jx+x0)-cx, float64(jy+y0)-cy
			if dx*dx+dy*dy < 0.49*r*r {
				core[n]++
			}
			for _, d := range [...][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
				kx, ky := jx+d[0], jy+d[1]
				if kx < 0 || ky < 0 || kx >= bw || ky >= bh {
					continue
				}
				if k := ky*bw + kx; piece[k] == 0 && prob[(ky+y0)*s.w+kx+x0] >= 0.5 {
					piece[k] = n
					stack = append(stack, int32(k))
				}
			}
		}
		if core[n] > core[best] {
			best = int(n)
		}
	}
	if core[best] == 0 {
		return false
	}
	for i, n := range piece {
		if n != 0 && core[n]*6 >= core[best] {
			mask[(i/bw+y0)*s.w+i%bw+x0] = true
		}
	}
	s.fillHoles(mask, logit, x0, y0, x1, y1)
	return true
}

// fillHoles sets the holes of the mask, that is what the window's rim cannot
// reach without crossing it, but for those that show what lies behind the
// bloom.
func (s *scene) fillHoles(mask []bool, logit []float64, x0, y0, x1, y1 int) {
	bw, bh := x1-x0, y1-y0
	seen := make([]bool, bw*bh)
	var hole []int32
	for start := range seen {
		if seen[start] || mask[(start/bw+y0)*s.w+start%bw+x0] {
			continue
		}
		seen[start] = true
		hole = append(hole[:0], int32(start))
		open, sum := false, 0.0
		for k := 0; k < len(hole); k++ {
			x, y := int(hole[k])%bw, int(hole[k])/bw
			i := (y+y0)*s.w + x + x0
			sum += logit[s.label[i]]
			open = open || x == 0 || y == 0 || x == bw-1 || y == bh-1 || s.skip[i]
			for _, d := range [...][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
				nx, ny := x+d[0], y+d[1]
				if nx < 0 || ny < 0 || nx >= bw || ny >= bh {
					continue
				}
				if j := ny*bw + nx; !seen[j] && !mask[(ny+y0)*s.w+nx+x0] {
					seen[j] = true
					hole = append(hole, int32(j))
				}
			}
		}
		if open || len(hole) > 3 && sum/float64(len(hole)) < -1 {
			continue
		}
		for _, k := range hole {
			mask[(int(k)/bw+y0)*s.w+int(k)%bw+x0] = true
		}
	}
}

// measure sets middle, radius, area and the share on the frame from the mask.
func (h *head) measure(mask []bool, w, ht, x0, y0, x1, y1 int) {
	var n, sx, sy, rim float64
	for y := y0; y < y1; y++ {
		for x := x0; x < x1; x++ {
			if !mask[y*w+x] {
				continue
			}
			n++
			sx += float64(x)
			sy += float64(y)
			if x == 0 || y == 0 || x == w-1 || y == ht-1 {
				rim++
			}
		}
	}
	h.area = int(n)
	if n == 0 {
		h.r = 0
		return
	}
	h.x, h.y, h.r = sx/n, sy/n, math.Sqrt(n/math.Pi)
	h.edge = rim / (2 * math.Pi * h.r)
}

// distance is the length of (x, y); unlike math.Hypot it may overflow, and is
// several times as fast.
func distance(x, y float64) float64 { return math.Sqrt(x*x + y*y) }

func abs(v int) int { return max(v, -v) }
