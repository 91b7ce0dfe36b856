package petal

import "math"

// The profile across an outline is read over this many working pixels either
// way, and on so many lines side by side.
const (
	profileReach = 14
	profileLines = 3
)

// steepness tells how suddenly the picture changes from map pixel i to its
// neighbour in direction (dx, dy): the steepest step over two working pixels,
// as a share of the whole change nearby. 0.3 and more on an edge in focus, a
// tenth and less out of focus. ok is false where hardly anything changes.
func (s *scene) steepness(i, dx, dy int) (steep float64, ok bool) {
	x, y := i%s.w, i/s.w
	wx, wy := s.toWork(float64(x)+float64(dx)/2, float64(y)+float64(dy)/2)
	cx, cy := int(wx+0.5), int(wy+0.5)
	reach := min(profileReach, int(1.6*s.scale)+3)
	W, H := s.im.W, s.im.H
	var p [3][2*profileReach + 1]float32
	n := 2*reach + 1
	for t := -reach; t <= reach; t++ {
		for l := -profileLines / 2; l <= profileLines/2; l++ {
			px, py := cx+t*dx+l*dy, cy+t*dy+l*dx
			if px < 0 || py < 0 || px >= W || py >= H {
				return 0, false
			}
			q := s.im.Pix[3*(py*W+px):]
			for c := range 3 {
				p[c][t+reach] += q[c]
			}
		}
	}
	best, contrast := 0, 0.0
	for c := range 3 {
		lo, hi := float32(math.Inf(1)), float32(0)
		for t := range n {
			// A scale on which noise is about even.
			v := float32(math.Sqrt(float64(max(p[c][t]/profileLines, 0))))
			p[c][t] = v
			lo, hi = min(lo, v), max(hi, v)
		}
		if d := float64(hi - lo); d > contrast {
			contrast, best = d, c
		}
	}
	if contrast < 0.07 {
		return 0, false
	}
	for t := 1; t+1 < n; t++ {
		steep = max(steep, math.Abs(float64(p[best][t+1]-p[best][t-1])))
	}
	return steep / contrast, true
}
