package card

import (
	"math"
	"slices"

	"hueward/colorimg/shape"
)

// Quad is a convex quadrilateral: four corners in order around a patch, x to the right and y down.
type Quad [4][2]float64

// Center returns the mean of the corners.
func (q Quad) Center() (x, y float64) {
	for _, p := range q {
		x += p[0] / 4
		y += p[1] / 4
	}
	return x, y
}

// Area returns the enclosed area, never negative.
func (q Quad) Area() float64 { return shape.Area(q[:]) }

// Shrunk returns the quad scaled by f about its centre.
func (q Quad) Shrunk(f float64) Quad {
	x, y := q.Center()
	for i, p := range q {
		q[i] = [2]float64{x + f*(p[0]-x), y + f*(p[1]-y)}
	}
	return q
}

// Contains reports whether the point lies inside; the quad is convex.
func (q Quad) Contains(x, y float64) bool {
	if x0, y0, x1, y1 := q.bounds(); x < x0 || x > x1 || y < y0 || y > y1 { // most points
		return false
	}
	return q.within(x, y)
}

// within is Contains without the check of the bounds.
func (q Quad) within(x, y float64) bool {
	var pos, neg bool
	for i := range q {
		a, b := q[i], q[(i+1)%4]
		c := (b[0]-a[0])*(y-a[1]) - (b[1]-a[1])*(x-a[0])
		pos = pos || c > 0
		neg = neg || c < 0
	}
	return !(pos && neg)
}

// Each calls f for every pixel of a w × h picture whose centre lies inside.
func (q Quad) Each(w, h int, f func(x, y int)) {
	x0, y0, x1, y1 := q.bounds()
	left, right := max(0, int(math.Ceil(x0))), min(w-1, int(x1))
	l, r := left, right
	for y := max(0, int(math.Ceil(y0))); y <= min(h-1, int(y1)); y++ {
		// The quad is convex: each row has one span, whose ends are near those of
		// the row above.
		in := func(x int) bool { return q.within(float64(x), float64(y)) }
		if l > r || !in((l+r)/2) {
			l, r = left, right
		}
		for l > left && in(l) {
			l--
		}
		for l <= r && !in(l) {
			l++
		}
		for r < right && in(r) {
			r++
		}
		for l < r && !in(r) {
			r--
		}
		for x := l; x <= r; x++ {
			f(x, y)
		}
	}
}

func (q Quad) bounds() (x0, y0, x1, y1 float64) {
	x0, y0, x1, y1 = q[0][0], q[0][1], q[0][0], q[0][1]
	for _, p := range q[1:] {
		x0, x1 = min(x0, p[0]), max(x1, p[0])
		y0, y1 = min(y0, p[1]), max(y1, p[1])
	}
	return
}

// sides returns the lengths of the four sides.
func (q Quad) sides() (d [4]float64) {
	for i := range q {
		j := (i + 1) % 4
		d[i] = math.Hypot(q[j][0]-q[i][0], q[j][1]-q[i][1])
	}
	return d
}

// squareness returns the largest deviation of a corner from a right angle, in degrees.
func (q Quad) squareness() float64 {
	worst := 0.0
	for i := range q {
		p, a, b := q[i], q[(i+3)%4], q[(i+1)%4]
		u := math.Atan2(a[1]-p[1], a[0]-p[0])
		v := math.Atan2(b[1]-p[1], b[0]-p[0])
		d := math.Abs(math.Remainder(u-v, 2*math.Pi)) * 180 / math.Pi
		worst = max(worst, math.Abs(d-90))
	}
	return worst
}

// fitQuad reduces a convex polygon to a quadrilateral around it. It repeatedly drops the side whose neighbours,
// extended until they meet, add the least area. ok is false for fewer than four sides, and where no neighbours meet.
func fitQuad(poly [][2]float64) (q Quad, ok bool) {
	p := slices.Clone(poly)
	for len(p) > 4 {
		best, at := math.Inf(1), -1
		var corner [2]float64
		for i := range p {
			n := len(p)
			a, b, c, d := p[(i+n-1)%n], p[i], p[(i+1)%n], p[(i+2)%n]
			x, meets := meet(a, b, d, c)
			if !meets {
				continue
			}
			if add := shape.Area([][2]float64{b, x, c}); add < best {
				best, at, corner = add, i, x
			}
		}
		if at < 0 {
			return q, false
		}
		p[at] = corner
		p = slices.Delete(p, (at+1)%len(p), (at+1)%len(p)+1)
	}
	if len(p) < 4 {
		return q, false
	}
	copy(q[:], p)
	return q, true
}

// meet returns where the line from a through b, beyond b, meets the line from d through c, beyond c.
func meet(a, b, d, c [2]float64) (x [2]float64, ok bool) {
	ux, uy := b[0]-a[0], b[1]-a[1]
	vx, vy := c[0]-d[0], c[1]-d[1]
	det := ux*vy - uy*vx
	if math.Abs(det) < 1e-9 {
		return x, false
	}
	wx, wy := c[0]-b[0], c[1]-b[1]
	s := (wx*vy - wy*vx) / det
	t := (wx*uy - wy*ux) / det
	if s < 0 || t < 0 {
		return x, false
	}
	return [2]float64{b[0] + s*ux, b[1] + s*uy}, true
}
