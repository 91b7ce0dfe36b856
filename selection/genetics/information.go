package genetics

import (
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/mat"
)

// derivatives returns the score (the first derivatives of the log likelihood by the elements of the matrices), the average
// information, and the matrices after a step of expectation maximisation.
func (f *fitting) derivatives(s *state) (score []float64, info *mat.SymDense, em [][]float64) {
	e, t := f.e, f.t
	var beside sync.WaitGroup
	beside.Go(func() { info = f.information(s) })
	z := s.f.invertBlocks()
	// For each covariance V: the number of random vectors that V is the covariance of, and the sum of their squares,
	// plus that of their error covariances.
	sums := make([][]float64, len(s.v))
	for m := range sums {
		sums[m] = make([]float64, t*t)
	}
	count := make([]float64, len(s.v))
	square := func(dst []float64, nodes []int32, w []float64, scale float64) {
		u := make([]float64, t)
		for a, i := range nodes {
			addTo(u, w[a], s.x[int(i)*t:int(i)*t+t])
			for b, j := range nodes {
				addTo(dst, w[a]*w[b]*scale, z.block(i, j))
			}
		}
		for k := range t {
			for l := range t {
				dst[k*t+l] += scale * u[k] * u[l]
			}
		}
	}
	for i := range int32(e.ped.Len()) {
		if m, ok := e.mendel(i); ok {
			square(sums[0], m.node[:m.n], m.weight[:m.n], 1/m.d)
			count[0]++
		}
	}
	if a := e.absorb; a != nil {
		for i, at := range a.nodes {
			for j, other := range a.nodes {
				at, other, w := at+int32(e.first), other+int32(e.first), a.m.At(i, j)
				addTo(sums[0], w, z.block(at, other))
				for k := range t {
					for l := range t {
						sums[0][k*t+l] += w * s.x[int(at)*t+k] * s.x[int(other)*t+l]
					}
				}
			}
		}
		count[0] += float64(a.rows)
	}
	if len(s.v) == 3 {
		for _, at := range e.member {
			if at >= 0 {
				square(sums[1], []int32{at}, []float64{1}, 1)
				count[1]++
			}
		}
	}
	// The score as a matrix D, so that the derivative by an element is tr(D E).
	score = make([]float64, 0, len(s.v)*len(f.units))
	em = make([][]float64, len(s.v))
	for m := range s.v {
		d := make([]float64, t*t)
		last := m == len(s.v)-1
		if last {
			d, count[m] = f.residual(s, z)
		} else {
			addTo(d, -count[m]/2, s.inv[m])
			addTo(d, 0.5, product(product(s.inv[m], sums[m], t), s.inv[m], t))
		}
		n := count[m]
		if f.prior != nil {
			addTo(d, -f.weight/2, s.inv[m])
			addTo(d, f.weight/2, product(product(s.inv[m], f.prior[m], t), s.inv[m], t))
			n += f.weight
		}
		em[m] = slices.Clone(s.v[m])
		addTo(em[m], 2/max(n, 1), product(product(s.v[m], d, t), s.v[m], t))
		for _, u := range f.units {
			score = append(score, traceOf(d, u))
		}
	}
	beside.Wait()
	if f.effect != nil && !f.done {
		f.effect.step(e, s.x, z)
	}
	return score, info, em
}

// residual returns the score matrix of the residual covariance, and the number of records.
func (f *fitting) residual(s *state, z *inverse) (d []float64, n float64) {
	e, t := f.e, f.t
	d = make([]float64, t*t)
	fit, half, whole := make([]float64, t*t), make([]float64, t*t), make([]float64, t*t)
	for i, of := range e.of {
		w, p := e.weight[i], s.py[i*t:i*t+t]
		clear(fit)
		for _, a := range of {
			for _, b := range of {
				addTo(fit, 1, z.block(a, b))
			}
		}
		addTo(d, -0.5, w)
		addTo(d, 0.5, productTo(whole, productTo(half, w, fit, t), w, t))
		for k := range t {
			for l := range t {
				d[k*t+l] += 0.5 * p[k] * p[l]
			}
		}
	}
	return d, float64(len(e.of))
}

// information returns the average information matrix over all elements, that of the prior included.
func (f *fitting) information(s *state) *mat.SymDense {
	e, t := f.e, f.t
	per, n := len(f.units), len(s.v)*len(f.units)
	base := e.baseOf(s.x[e.first*t : (e.first+e.ped.Len())*t])
	q := make([][]float64, n)  // working variates: dV/dθ · P y, records × t
	pq := make([][]float64, n) // P times them
	SideBySide(n, func(c int) {
		m, unit := c/per, f.units[c%per]
		u, v, w := make([]float64, t), make([]float64, t), make([]float64, len(e.rec.Y))
		for i, at := range e.rec.Plant {
			clear(u)
			switch {
			case m == len(s.v)-1:
				copy(u, s.py[i*t:i*t+t])
			case m == 0:
				node := e.first + int(at)
				copy(v, s.x[node*t:node*t+t])
				addTo(v, -1, base[int(at)*t:int(at)*t+t])
				addApply(u, 1, s.inv[m], v, t)
			default:
				node := int(e.member[at])
				addApply(u, 1, s.inv[m], s.x[node*t:node*t+t], t)
			}
			addApply(w[i*t:i*t+t], 1, unit, u, t)
		}
		q[c], pq[c] = w, f.project(s, w)
	})
	info := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			sum := 0.0
			for k, v := range q[i] {
				sum += v * pq[j][k]
			}
			if m := i / per; f.prior != nil && m == j/per {
				sum += f.weight * traceOf(product(product(s.inv[m], f.units[i%per], t), s.inv[m], t), f.units[j%per])
			}
			info.SetSym(i, j, sum/2)
		}
	}
	return info
}

// project returns P w = V⁻¹ (w - X b), by the mixed model equations.
func (f *fitting) project(s *state, w []float64) []float64 {
	e, t := f.e, f.t
	x, out := make([]float64, e.nodes*t), make([]float64, len(w))
	for i, of := range e.of {
		r := out[i*t : i*t+t]
		addApply(r, 1, e.weight[i], w[i*t:i*t+t], t)
		for _, at := range of {
			addTo(x[int(at)*t:int(at)*t+t], 1, r)
		}
	}
	s.f.solve(x)
	fit := make([]float64, t)
	for i, of := range e.of {
		clear(fit)
		for _, at := range of {
			addTo(fit, 1, x[int(at)*t:int(at)*t+t])
		}
		addApply(out[i*t:i*t+t], -1, e.weight[i], fit, t)
	}
	return out
}

// step takes the largest step that raises the likelihood: from Newton's with the average information, through ones damped
// by more and more of the complete-data information, to one of expectation maximisation. nil: no step raises it, the
// maximum is reached. The second result says which matrices were held at the edge.
//
// Source: Levenberg 1944, Q. Appl. Math. 2:164.
func (f *fitting) step(s *state, score []float64, info *mat.SymDense, em [][]float64) (*state, []bool) {
	n, per := len(score), len(f.units)
	seen := f.seenInformation(s)
	try := func(v [][]float64) (*state, []bool) {
		v, held := f.bound(v)
		next, err := f.at(v)
		if err != nil || !(next.logLik >= s.logLik-1e-10*math.Abs(s.logLik)) {
			return nil, nil
		}
		return next, held
	}
	for _, share := range []float64{1e-5, 0.01, 0.1, 0.5} {
		damped := mat.NewSymDense(n, nil)
		damped.ScaleSym(share, seen)
		damped.AddSym(damped, info)
		delta := mat.NewVecDense(n, nil)
		delta.MulVec(errorsOf(damped), mat.NewVecDense(n, score))
		delta.ScaleVec(f.stride, delta)
		v := make([][]float64, len(s.v))
		for m := range v {
			v[m] = slices.Clone(s.v[m])
			for k, u := range f.units {
				addTo(v[m], delta.AtVec(m*per+k), u)
			}
		}
		if next, held := try(v); next != nil {
			return next, held
		}
	}
	return try(em)
}

// seenInformation returns the information of the complete data, as if breeding values were observed: n/2 tr(V⁻¹ E V⁻¹ E).
func (f *fitting) seenInformation(s *state) *mat.SymDense {
	per := len(f.units)
	counts := []int{f.additive(), f.members(), len(f.e.of)}
	if len(s.v) == 2 {
		counts = []int{counts[0], counts[2]}
	}
	out := mat.NewSymDense(len(s.v)*per, nil)
	for m := range s.v {
		for k, x := range f.units {
			for l := k; l < per; l++ {
				out.SetSym(m*per+k, m*per+l, float64(counts[m])/2*traceOf(product(product(s.inv[m], x, f.t), s.inv[m], f.t), f.units[l]))
			}
		}
	}
	return out
}
