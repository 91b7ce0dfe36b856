package majorgene

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"hueward/selection/space"
)

// trial is one model while it is being fitted.
type trial struct {
	l    *line
	h    shape
	s    *combinations
	x    [][]float64    // design: genotypes × effects
	beta []space.Vector // effects
	t    space.Matrix   // covariance of a group's founders without the strong genes
	freq [][]float64    // frequency of the second allele: groups × loci
	p    *peeling
	same []int     // each genotype's first genotype of the same colour
	q    []float64 // genotype chances: nodes × genotypes
	lik  float64   // approximate log likelihood

	// Results of expected, which hold until beta or q change.
	settled bool
	by      []space.Vector // the beta that they hold for
	colors  []space.Vector // each genotype's effect
	mean    []space.Vector // each node's expected effect of strong genes
	spare   []space.Matrix // its covariance, for nodes with a colour
	logs    []float64      // scratch memory of see
	others  []normal       // each record's cell mean, estimated from the other records of the cell; filled in by see
}

// normal is a normal distribution.
type normal struct {
	mean space.Vector
	cov  space.Matrix
}

// try returns a new trial of shape h, with effects beta, scatter t and frequencies of 0.5.
func (l *line) try(h shape, beta []space.Vector, t space.Matrix) *trial {
	own := *l // each trial fills in cells of its own, so that several can run at once
	own.cells, own.tells = slices.Clone(l.cells), make([]space.Matrix, len(l.Plant))
	m := &trial{l: &own, h: h, s: combinationsOf[h.loci](), beta: beta, t: t}
	m.x = h.design(m.s)
	for _, x := range m.x {
		m.same = append(m.same, slices.IndexFunc(m.x, func(y []float64) bool { return slices.Equal(x, y) }))
	}
	m.p = newPeeling(l.net, m.s)
	m.q = make([]float64, len(m.p.local))
	for range l.groups {
		f := make([]float64, h.loci)
		for i := range f {
			f[i] = 0.5
		}
		m.freq = append(m.freq, f)
	}
	return m
}

// effect returns the difference of genotype g from the first homozygotes.
func (m *trial) effect(g int) (v space.Vector) {
	for k, x := range m.x[g] {
		if x != 0 {
			v = space.Plus(v, m.beta[k])
		}
	}
	return v
}

// expected returns each node's expected effect of strong genes, and fills in colors, mean and spare.
func (m *trial) expected() []space.Vector {
	if m.settled && slices.Equal(m.by, m.beta) {
		return m.mean
	}
	m.settled, m.by = true, append(m.by[:0], m.beta...)
	k, n := m.s.genotypes, m.l.net.nodes
	m.colors = m.colors[:0]
	for g := range k {
		m.colors = append(m.colors, m.effect(g))
	}
	m.mean, m.spare = slices.Grow(m.mean[:0], n)[:n], slices.Grow(m.spare[:0], n)[:n]
	for i := range m.mean {
		at := space.Vector{}
		for g, p := range m.q[i*k : i*k+k] {
			e := &m.colors[g]
			at[0] += p * e[0]
			at[1] += p * e[1]
			at[2] += p * e[2]
		}
		m.mean[i] = at
	}
	for _, i := range m.l.shown {
		cov := &m.spare[i]
		*cov = space.Matrix{}
		for g, p := range m.q[int(i)*k : int(i)*k+k] {
			if p > 1e-9 && p < 1-1e-9 {
				v := space.Minus(m.colors[g], m.mean[i])
				space.Gather(cov, p, &v)
			}
		}
	}
	return m.mean
}

// weigh works out the families' means, given the current genotype chances.
func (m *trial) weigh() {
	mean := m.expected()
	m.l.weigh(mean, m.spare, m.t)
}

const log2Pi = 1.8378770664093454 // log 2π

// see fills in p.local with the likelihood of each plant's colours given its genotype, around its cell's mean as estimated from
// the others of the cell, or around one mean for all cells. It returns the logarithm of the scale that was taken out.
func (m *trial) see(one *space.Vector) (scale float64) {
	l, k := m.l, m.s.genotypes
	m.founders()
	m.logs = slices.Grow(m.logs[:0], l.net.nodes*k)[:l.net.nodes*k]
	clear(m.logs)
	m.others = slices.Grow(m.others[:0], len(l.Y))[:len(l.Y)]
	mean := m.expected()
	t1 := space.Inverse(m.t)
	for c := range l.cells {
		q := &l.cells[c]
		var last, inv space.Matrix
		logDet := 0.0
		for at, i := range q.records {
			node := l.Plant[i] - l.groups
			w := &m.others[i]
			switch {
			case one != nil:
				*w = normal{mean: *one}
			case at > 0 && l.tells[i] == l.tells[q.records[at-1]]: // the same covariance as without the previous record
				w.cov = m.others[q.records[at-1]].cov
				w.mean = l.without(q, i, &w.cov, &t1, space.Minus(l.Y[i], mean[node]))
			default:
				w.cov = l.covWithout(q, i)
				w.mean = l.without(q, i, &w.cov, &t1, space.Minus(l.Y[i], mean[node]))
			}
			if sum := space.Add(w.cov, space.Scale(l.d[i]+l.extra[i], m.t)); sum != last {
				last = sum
				inv, logDet = space.InverseLog(sum)
			}
			r := space.Minus(l.Y[i], w.mean)
			log := m.logs[int(node)*k : int(node)*k+k]
			for g, first := range m.same {
				if first < g {
					log[g] = log[first]
					continue
				}
				v := space.Minus(r, m.colors[g])
				log[g] -= (v[0]*(inv[0][0]*v[0]+inv[0][1]*v[1]+inv[0][2]*v[2]) + v[1]*(inv[1][0]*v[0]+inv[1][1]*v[1]+inv[1][2]*v[2]) +
					v[2]*(inv[2][0]*v[0]+inv[2][1]*v[1]+inv[2][2]*v[2]) + logDet + 3*log2Pi) / 2 // a normal density
			}
		}
	}
	var seen [MostGenotypes]float64
	for _, i := range l.shown {
		row, log := m.p.row(m.p.local, i), m.logs[int(i)*k:int(i)*k+k]
		top := slices.Max(log)
		scale += top
		for g, first := range m.same {
			if seen[g] = seen[first]; first == g {
				seen[g] = max(math.Exp(log[g]-top), 1e-30)
			}
			row[g] *= seen[g]
		}
	}
	return scale
}

// founders sets p.local to the prior: Hardy-Weinberg frequencies, with inbreeding, for founders; 1 for the others.
func (m *trial) founders() {
	for i := range m.p.local {
		m.p.local[i] = 1
	}
	for i := range int32(m.l.net.nodes) {
		if m.l.net.born[i] < 0 {
			m.s.founder(m.p.row(m.p.local, i), m.freq[m.l.net.group[i]], m.l.net.inbred[m.l.net.group[i]])
		}
	}
}

// peel works out the genotype chances q.
func (m *trial) peel(sweeps int, tolerance float64) {
	m.settled = false
	m.p.run(sweeps, tolerance)
	for i := range int32(m.l.net.nodes) {
		m.p.chances(m.p.row(m.q, i), i)
	}
}

// evidence returns the approximate log likelihood of the current parameters: that of the genotypes, given the cells' means estimated
// without each record, plus that of the means given all records, less what records contribute to both.
//
// Source: expectation propagation, Minka 2001, Uncertainty in Artificial Intelligence 17:362; the genotypes, see peeling.
func (m *trial) evidence(sweeps int) float64 {
	l := m.l
	m.weigh()
	e := m.see(nil)
	m.p.run(sweeps, 1e-7)
	e += m.p.logLik()
	for c := range l.cells {
		q := &l.cells[c]
		_, log := space.InverseLog(q.precision)
		e -= (log + q.priorLog + space.Quadratic(q.priorInv, space.Minus(q.prior, q.mean))) / 2
		var last, inv space.Matrix
		logDet := 0.0
		for _, i := range q.records {
			w := &m.others[i]
			if w.cov != last {
				last = w.cov
				inv, logDet = space.InverseLog(w.cov)
			}
			e += (log + logDet + space.Quadratic(inv, space.Minus(w.mean, q.mean))) / 2
		}
	}
	return e
}

// steps does at most most steps of expectation maximisation, fewer where the effects settle.
func (m *trial) steps(most, sweeps int) {
	for range most {
		was := m.beta
		m.effects()
		m.means()
		m.spread()
		m.frequencies()
		m.weigh()
		m.see(nil)
		m.peel(sweeps, 1e-9)
		moved := 0.0
		for k := range m.beta {
			d := space.Minus(m.beta[k], was[k])
			moved = max(moved, space.Dot(d, d))
		}
		if moved < 1e-3 {
			return
		}
	}
}

// means updates the cells' means for new effects.
func (m *trial) means() {
	mean := m.expected()
	l := m.l
	t1, _ := space.InverseLog(m.t)
	for c := range l.cells {
		q := &l.cells[c]
		var sum space.Vector
		for _, i := range q.records {
			sum = space.Plus(sum, space.Times(1/(l.d[i]+l.extra[i]), space.Minus(l.Y[i], mean[l.Plant[i]-l.groups])))
		}
		q.mean = space.Apply(q.cov, space.Plus(space.Apply(q.priorInv, q.prior), space.Apply(t1, sum)))
	}
}

// equations returns the normal equations a·beta = b of the effects, with the cells' means eliminated: generalised least
// squares over the genotype chances, with plants' genotypes independent. Each effect has a prior of mean 0 and wideSD.
func (m *trial) equations() (a *mat.SymDense, b *mat.VecDense) {
	l, n, k := m.l, m.h.effects(), m.s.genotypes
	a, b = mat.NewSymDense(3*n, nil), mat.NewVecDense(3*n, nil)
	for i := range 3 * n {
		a.SetSym(i, i, 1.0/(wideSD*wideSD))
	}
	t1, _ := space.InverseLog(m.t)
	xx := make([]float64, n*n) // Σ w E[x x'] over the records of all cells
	xy := make([]space.Vector, n)
	for c := range l.cells {
		q := &l.cells[c]
		bx, own := make([]float64, n), make([]float64, n) // Σ w x of the cell and of a record
		vary := make([]float64, n*n)                      // Σ w² of the covariances of x
		var by space.Vector
		for _, i := range q.records {
			w := 1 / (l.d[i] + l.extra[i])
			node := int(l.Plant[i] - l.groups)
			by = space.Plus(by, space.Times(w, l.Y[i]))
			clear(own)
			for g, p := range m.q[node*k : node*k+k] {
				if p < 1e-12 {
					continue
				}
				for e, x := range m.x[g] {
					if x == 0 {
						continue
					}
					own[e] += w * p
					for f, z := range m.x[g] {
						if z != 0 {
							xx[e*n+f] += w * p
							vary[e*n+f] += w * w * p
						}
					}
				}
			}
			for e, x := range own {
				bx[e] += x
				xy[e] = space.Plus(xy[e], space.Times(x, l.Y[i]))
				for f, z := range own {
					vary[e*n+f] -= x * z
				}
			}
		}
		// The part of the cell's mean is subtracted: E[(T⁻¹ bx) S (T⁻¹ bx)'].
		mid := space.Mul(space.Mul(t1, q.cov), t1)
		s := space.Apply(q.cov, space.Plus(space.Apply(q.priorInv, q.prior), space.Apply(t1, by)))
		ts := space.Apply(t1, s)
		for e := range n {
			if bx[e] == 0 {
				continue
			}
			for i := range 3 {
				b.SetVec(3*e+i, b.AtVec(3*e+i)-bx[e]*ts[i])
			}
			for f := e; f < n; f++ {
				for i := range 3 {
					for j := range 3 {
						if 3*f+j >= 3*e+i {
							a.SetSym(3*e+i, 3*f+j, a.At(3*e+i, 3*f+j)-(bx[e]*bx[f]+vary[e*n+f])*mid[i][j])
						}
					}
				}
			}
		}
	}
	for e := range n {
		v := space.Apply(t1, xy[e])
		for i := range 3 {
			b.SetVec(3*e+i, b.AtVec(3*e+i)+v[i])
		}
		for f := e; f < n; f++ {
			for i := range 3 {
				for j := range 3 {
					if 3*f+j >= 3*e+i {
						a.SetSym(3*e+i, 3*f+j, a.At(3*e+i, 3*f+j)+xx[e*n+f]*t1[i][j])
					}
				}
			}
		}
	}
	return a, b
}

// effects solves the equations for beta.
func (m *trial) effects() {
	a, b := m.equations()
	var chol mat.Cholesky
	var x mat.VecDense
	if !chol.Factorize(a) || chol.SolveVecTo(&x, b) != nil {
		return
	}
	m.beta = make([]space.Vector, m.h.effects())
	for e := range m.beta {
		m.beta[e] = space.Vector{x.AtVec(3 * e), x.AtVec(3*e + 1), x.AtVec(3*e + 2)}
	}
}

// spread estimates t, the covariance without the strong genes. It counts that the mean of a cell depends on its plants'
// genotypes, which are uncertain.
func (m *trial) spread() {
	l := m.l
	ss, df := space.Scale(guessN, space.Diag(space.Even(guessSD*guessSD))), float64(guessN)
	mean := m.expected()
	t1, none := space.Inverse(m.t), space.Matrix{}
	for c := range l.cells {
		q := &l.cells[c]
		gain := space.Mul(q.cov, t1)
		all := none // variance of the cell's mean due to genotypes
		for _, i := range q.records {
			w := 1 / (l.d[i] + l.extra[i])
			if own := &m.spare[l.Plant[i]-l.groups]; *own != none {
				all = space.Add(all, space.Scale(w*w, *own))
			}
		}
		if all != none {
			all = space.Mul(space.Mul(gain, all), space.Transpose(gain))
		}
		all = space.Add(q.cov, all)
		for _, i := range q.records {
			node := l.Plant[i] - l.groups
			trust := 1 / (1 + l.extra[i]) // a record with a large error has little weight
			w := 1 / (l.d[i] + l.extra[i])
			own := all
			if with := &m.spare[node]; *with != none {
				with := space.Scale(w, space.Mul(gain, *with))
				own = space.Sub(space.Add(all, m.spare[node]), space.Add(with, space.Transpose(with)))
			}
			r := space.Minus(space.Minus(l.Y[i], q.mean), mean[node])
			by := trust * w
			for a := range ss {
				s, o, x := &ss[a], &own[a], r[a]
				s[0], s[1], s[2] = s[0]+by*(o[0]+x*r[0]), s[1]+by*(o[1]+x*r[1]), s[2]+by*(o[2]+x*r[2])
			}
			df += trust
		}
	}
	m.t = space.Scale(1/df, ss)
	for i := range 3 {
		m.t[i][i] = max(m.t[i][i], leastSD*leastSD)
	}
}

// frequencies estimates the second alleles' frequencies in each founder group, with a prior of
// one copy of each allele.
func (m *trial) frequencies() {
	l, k := m.l, m.s.genotypes
	for gr := range m.freq {
		for locus := range m.h.loci {
			second, all := 1.0, 2.0
			for i := range int32(l.net.nodes) {
				if l.net.group[i] != int32(gr) {
					continue
				}
				f := l.net.inbred[gr]
				worth := 2 / (1 + f) // independent copies: a plant of a pure line counts as one
				all += worth
				for g, p := range m.q[int(i)*k : int(i)*k+k] {
					second += worth * p * float64(m.s.copies(g, locus)) / 2
				}
			}
			m.freq[gr][locus] = second / all
		}
	}
}
