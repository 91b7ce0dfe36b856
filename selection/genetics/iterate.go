package genetics

import (
	"fmt"
	"math"
	"runtime"
)

// mostIterations is far more than equations with a unique solution need.
const mostIterations = 5000

// iterate replaces the right-hand side x by the solution, by preconditioned conjugate gradients; the preconditioner is
// the inverse of each node's own block. The matrix is never stored: it is applied record by record, and plant by plant.
//
// Source: Hestenes and Stiefel 1952, J. Res. Natl. Bur. Stand. 49:409; for these
// equations Lidauer, Strandén, Mäntysaari, Pösö, Kettunen 1999, J. Dairy Sci. 82:2788.
func (e *equations) iterate(x []float64, tolerance float64) (steps int, err error) {
	if tolerance <= 0 {
		tolerance = 1e-8
	}
	t := e.t
	g, own, err := e.blocks()
	if err != nil {
		return 0, err
	}
	m := make([]float64, e.nodes*t*t)
	for i := range e.nodes {
		inv, _, ok := invert(own[i*t*t:(i+1)*t*t], t)
		if !ok {
			return 0, fmt.Errorf("breeding values: %w", errSingular)
		}
		copy(m[i*t*t:], inv)
	}
	ap := e.applier(g, own)
	r, z, p, q := append([]float64{}, x...), make([]float64, len(x)), make([]float64, len(x)), make([]float64, len(x))
	clear(x)
	precondition := func() (rz float64) {
		for i := range e.nodes {
			zi := z[i*t : i*t+t]
			clear(zi)
			addApply(zi, 1, m[i*t*t:(i+1)*t*t], r[i*t:i*t+t], t)
			for k := range t {
				rz += zi[k] * r[i*t+k]
			}
		}
		return rz
	}
	rz := precondition()
	goal := rz * tolerance * tolerance
	copy(p, z)
	for rz > goal {
		if steps++; steps > mostIterations {
			return steps, fmt.Errorf("breeding values: no solution after %d iterations; are two effects the same?", mostIterations)
		}
		ap(q, p)
		pq := 0.0
		for i := range p {
			pq += p[i] * q[i]
		}
		alpha := rz / pq
		for i := range p {
			x[i] += alpha * p[i]
			r[i] -= alpha * q[i]
		}
		was := rz
		rz = precondition()
		if math.IsNaN(rz) {
			return steps, fmt.Errorf("breeding values: %w", errSingular)
		}
		for i := range p {
			p[i] = z[i] + rz/was*p[i]
		}
	}
	return steps, nil
}

// blocks returns G⁻¹, and each node's diagonal block, nodes × t × t.
func (e *equations) blocks() (g, own []float64, err error) {
	t := e.t
	own = make([]float64, e.nodes*t*t)
	err = e.priors(func(i, j int32, s float64, x []float64) {
		if i == j {
			addTo(own[int(i)*t*t:int(i+1)*t*t], s, x)
		}
	})
	if err != nil {
		return nil, nil, err
	}
	for i, of := range e.of {
		for _, at := range of {
			addTo(own[int(at)*t*t:int(at+1)*t*t], 1, e.weight[i])
		}
	}
	g, _, _ = invert(e.par.Additive, t) // priors saw to it
	return g, own, nil
}

// applier returns a function that sets q to the equations' matrix times p. The
// pedigree's terms and the records are divided among the processors.
func (e *equations) applier(g, own []float64) func(q, p []float64) {
	t := e.t
	terms := make([]term, 0, e.ped.Len())
	for i := range int32(e.ped.Len()) {
		if m, ok := e.mendel(i); ok {
			terms = append(terms, m)
		}
	}
	workers := min(runtime.GOMAXPROCS(0), 8)
	room := make([][]float64, workers)
	for w := range room {
		room[w] = make([]float64, e.nodes*t)
	}
	// across sets out to the product with one worker's share of the terms and records.
	across := func(out, p []float64, w int) {
		clear(out)
		sum, gs := make([]float64, t), make([]float64, t)
		for _, m := range terms[w*len(terms)/workers : (w+1)*len(terms)/workers] {
			clear(sum)
			for a := range m.n {
				addTo(sum, m.weight[a], p[int(m.node[a])*t:int(m.node[a])*t+t])
			}
			clear(gs)
			addApply(gs, 1/m.d, g, sum, t)
			for a := range m.n {
				addTo(out[int(m.node[a])*t:int(m.node[a])*t+t], m.weight[a], gs)
			}
		}
		for i := w * len(e.of) / workers; i < (w+1)*len(e.of)/workers; i++ {
			clear(sum)
			for _, at := range e.of[i] {
				addTo(sum, 1, p[int(at)*t:int(at)*t+t])
			}
			clear(gs)
			addApply(gs, 1, e.weight[i], sum, t)
			for _, at := range e.of[i] {
				addTo(out[int(at)*t:int(at)*t+t], 1, gs)
			}
		}
	}
	// rest are the diagonal blocks of what is neither a term nor a record: random levels, groups, plant effects.
	rest := make([]float64, len(own))
	copy(rest, own)
	for _, m := range terms {
		for a := range m.n {
			addTo(rest[int(m.node[a])*t*t:int(m.node[a]+1)*t*t], -m.weight[a]*m.weight[a]/m.d, g)
		}
	}
	for i, of := range e.of {
		for _, at := range of {
			addTo(rest[int(at)*t*t:int(at+1)*t*t], -1, e.weight[i])
		}
	}
	return func(q, p []float64) {
		SideBySide(workers, func(w int) { across(room[w], p, w) })
		clear(q)
		for i := range e.nodes {
			addApply(q[i*t:i*t+t], 1, rest[i*t*t:(i+1)*t*t], p[i*t:i*t+t], t)
		}
		for _, out := range room {
			addTo(q, 1, out)
		}
	}
}
