package tag

import (
	"math"

	"hueward/colorimg/photo"
)

// finder is a corner pattern of a QR code: a dark square of 3 modules in a light one of 5 in a dark one of 7.
type finder struct {
	x, y   float64       // middle, full-size pixels
	a, b   [2]float64    // one module along either side, pixels; which side is which is not known
	inv    [2][2]float64 // pixels to modules
	edges  []edge
	misfit float64 // root mean square distance of the edges from the squares, modules
	light  float64 // levels
	dark   float64
}

// edge is a place where a ray from the middle crosses the border of one of the three squares.
type edge struct {
	x, y float64
	ring int // 0, 1, 2 from within
}

// The borders of the squares, in modules from the middle, and which way ink that spreads moves them.
var (
	ringAt = [3]float64{1.5, 2.5, 3.5}
	spread = [3]float64{1, -1, 1}
)

// local returns the place of a pixel in modules from the middle.
func (f *finder) local(x, y float64) (s, t float64) {
	x -= f.x
	y -= f.y
	return f.inv[0][0]*x + f.inv[0][1]*y, f.inv[1][0]*x + f.inv[1][1]*y
}

// unit is the mean side of a module in pixels.
func (f *finder) unit() float64 {
	return math.Sqrt(math.Abs(f.a[0]*f.b[1] - f.a[1]*f.b[0]))
}

const (
	rays    = 24   // around the middle
	minHit  = 18   // of them that must meet the three borders
	misfits = 0.25 // modules; a guess, half of what tells borders apart
)

var rayDirs = func() (d [rays][2]float64) {
	for i := range d {
		d[i][1], d[i][0] = math.Sincos(2 * math.Pi * (float64(i) + 0.25) / rays)
	}
	return d
}()

// look follows rays from a candidate. False: it is no corner pattern.
func look(l *photo.Lightness, c candidate, swap bool) (finder, bool) {
	if c.light-c.dark < minStep {
		return finder{}, false
	}
	r := tracer{l: l, unit: c.unit, least: 0.3 * (c.light - c.dark)}
	// Across the line first: that is where most candidates fail.
	dx, dy := 0.0, 1.0
	if swap {
		dx, dy = dy, dx
	}
	x, y := c.x, c.y
	for range 2 {
		var ok bool
		if x, y, ok = r.centre(x, y, dx, dy); !ok {
			return finder{}, false
		}
		if x, y, ok = r.centre(x, y, dy, dx); !ok {
			return finder{}, false
		}
	}
	f := finder{x: x, y: y, edges: make([]edge, 0, 3*rays), light: c.light, dark: c.dark}
	for i, d := range rayDirs {
		if i-len(f.edges)/3 > rays-minHit {
			return finder{}, false
		}
		e, ok := r.ray(x, y, d[0], d[1])
		if !ok {
			continue
		}
		for k, at := range e {
			f.edges = append(f.edges, edge{x + at*d[0], y + at*d[1], k})
		}
	}
	if len(f.edges) < 3*minHit || !f.square(c.unit) {
		return finder{}, false
	}
	return f, true
}

// tracer follows rays through the photo.
type tracer struct {
	l     *photo.Lightness
	unit  float64 // width of a module as first seen
	least float64 // step of lightness that ends a run
	v     [96]float64
}

// centre moves (x, y) to the middle of the inner square along a direction.
func (r *tracer) centre(x, y, dx, dy float64) (float64, float64, bool) {
	p, ok := r.ray(x, y, dx, dy)
	if !ok {
		return 0, 0, false
	}
	q, ok := r.ray(x, y, -dx, -dy)
	if !ok || p[2] > 2.5*q[2] || q[2] > 2.5*p[2] {
		return 0, 0, false
	}
	d := (p[0] - q[0] + p[1] - q[1] + p[2] - q[2]) / 6
	return x + d*dx, y + d*dy, true
}

// reach is how far a ray goes, in modules as first seen. Seen at 60° aslant, a
// module is twice as long one way as the other.
const reach = 9

// ray returns how far from (x, y) in a direction the borders are met, pixels.
// Each lies where the lightness is half-way between the runs on its two sides.
func (r *tracer) ray(x, y, dx, dy float64) (e [3]float64, ok bool) {
	h := math.Max(0.5, r.unit*reach/float64(len(r.v)-1))
	n := min(len(r.v), int(reach*r.unit/h))
	var at [4]int // samples of the extremes of the four runs
	k := 0        // run
	v := &r.v
	last := n
	// A run that is too wide for what the scan saw ends the ray: the photo goes on
	// for long, and most candidates are none.
	most := [4]int{int(4 * r.unit / h), int(2.5 * r.unit / h), int(2.5 * r.unit / h), n}
	from := 0
	for i := 0; i < n; i++ {
		u, in := sample(r.l, x+float64(i)*h*dx, y+float64(i)*h*dy)
		if !in {
			last = i
			break
		}
		v[i] = u
		ext, sign := v[at[k]], float64(1-2*(k&1)) // of a dark run 1
		switch {
		case sign*u < sign*ext:
			at[k] = i
		case sign*u > sign*ext+r.least && k == 3:
			last = i
		case sign*u > sign*ext+r.least:
			k++
			at[k], from = i, i
		case i-from > most[k]:
			return e, false
		}
		if k == 3 && from < i && (last < n || 2*i > 3*at[2]) {
			break
		}
	}
	if k < 3 {
		return e, false
	}
	for j := range 3 {
		mid := (v[at[j]] + v[at[j+1]]) / 2
		for i := at[j]; i < at[j+1]; i++ {
			if (v[i] < mid) != (v[i+1] < mid) {
				e[j] = h * (float64(i) + (mid-v[i])/(v[i+1]-v[i]))
				break
			}
		}
	}
	u := e[2] / 3.5
	return e, math.Abs(e[0]/u-1.5) < 0.6 && math.Abs(e[1]/u-2.5) < 0.55 && u > 0.4*r.unit && u < 2.5*r.unit
}

// sample returns the lightness between pixels. False: outside the photo.
func sample(l *photo.Lightness, x, y float64) (float64, bool) {
	if !(x >= 0 && y >= 0) {
		return 0, false
	}
	i, j := int(x), int(y)
	if i >= l.W-1 || j >= l.H-1 {
		return 0, false
	}
	fx, fy := x-float64(i), y-float64(j)
	p := l.Origin + i*l.DX + j*l.DY
	a, b := float64(l.Pix[p]), float64(l.Pix[p+l.DX])
	c, d := float64(l.Pix[p+l.DY]), float64(l.Pix[p+l.DX+l.DY])
	return (1-fy)*(a+(b-a)*fx) + fy*(c+(d-c)*fx), true
}

// square fits three squares with one middle, turned and tilted, to the edges. False: they are none.
func (f *finder) square(unit float64) bool {
	// The outer edges' second moments say how it is tilted; how it is turned is then tried out.
	var xx, xy, yy, n float64
	for _, e := range f.edges {
		if e.ring == 2 {
			dx, dy := e.x-f.x, e.y-f.y
			xx, xy, yy, n = xx+dx*dx, xy+dx*dy, yy+dy*dy, n+1
		}
	}
	// Cholesky; a square with sides of 7 has moments of about 2·3.5²/3 · 1.1.
	k := n * 3.5 * 3.5 * 0.7
	l11 := math.Sqrt(xx / k)
	l21 := xy / k / l11
	l22 := math.Sqrt(yy/k - l21*l21)
	if !(l11 > 0.2*unit && l22 > 0.2*unit) {
		return false
	}
	best := finder{misfit: math.Inf(1)}
	const turns = 6 // of a quarter
	for i := range turns {
		sin, cos := math.Sincos(math.Pi / 2 * float64(i) / turns)
		g := *f
		g.a = [2]float64{l11 * cos, l21*cos + l22*sin}
		g.b = [2]float64{-l11 * sin, -l21*sin + l22*cos}
		if g.settle(unit) && g.misfit < best.misfit {
			best = g
		}
	}
	if best.misfit > misfits {
		return false
	}
	la, lb := math.Hypot(best.a[0], best.a[1]), math.Hypot(best.b[0], best.b[1])
	if la > 2.5*lb || lb > 2.5*la || best.unit() < math.Sqrt(0.4*la*lb) {
		return false
	}
	*f = best
	return true
}

// invert fills inv from a and b.
func (f *finder) invert() bool {
	d := f.a[0]*f.b[1] - f.a[1]*f.b[0]
	if !(math.Abs(d) > 1e-6) {
		return false
	}
	f.inv = [2][2]float64{{f.b[1] / d, -f.b[0] / d}, {-f.a[1] / d, f.a[0] / d}}
	return true
}

// side tells which side of its square an edge lies on: axis 0 for those across
// a, 1 for those across b. False: too near a corner, where blur rounds it.
func side(s, t float64) (axis int, sign float64, ok bool) {
	axis = 0
	if math.Abs(t) > math.Abs(s) {
		s, t, axis = t, s, 1
	}
	return axis, math.Copysign(1, s), math.Abs(t) < 0.8*math.Abs(s)
}

// settle improves a, b and the middle by turns of telling the edges' sides and
// fitting them. How far the ink has spread is fitted too.
func (f *finder) settle(unit float64) bool {
	x0, y0 := f.x, f.y
	for range 3 {
		if !f.invert() {
			return false
		}
		var m [2]normal
		for _, e := range f.edges {
			axis, sign, ok := side(f.local(e.x, e.y))
			if ok {
				m[axis].add([]float64{(e.x - x0) / unit, (e.y - y0) / unit, 1, -sign * spread[e.ring]}, sign*ringAt[e.ring], 1)
			}
		}
		p, ok1 := m[0].solve()
		q, ok2 := m[1].solve()
		d := p[0]*q[1] - p[1]*q[0]
		if !ok1 || !ok2 || !(math.Abs(d) > 1e-6) || math.Abs(p[3]) > 0.45 || math.Abs(q[3]) > 0.45 {
			return false
		}
		f.a = [2]float64{q[1] / d * unit, -q[0] / d * unit}
		f.b = [2]float64{-p[1] / d * unit, p[0] / d * unit}
		f.x = x0 + (-q[1]*p[2]+p[1]*q[2])/d*unit
		f.y = y0 + (q[0]*p[2]-p[0]*q[2])/d*unit
		f.invert()
		sum, n := 0.0, 0.0
		for _, e := range f.edges {
			s, t := f.local(e.x, e.y)
			axis, sign, ok := side(s, t)
			if !ok {
				continue
			}
			v, ink := s, p[3]
			if axis == 1 {
				v, ink = t, q[3]
			}
			r := sign*v - ringAt[e.ring] - spread[e.ring]*ink
			sum, n = sum+r*r, n+1
		}
		if n < rays {
			return false
		}
		f.misfit = math.Sqrt(sum / n)
	}
	return true
}
