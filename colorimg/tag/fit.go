package tag

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"hueward/colorimg/photo"
	"hueward/colorimg/shape"
)

// symbol is a code laid over the photo: its corner patterns are where they are seen, and its modules where these say.
type symbol struct {
	dim  int              // modules a side
	map_ shape.Homography // modules from the top left corner of the code to pixels
}

// edgeError is the usual error of an edge, in modules. A guess between the misfit of sharp codes, 0.05, and the limit.
const edgeError = 0.12

// fit fits a code of dim modules a side to the group's patterns: the homography under which their edges fall on
// the borders of the squares, by linear least squares. Small codes hardly show perspective, for which the fit has a
// prior.
func (g *group) fit(dim int, long float64) (symbol, bool) {
	o, right, down := g.frame()
	n := float64(dim - 7)
	size := math.Max(math.Hypot(right[0], right[1]), math.Hypot(down[0], down[1]))
	det := right[0]*down[1] - right[1]*down[0]
	if !(det > 0.05*size*size) {
		return symbol{}, false
	}
	// Pixels to modules by the first guess.
	guess := shape.Homography{
		n * down[1] / det, -n * down[0] / det, 0,
		-n * right[1] / det, n * right[0] / det, 0,
		0, 0, 1,
	}
	guess[2] = 3.5 - guess[0]*o[0] - guess[1]*o[1]
	guess[5] = 3.5 - guess[3]*o[0] - guess[4]*o[1]
	middles := [3][2]float64{{3.5, 3.5}, {3.5 + n, 3.5}, {3.5, 3.5 + n}}
	back := guess // pixels to modules
	for round := range 3 {
		var m normal
		for c, f := range g.f {
			if f == nil {
				continue
			}
			for _, e := range f.edges {
				u, v := back.Apply(e.x, e.y)
				if math.IsNaN(u) {
					return symbol{}, false
				}
				s, t := u-middles[c][0], v-middles[c][1]
				if round == 0 { // the guess may be turned a little, the middle is sure
					fu, fv := back.Apply(f.x, f.y)
					s, t = u-fu, v-fv
				}
				axis, sign, ok := side(s, t)
				if !ok {
					continue
				}
				at, ink := sign*ringAt[e.ring], sign*spread[e.ring]
				if d := []float64{s, t}[axis] - at; round > 0 && math.Abs(d) > 0.6 {
					continue
				}
				x, y := (e.x-o[0])/size, (e.y-o[1])/size
				if axis == 0 {
					w := middles[c][0] + at
					m.add([]float64{x, y, 1, 0, 0, 0, -w * x, -w * y, -ink}, w, 1)
				} else {
					w := middles[c][1] + at
					m.add([]float64{0, 0, 0, x, y, 1, -w * x, -w * y, -ink}, w, 1)
				}
			}
		}
		prior := edgeError / (size/long + 0.02)
		m.add([]float64{0, 0, 0, 0, 0, 0, 1}, 0, prior*prior)
		m.add([]float64{0, 0, 0, 0, 0, 0, 0, 1}, 0, prior*prior)
		p, ok := m.solve()
		if !ok {
			return symbol{}, false
		}
		back = shape.Homography{
			p[0] / size, p[1] / size, p[2] - (p[0]*o[0]+p[1]*o[1])/size,
			p[3] / size, p[4] / size, p[5] - (p[3]*o[0]+p[4]*o[1])/size,
			p[6] / size, p[7] / size, 1 - (p[6]*o[0]+p[7]*o[1])/size,
		}
	}
	fwd, ok := back.Inverse()
	if !ok {
		return symbol{}, false
	}
	s := symbol{dim: dim, map_: fwd}
	_, ok = shape.SquareTo(s.corners(), 1)
	return s, ok
}

// unknowns is the largest number of unknowns of a fit here: those of a homography, and the spread of the ink.
const unknowns = 9

// normal gathers the normal equations of a linear least-squares fit.
type normal struct {
	n int
	a [unknowns][unknowns]float64
	b [unknowns]float64
}

// add takes the equation row·x = v, of that weight.
func (m *normal) add(row []float64, v, weight float64) {
	m.n = max(m.n, len(row))
	for i, r := range row {
		for j, s := range row[:i+1] {
			m.a[j][i] += weight * r * s // the upper half
		}
		m.b[i] += weight * r * v
	}
}

// solve returns x. False: the equations do not settle it.
func (m *normal) solve() (x [unknowns]float64, ok bool) {
	if m.n == 0 {
		return x, false
	}
	a := mat.NewSymDense(m.n, nil)
	for i := range m.n {
		for j := i; j < m.n; j++ {
			a.SetSym(i, j, m.a[i][j])
		}
	}
	var c mat.Cholesky
	if !c.Factorize(a) || !(c.Cond() < 1e12) {
		return x, false
	}
	err := c.SolveVecTo(mat.NewVecDense(m.n, x[:m.n]), mat.NewVecDense(m.n, m.b[:m.n]))
	return x, err == nil
}

// corners returns where the code's corners are seen.
func (s *symbol) corners() (c [4][2]float64) {
	d := float64(s.dim)
	for i, p := range [4][2]float64{{0, 0}, {d, 0}, {d, d}, {0, d}} {
		c[i][0], c[i][1] = s.map_.Apply(p[0], p[1])
	}
	return c
}

// moved returns the code with its bottom right corner moved by so many modules.
func (s *symbol) moved(du, dv float64) (symbol, bool) {
	c := s.corners()
	d := float64(s.dim)
	c[2][0], c[2][1] = s.map_.Apply(d+du, d+dv)
	m, ok := shape.SquareTo(c, d)
	return symbol{s.dim, m}, ok
}

// aligned returns the code with its small pattern near the bottom right corner
// where it is seen. False: the code has none, or it is not seen.
func (s *symbol) aligned(l *photo.Lightness) (symbol, bool) {
	if s.dim < 25 {
		return symbol{}, false
	}
	const far, grain = 10, 0.2 // two modules around
	mid := float64(s.dim) - 6.5
	best, bu, bv := 0.0, 0.0, 0.0
	for j := -far; j <= far; j++ {
		for i := -far; i <= far; i++ {
			du, dv := float64(i)*grain, float64(j)*grain
			if c := s.alignment(l, mid+du, mid+dv); c > best {
				best, bu, bv = c, du, dv
			}
		}
	}
	if best < 0.75 {
		return symbol{}, false
	}
	// The corner moves as much more as it lies farther from the other three.
	k := (float64(s.dim) / (mid)) * (float64(s.dim) / mid)
	return s.moved(bu*k, bv*k)
}

// alignment correlates what is seen around a place with the small pattern: a
// dark module in a light square of 3 in a dark one of 5.
func (s *symbol) alignment(l *photo.Lightness, u, v float64) float64 {
	var sum, sq, cross, ones float64
	for j := -2; j <= 2; j++ {
		for i := -2; i <= 2; i++ {
			x, y := s.map_.Apply(u+float64(i), v+float64(j))
			g, ok := sample(l, x, y)
			if !ok {
				return 0
			}
			sum += g
			sq += g * g
			if max(i, -i, j, -j) == 1 {
				cross += g
				ones++
			}
		}
	}
	const n = 25
	dev := math.Sqrt(math.Max(0, sq-sum*sum/n)) * math.Sqrt(ones-ones*ones/n)
	if dev < 1 {
		return 0
	}
	return (cross - sum*ones/n) / dev
}
