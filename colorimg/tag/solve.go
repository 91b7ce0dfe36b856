package tag

import "math"

// unknowns is the most that a fit here solves for.
const unknowns = 9

// normal gathers the normal equations of a linear least-squares fit.
type normal struct {
	n int
	a [unknowns][unknowns + 1]float64
}

// add takes the equation row·x = v, of that weight.
func (m *normal) add(row []float64, v, weight float64) {
	for i, r := range row {
		if r == 0 {
			continue
		}
		r *= weight
		for j := i; j < len(row); j++ {
			m.a[i][j] += r * row[j]
		}
		m.a[i][unknowns] += r * v
	}
}

// solve returns x. False: the equations do not settle it.
func (m *normal) solve() (x [unknowns]float64, ok bool) {
	n, a := m.n, m.a
	for i := range n {
		for j := range i {
			a[i][j] = a[j][i]
		}
	}
	for c := range n {
		best := c
		for r := c + 1; r < n; r++ {
			if math.Abs(a[r][c]) > math.Abs(a[best][c]) {
				best = r
			}
		}
		a[c], a[best] = a[best], a[c]
		if !(math.Abs(a[c][c]) > 1e-9) {
			return x, false
		}
		for r := c + 1; r < n; r++ {
			f := a[r][c] / a[c][c]
			for k := c; k < n; k++ {
				a[r][k] -= f * a[c][k]
			}
			a[r][unknowns] -= f * a[c][unknowns]
		}
	}
	for c := n - 1; c >= 0; c-- {
		v := a[c][unknowns]
		for k := c + 1; k < n; k++ {
			v -= a[c][k] * x[k]
		}
		x[c] = v / a[c][c]
	}
	return x, true
}
