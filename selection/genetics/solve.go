package genetics

import (
	"cmp"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// solve replaces x, a value for each node and trait, by the solution.
func (f *factor) solve(x []float64) {
	t := f.t
	for _, v := range f.order {
		f.down(v, x)
	}
	if f.size > 0 {
		b := mat.NewVecDense(f.size*t, nil)
		for i, c := range f.core {
			if c >= 0 {
				for k := range t {
					b.SetVec(int(c)*t+k, x[i*t+k])
				}
			}
		}
		// An error only says that the matrix is nearly singular; b is solved all the same.
		_ = f.chol.SolveVecTo(b, b)
		for i, c := range f.core {
			if c >= 0 {
				for k := range t {
					x[i*t+k] = b.AtVec(int(c)*t + k)
				}
			}
		}
	}
	for _, v := range slices.Backward(f.order) {
		f.up(v, x)
	}
}

// down subtracts node v's part from its later neighbours: a step of forward substitution.
func (f *factor) down(v int32, x []float64) {
	t, n := f.t, f.t*f.t
	xv, below := x[int(v)*t:int(v)*t+t], f.below[v]
	if t == 3 {
		a, b, c := xv[0], xv[1], xv[2]
		for r, i := range f.rows[v] {
			m, y := below[r*9:r*9+9:r*9+9], x[int(i)*3:int(i)*3+3:int(i)*3+3]
			y[0] -= m[0]*a + m[1]*b + m[2]*c
			y[1] -= m[3]*a + m[4]*b + m[5]*c
			y[2] -= m[6]*a + m[7]*b + m[8]*c
		}
		return
	}
	for r, i := range f.rows[v] {
		addApply(x[int(i)*t:int(i)*t+t], -1, below[r*n:r*n+n], xv, t)
	}
}

// up solves for node v, whose later neighbours are solved: a step of back substitution.
func (f *factor) up(v int32, x []float64) {
	t, n := f.t, f.t*f.t
	xv, below := x[int(v)*t:int(v)*t+t], f.below[v]
	if t == 3 {
		d := f.diag[v]
		a := d[0]*xv[0] + d[1]*xv[1] + d[2]*xv[2]
		b := d[3]*xv[0] + d[4]*xv[1] + d[5]*xv[2]
		c := d[6]*xv[0] + d[7]*xv[1] + d[8]*xv[2]
		for r, i := range f.rows[v] {
			m, y := below[r*9:r*9+9:r*9+9], x[int(i)*3:int(i)*3+3:int(i)*3+3]
			a -= m[0]*y[0] + m[3]*y[1] + m[6]*y[2]
			b -= m[1]*y[0] + m[4]*y[1] + m[7]*y[2]
			c -= m[2]*y[0] + m[5]*y[1] + m[8]*y[2]
		}
		xv[0], xv[1], xv[2] = a, b, c
		return
	}
	y := make([]float64, t)
	addApply(y, 1, f.diag[v], xv, t)
	for r, i := range f.rows[v] {
		addApplyT(y, -1, below[r*n:r*n+n], x[int(i)*t:int(i)*t+t], t)
	}
	copy(xv, y)
}

// inverseAmong returns the blocks of the inverse between all pairs of some nodes, as one matrix by rows, node by node. It works
// only on the nodes that are reached from these: in a long book, on the ancestry of this season's plants.
//
// Source: sparse right-hand sides and solutions, Gilbert and Peierls 1988, SIAM J. Sci. Stat. Comput. 9:862.
func (f *factor) inverseAmong(nodes []int32) []float64 {
	t, n := f.t, len(nodes)*f.t
	met := make([]bool, len(f.turn))
	var order []int32 // those met, as they are eliminated
	todo := slices.Clone(nodes)
	for len(todo) > 0 {
		v := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		if met[v] {
			continue
		}
		met[v] = true
		if f.turn[v] >= 0 {
			order = append(order, v)
			todo = append(todo, f.rows[v]...)
		}
	}
	slices.SortFunc(order, func(a, b int32) int { return cmp.Compare(f.turn[a], f.turn[b]) })
	var core []int32
	for i, c := range f.core {
		if c >= 0 {
			core = append(core, int32(i))
		}
	}
	out := make([]float64, n*n)
	const some = 12 // columns at once, so that the core is read once for all of them
	SideBySide((n+some-1)/some, func(lot int) {
		from, to := lot*some, min(lot*some+some, n)
		x := make([][]float64, to-from)
		var dense *mat.Dense
		if f.size > 0 {
			dense = mat.NewDense(f.size*t, to-from, nil)
		}
		for k := range x {
			r := from + k
			x[k] = make([]float64, len(f.turn)*t)
			x[k][int(nodes[r/t])*t+r%t] = 1
			for _, v := range order {
				if xv := x[k][int(v)*t : int(v)*t+t]; slices.ContainsFunc(xv, func(x float64) bool { return x != 0 }) {
					f.down(v, x[k])
				}
			}
			for _, i := range core {
				for q := range t {
					dense.Set(int(f.core[i])*t+q, k, x[k][int(i)*t+q])
				}
			}
		}
		if dense != nil {
			_ = f.chol.SolveTo(dense, dense) // as in solve
		}
		for k := range x {
			for _, i := range core {
				for q := range t {
					x[k][int(i)*t+q] = dense.At(int(f.core[i])*t+q, k)
				}
			}
			for _, v := range slices.Backward(order) {
				f.up(v, x[k])
			}
			for c, at := range nodes {
				copy(out[(from+k)*n+c*t:(from+k)*n+c*t+t], x[k][int(at)*t:])
			}
		}
	})
	return out
}
