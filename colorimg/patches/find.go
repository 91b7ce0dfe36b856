package patches

import (
	"math"

	"hueward/colorimg/card"
	"hueward/colorimg/photo"
)

// Find looks for the set in the picture: a grid of at least two rows and two columns of even patches, in any orientation,
// seen a little obliquely. q holds the outer corners of the grid, from the first patch's along the first row, for
// [Set.Read]; score, 0 to 1, is how well the colours agree, and ok whether that is enough.
//
// Where it is not found, as when a hand hides a part, take the corners from the user, and pass them to [Set.Orient].
func (s *Set) Find(im *photo.Linear) (q card.Quad, score float64, ok bool) {
	if s.Rows < 2 || s.Cols < 2 || len(s.Patches) < 4 {
		return q, 0, false
	}
	list := spots(im)
	f := &finder{s: s, im: im, known: s.known()}
	for _, l := range lattices(list) {
		if len(l.cells) < max(4, 2*len(s.Patches)/5) {
			break
		}
		f.try(l, list)
	}
	return f.best, f.score, f.score >= accept && f.score >= f.second+margin
}

// finder keeps the best of the ways in which the set may lie on a lattice, and
// the best score of another way round at the same place.
type finder struct {
	s             *Set
	im            *photo.Linear
	known         [][3]float64
	best          card.Quad
	ends          card.Quad // middles of its outermost patches
	score, second float64
}

// way maps a grid's column and row to those of the lattice, apart from an offset.
type way [2][2]int

var ways = []way{
	{{1, 0}, {0, 1}}, {{0, -1}, {1, 0}}, {{-1, 0}, {0, -1}}, {{0, 1}, {-1, 0}}, // turned
	{{0, 1}, {1, 0}}, {{-1, 0}, {0, 1}}, {{0, -1}, {-1, 0}}, {{1, 0}, {0, -1}}, // rows and columns exchanged
}

func (w way) cell(c, r int) [2]int {
	return [2]int{w[0][0]*c + w[0][1]*r, w[1][0]*c + w[1][1]*r}
}

// try lays the set on the lattice in every way that covers most of its cells.
func (f *finder) try(l lattice, list []spot) {
	lo, hi := [2]int{math.MaxInt, math.MaxInt}, [2]int{math.MinInt, math.MinInt}
	for c := range l.cells {
		for k := range 2 {
			lo[k], hi[k] = min(lo[k], c[k]), max(hi[k], c[k])
		}
	}
	colors := map[[2]int]*[3]float64{} // nil: there is none
	color := func(c [2]int) *[3]float64 {
		p, known := colors[c]
		if !known {
			if rgb, ok := mean(f.im, l.h.patch(float64(c[0]), float64(c[1]), 0.5*f.s.half())); ok {
				p = &rgb
			}
			colors[c] = p
		}
		return p
	}
	n := len(ways)
	if !f.s.FromIDs {
		n = 4
	}
	read := make([][3]float64, len(f.s.Patches))
	for _, w := range ways[:n] {
		end := w.cell(f.s.Cols-1, f.s.Rows-1)
		var first, last [2]int // where the first patch may lie
		for k := range 2 {
			size := max(end[k], -end[k])
			a, b := lo[k], hi[k]-size // the low side of the set's box
			first[k], last[k] = min(a, b), max(a, b)
			if end[k] < 0 {
				first[k], last[k] = first[k]+size, last[k]+size
			}
		}
		for i := first[0]; i <= last[0]; i++ {
		place:
			for j := first[1]; j <= last[1]; j++ {
				for k, p := range f.s.Patches {
					c := w.cell(p.Col, p.Row)
					rgb := color([2]int{c[0] + i, c[1] + j})
					if rgb == nil {
						continue place
					}
					read[k] = *rgb
				}
				f.keep(match(read, f.known), l, list, w, i, j)
			}
		}
	}
}

// keep remembers the placement when it is the best so far.
func (f *finder) keep(score float64, l lattice, list []spot, w way, i, j int) {
	ends := f.endsOf(l, w, i, j)
	same := f.score > 0 && f.same(ends)
	if score <= f.score {
		if !same {
			f.second = max(f.second, score)
		}
		return
	}
	var from, to [][2]float64
	for _, p := range f.s.Patches {
		c := w.cell(p.Col, p.Row)
		c[0], c[1] = c[0]+i, c[1]+j
		at, ok := l.cells[c]
		if !ok {
			continue
		}
		from, to = append(from, [2]float64{float64(p.Col), float64(p.Row)}), append(to, [2]float64{list[at].x, list[at].y})
	}
	h, ok := fitPlane(from, to)
	if !ok {
		return
	}
	if !same {
		f.second = f.score
	}
	f.best, f.ends, f.score = f.s.quad(h), ends, score
}

// same reports whether the placement is the best so far once more: another lattice may find the set where it was.
func (f *finder) same(ends card.Quad) bool {
	size := math.Sqrt(f.best.Area() / float64(f.s.Rows*f.s.Cols))
	for k, p := range f.ends {
		if math.Hypot(p[0]-ends[k][0], p[1]-ends[k][1]) > 0.4*size {
			return false
		}
	}
	return true
}

// endsOf returns the middles of the placement's outermost patches.
func (f *finder) endsOf(l lattice, w way, i, j int) (q card.Quad) {
	c, r := f.s.Cols-1, f.s.Rows-1
	for k, p := range [4][2]int{{0, 0}, {c, 0}, {c, r}, {0, r}} {
		g := w.cell(p[0], p[1])
		q[k][0], q[k][1] = l.h.Apply(float64(g[0]+i), float64(g[1]+j))
	}
	return q
}
