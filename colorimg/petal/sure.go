package petal

import (
	"math"

	"hueward/colorimg/cie"
	"hueward/colorimg/petal/net"
	"hueward/colorimg/robust"
)

// sureness returns the intersection over union of the petals with the true ones
// that the probabilities predict.
func (p *chances) sureness() float64 {
	in, all := 0.0, 0.0
	for _, v := range p.p[net.Petal] {
		if v > 0.5 {
			in += float64(v)
			all++
		} else {
			all += float64(v)
		}
	}
	return in / max(all, 1)
}

// Probabilities from which a pixel is surely petal, and from which it may be. Our
// own choice.
const (
	surely  = 0.9
	perhaps = 0.15
)

// doubt returns the difference, in Delta E 2000, between the median colour of what is surely petal
// and that of all that may be, at most mostDoubt.
func (p *chances) doubt(colors []cie.Lab) float64 {
	var v [2][3][]float64
	for i, q := range p.p[net.Petal] {
		c := colors[i]
		for k, least := range [2]float32{surely, perhaps} {
			if q >= least {
				v[k][0], v[k][1], v[k][2] = append(v[k][0], c.L), append(v[k][1], c.A), append(v[k][2], c.B)
			}
		}
	}
	if len(v[1][0]) < 20 {
		return 0
	}
	if len(v[0][0]) < len(v[1][0])/10 {
		return mostDoubt
	}
	var m [2]cie.Lab
	for k := range m {
		m[k] = cie.Lab{L: robust.Median(v[k][0]), A: robust.Median(v[k][1]), B: robust.Median(v[k][2])}
	}
	return math.Min(cie.DeltaE2000(m[0], m[1]), mostDoubt)
}

// mostDoubt is the doubt where hardly anything is surely petal.
const mostDoubt = 10.0

// The profile across an outline.
const (
	profileReach = 12 // working pixels either way
	profileLines = 3  // lines side by side that are averaged
)

// sharpness returns the sharpness of the outline at its sharper parts (80th percentile): the
// steepest step over two working pixels as a share of the whole change nearby. It is
// 0.3 and more in focus, 0.1 out of focus, and 1 where there is too little of an
// outline to tell.
func (b *Bloom) sharpness() float64 {
	W, H := b.scene.im.W, b.scene.im.H
	var all []float64
	step := max(1, int(b.Radius/25))
	for _, d := range [...][2]int{{1, 0}, {0, 1}} {
		for y := max(b.box[1], 1); y < min(b.box[3], H-1); y += 1 + d[0]*(step-1) {
			for x := max(b.box[0], 1); x < min(b.box[2], W-1); x += 1 + d[1]*(step-1) {
				if i := y*W + x; (b.Head[i] != 0) != (b.Head[i-d[0]-d[1]*W] != 0) {
					if v, ok := b.scene.steepness(x, y, d[0], d[1]); ok {
						all = append(all, v)
					}
				}
			}
		}
	}
	if len(all) < 12 {
		return 1
	}
	return robust.Nth(all, len(all)*4/5)
}

// steepness returns the steepest step at a working pixel in direction (dx, dy), as a share
// of the whole change; ok is false where hardly anything changes.
func (s *scene) steepness(cx, cy, dx, dy int) (steep float64, ok bool) {
	W, H := s.im.W, s.im.H
	var p [3][2*profileReach + 1]float32
	const n = 2*profileReach + 1
	for t := -profileReach; t <= profileReach; t++ {
		for l := -profileLines / 2; l <= profileLines/2; l++ {
			px, py := cx+t*dx+l*dy, cy+t*dy+l*dx
			if px < 0 || py < 0 || px >= W || py >= H {
				return 0, false
			}
			q := s.im.Pix[3*(py*W+px):]
			for c := range 3 {
				p[c][t+profileReach] += q[c]
			}
		}
	}
	best, contrast := 0, 0.0
	for c := range 3 {
		lo, hi := float32(math.Inf(1)), float32(0)
		for t := range n {
			// The square root makes noise about equal at all levels.
			v := float32(math.Sqrt(float64(max(p[c][t]/profileLines, 0))))
			p[c][t] = v
			lo, hi = min(lo, v), max(hi, v)
		}
		if d := float64(hi - lo); d > contrast {
			contrast, best = d, c
		}
	}
	if contrast < 0.1 {
		return 0, false
	}
	for t := 1; t+1 < n; t++ {
		steep = max(steep, math.Abs(float64(p[best][t+1]-p[best][t-1])))
	}
	return steep / contrast, true
}
