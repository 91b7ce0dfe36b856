package majorgene

import (
	"math"
	"math/rand/v2"
	"slices"

	"hueward/selection/space"
)

const (
	averaged     = 8    // number of parameter sets that genotype chances are averaged over, in antithetic pairs
	mostAveraged = 1000 // largest number of records for which they are averaged: with more, the parameters are known well enough
	// wider multiplies the standard errors of the effects and the scatter. These take plants' classes as independent, and do not
	// count that the search selects what looks strong. Chosen on simulated lines (TestStrongCalibrated of selection): with 2 the
	// chances of hidden alleles are a little better, and those of plans worse.
	wider = 1.5
)

// average replaces the genotype chances, which hold for parameters (effects, scatter and allele frequencies) that are known, by their
// mean over draws of the parameters. Without that, chances are too close to 0 or 1.
//
// Source: imputing missing data, here genotypes, after drawing the parameters: Tanner and Wong 1987, JASA 82:528. Parameters are
// drawn normally around their estimates: effects by doubt.go; the root of the scatter on the log scale, as the Wishart
// distribution is for many plants; frequencies on the log odds scale.
func (m *trial) average(chances []float64, exact bool) {
	l, was := m.l, *m
	if len(l.Plant) > mostAveraged {
		return
	}
	defer func() { *m, m.settled = was, false }()
	rnd := rand.New(rand.NewPCG(5, 6))
	dirs := m.directions()
	unsure := wider / math.Sqrt(max(float64(len(l.Plant)-len(l.cells)-3), 6))
	own, least := make([]float64, len(chances)), []float64{1e-6}
	if !exact {
		least = nil
	}
	clear(chances)
	m.q = make([]float64, len(was.q))
	z := make([]float64, len(dirs)+6+len(m.freq)*m.h.loci)
	for n := range averaged {
		for d := range z {
			if z[d] = -z[d]; n%2 == 0 {
				z[d] = rnd.NormFloat64()
			}
		}
		left := z
		next := func() (x float64) { x, left = left[0], left[1:]; return x }
		m.beta = slices.Clone(was.beta)
		for _, of := range dirs {
			by := wider * next()
			for e := range of {
				m.beta[e] = space.Plus(m.beta[e], space.Times(by, of[e]))
			}
		}
		var by space.Matrix
		for i := range 3 {
			by[i][i] = math.Exp(unsure * next() / math.Sqrt2)
			for j := range i {
				by[i][j] = unsure * next()
			}
		}
		by = space.Mul(space.Root(was.t), by)
		m.t = space.Mul(by, space.Transpose(by))
		m.freq = nil
		for gr, freq := range was.freq {
			all := 2.0
			for _, group := range l.net.group {
				if group == int32(gr) {
					all += 2 / (1 + l.net.inbred[gr])
				}
			}
			of := slices.Clone(freq)
			for i, p := range of {
				odds := p / (1 - p) * math.Exp(next()/math.Sqrt(all*p*(1-p)))
				of[i] = odds / (1 + odds)
			}
			m.freq = append(m.freq, of)
		}
		copy(m.q, was.q)
		m.p.reset()
		m.settled = false
		m.weigh()
		m.see(nil)
		m.peel(1, 1e-4)
		m.weigh()
		m.see(nil)
		m.p.settleTo(own, 1e-4, least) // far below the error of a mean over so few sets
		for i, p := range own {
			chances[i] += p / averaged
		}
	}
}
