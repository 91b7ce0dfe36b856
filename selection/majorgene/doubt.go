package majorgene

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"hueward/selection/space"
)

// mostMissing bounds the share of information on the effects that is lost because genotypes are not known; a larger share
// would be an artefact of taking the plants' genotypes as independent. A guess.
const mostMissing = 0.9

// doubts returns [Model.Doubts]: the errors of [trial.directions], for each genotype's effect.
func (m *trial) doubts() (out [][][3]float64) {
	for _, beta := range m.directions() {
		of := make([][3]float64, m.s.genotypes)
		for g := range of {
			for e, x := range m.x[g] {
				of[g] = space.Plus(of[g], space.Times(x, beta[e]))
			}
		}
		out = append(out, of)
	}
	return out
}

// directions returns the independent errors of the effects: for each, the change of every effect for one standard error.
// The sum of their outer products is the inverse of the observed information. nil where that cannot be worked out.
//
// Source: the observed information is that of the complete data less the variance of the score over the
// missing data: Louis 1982, J. R. Statist. Soc. B 44:226; plants' genotypes are taken as independent.
func (m *trial) directions() (out [][]space.Vector) {
	l, k, n := m.l, m.s.genotypes, m.h.effects()
	a, _ := m.equations()
	missing := mat.NewSymDense(3*n, nil) // variance of the score over the genotypes
	t1, _ := space.InverseLog(m.t)
	score, mean := make([]float64, 3*n), make([]float64, 3*n)
	for c := range l.cells {
		q := &l.cells[c]
		for _, i := range q.records {
			node := int(l.Plant[i] - l.groups)
			w := 1 / (l.d[i] + l.extra[i])
			clear(mean)
			for _, about := range [2]bool{false, true} { // the score's mean, then the variance about it
				for g, p := range m.q[node*k : node*k+k] {
					if p < 1e-9 {
						continue
					}
					r := space.Apply(t1, space.Minus(space.Minus(l.Y[i], q.mean), m.effect(g)))
					for e, x := range m.x[g] {
						for j := range 3 {
							score[3*e+j] = w * x * r[j]
							if about {
								score[3*e+j] -= mean[3*e+j]
							} else {
								mean[3*e+j] += p * score[3*e+j]
							}
						}
					}
					if about {
						missing.SymRankOne(missing, p, mat.NewVecDense(3*n, score))
					}
				}
			}
		}
	}
	var chol mat.Cholesky
	if n == 0 || !chol.Factorize(a) {
		return nil
	}
	var low, inv mat.TriDense
	chol.LTo(&low)
	if inv.InverseTri(&low) != nil {
		return nil
	}
	var half, lost mat.Dense
	half.Mul(&inv, missing)
	lost.Mul(&half, inv.T())
	sym := mat.NewSymDense(3*n, nil)
	for i := range 3 * n {
		for j := i; j < 3*n; j++ {
			sym.SetSym(i, j, (lost.At(i, j)+lost.At(j, i))/2)
		}
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(sym, true) {
		return nil
	}
	var q, root mat.Dense
	eigen.VectorsTo(&q)
	root.Mul(inv.T(), &q)
	for d, share := range eigen.Values(nil) {
		size := 1 / math.Sqrt(1-min(max(share, 0), mostMissing))
		of := make([]space.Vector, n)
		for e := range of {
			for j := range 3 {
				of[e][j] = size * root.At(3*e+j, d)
			}
		}
		out = append(out, of)
	}
	return out
}
