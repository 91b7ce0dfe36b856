package tag

import (
	"cmp"
	"math"
	"slices"
)

// corner says which of a code's corner patterns one is.
type corner int

const (
	topLeft corner = iota
	topRight
	bottomLeft
)

// group is a set of corner patterns that belong to one code: nil where one is
// not seen. A group of two leaves open how the code lies; each way is a group.
type group struct {
	f       [3]*finder
	across  float64 // middle to middle along a side, in modules
	mismade float64 // how far from square it is; 0 is best
}

// The modules from the middle of one corner pattern to that of the next: 14 in the smallest code, 170 in the largest.
const (
	minAcross = 14 - 3
	maxAcross = 170 + 10
)

// triples returns the sets of three patterns that may belong to one code, the best first.
func triples(fs []finder) []group {
	var gs []group
	for i := range fs {
		for j := range fs {
			for k := range fs {
				if i == j || j == k || i == k {
					continue
				}
				if g, ok := triple(&fs[i], &fs[j], &fs[k]); ok {
					gs = append(gs, g)
				}
			}
		}
	}
	slices.SortStableFunc(gs, func(a, b group) int { return cmp.Compare(a.mismade, b.mismade) })
	return gs
}

func triple(tl, tr, bl *finder) (group, bool) {
	rx, ry, dx, dy := tr.x-tl.x, tr.y-tl.y, bl.x-tl.x, bl.y-tl.y
	if rx*dy-ry*dx <= 0 { // mirrored
		return group{}, false
	}
	right, off1, axis1 := apart(tl, tr)
	down, off2, axis2 := apart(tl, bl)
	if axis1 == axis2 || off1 > 0.25 || off2 > 0.25 {
		return group{}, false
	}
	q := math.Abs(math.Log(right / down))
	across := (right + down) / 2
	if across < minAcross || across > maxAcross || q > 0.3 {
		return group{}, false
	}
	return group{f: [3]*finder{tl, tr, bl}, across: across, mismade: q + off1 + off2}, true
}

// apart returns how many modules lie between two middles, the mean of what either pattern says, how far off the
// pattern's axis the other lies as a share of that, and which axis of f it is.
func apart(f, g *finder) (n, off float64, axis int) {
	s, t := f.local(g.x, g.y)
	u, v := g.local(f.x, f.y)
	d1, d2 := math.Hypot(s, t), math.Hypot(u, v)
	if math.Abs(t) > math.Abs(s) {
		s, t, axis = t, s, 1
	}
	if math.Abs(v) > math.Abs(u) {
		u, v = v, u
	}
	if d1 > 1.7*d2 || d2 > 1.7*d1 { // not side by side in one plane
		return 0, 1, axis
	}
	// The scale changes evenly between them, so that the lengths add like this.
	return math.Sqrt(d1 * d2), max(math.Abs(t)/math.Abs(s), math.Abs(v)/math.Abs(u)), axis
}

// pairs returns the codes that two patterns may belong to, the third being
// covered: four ways to lie for two along a side, two for two on a diagonal.
func pairs(f, g *finder) []group {
	n, off, _ := apart(f, g)
	switch {
	case off < 0.1 && n > minAcross && n < maxAcross:
		return []group{
			{f: [3]*finder{f, g, nil}, across: n},
			{f: [3]*finder{g, f, nil}, across: n},
			{f: [3]*finder{f, nil, g}, across: n},
			{f: [3]*finder{g, nil, f}, across: n},
		}
	case off > 0.8 && off <= 1 && n > minAcross*math.Sqrt2 && n < maxAcross*math.Sqrt2:
		return []group{
			{f: [3]*finder{nil, f, g}, across: n / math.Sqrt2},
			{f: [3]*finder{nil, g, f}, across: n / math.Sqrt2},
		}
	}
	return nil
}

// frame returns the group's first guess of where the code lies: the middle of
// its top left pattern, and the ways to the other two.
func (g *group) frame() (o, right, down [2]float64) {
	tl, tr, bl := g.f[topLeft], g.f[topRight], g.f[bottomLeft]
	way := func(f, g *finder) [2]float64 { return [2]float64{g.x - f.x, g.y - f.y} }
	switch {
	case bl == nil:
		right = way(tl, tr)
		down = turnRight(right, tl, tr, g.across)
	case tr == nil:
		down = way(tl, bl)
		right = turnRight(down, tl, bl, g.across)
		right = [2]float64{-right[0], -right[1]}
	case tl == nil:
		// The way up from the bottom left is the one side that lies to the left of the diagonal and leads along it.
		d := way(bl, tr)
		for _, v := range sides(bl, tr, g.across) {
			if v[0]*d[1]-v[1]*d[0] > 0 && v[0]*d[0]+v[1]*d[1] > 0 {
				down = [2]float64{-v[0], -v[1]}
			}
		}
		o = [2]float64{bl.x - down[0], bl.y - down[1]}
		return o, [2]float64{tr.x - o[0], tr.y - o[1]}, down
	default:
		right, down = way(tl, tr), way(tl, bl)
	}
	return [2]float64{tl.x, tl.y}, right, down
}

// sides are the four ways along the sides of two patterns, across modules long.
func sides(f, g *finder, across float64) (v [4][2]float64) {
	a, b := f.a, f.b
	// g's nearest axes, so that both have a say.
	c, d := g.a, g.b
	if math.Abs(a[0]*c[0]+a[1]*c[1]) < math.Abs(a[0]*d[0]+a[1]*d[1]) {
		c, d = d, c
	}
	if a[0]*c[0]+a[1]*c[1] < 0 {
		c = [2]float64{-c[0], -c[1]}
	}
	if b[0]*d[0]+b[1]*d[1] < 0 {
		d = [2]float64{-d[0], -d[1]}
	}
	for i := range 2 {
		v[0][i] = (a[i] + c[i]) / 2 * across
		v[1][i] = (b[i] + d[i]) / 2 * across
		v[2][i], v[3][i] = -v[0][i], -v[1][i]
	}
	return v
}

// turnRight returns the direction along the patterns' sides that points to the right of w as displayed.
func turnRight(w [2]float64, f, g *finder, across float64) (r [2]float64) {
	most := 0.0
	for _, v := range sides(f, g, across) {
		if c := (w[0]*v[1] - w[1]*v[0]) / math.Hypot(v[0], v[1]); c > most {
			most, r = c, v
		}
	}
	return r
}
