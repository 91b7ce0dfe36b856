package majorgene

import (
	"hueward/selection/space"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// trial is one model under way.
type trial struct {
	l    *line
	h    shape
	s    *combinations
	x    [][]float64    // genotypes × effects
	beta []space.Vector // effects
	t    space.Matrix   // covariance of a group's founders beside the strong genes
	freq [][]float64    // groups × loci: of the second allele
	p    *peeling
	same []int     // of each genotype, the first that has its colour
	q    []float64 // nodes × genotypes
	lik  float64   // the logarithm of the likelihood, nearly

	// What expected works out: of each genotype its effect; of each node what strong genes are expected to give it, and,
	// where it has a colour, the covariance of that. It stands until effects or chances move.
	settled bool
	by      []space.Vector // the effects that it goes by
	colors  []space.Vector
	mean    []space.Vector
	spare   []space.Matrix
	logs    []float64 // room of see
	others  []normal  // of each record, its cell's mean as the others of the cell tell it: of see
}

// normal is a colour that is not known for certain.
type normal struct {
	mean space.Vector
	cov  space.Matrix
}

func (l *line) try(h shape, beta []space.Vector, t space.Matrix) *trial {
	own := *l // cells are filled in anew by each trial, so that several go side by side
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

// effect is by how much genotype g differs from the first homozygotes.
func (m *trial) effect(g int) (v space.Vector) {
	for k, x := range m.x[g] {
		if x != 0 {
			v = space.Plus(v, m.beta[k])
		}
	}
	return v
}

// expected is what the strong genes are expected to give each node; it fills in colors, mean and spare.
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

// weigh works out the families' means with the genotype chances as they are.
func (m *trial) weigh() {
	mean := m.expected()
	m.l.weigh(mean, m.spare, m.t)
}

const log2Pi = 1.8378770664093454

// see fills in what each plant's colours say of its genotype: around its cell's mean as the others of the cell tell it, or
// around one mean for all. It returns the logarithm of the scale.
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
			case at > 0 && l.tells[i] == l.tells[q.records[at-1]]: // it is as sure without either
				w.cov = m.others[q.records[at-1]].cov
				w.mean = l.without(q, i, &w.cov, &t1, space.Minus(l.Y[i], mean[node]))
			default:
				w.cov = l.doubtWithout(q, i)
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

// founders fills in what is known of genotypes before any colour.
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

// peel works out the genotype chances.
func (m *trial) peel(sweeps int, tolerance float64) {
	m.settled = false
	m.p.run(sweeps, tolerance)
	for i := range int32(m.l.net.nodes) {
		m.p.chances(m.p.row(m.q, i), i)
	}
}

// evidence is the logarithm of the likelihood at the parameters as they are: that of the genotypes, around the cells' means as
// the others of each cell tell them, and that of the means with all records, less what the records have told of both.
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

// steps does so many steps of expectation maximisation, fewer where they settle.
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

// means works the cells' means out anew with new effects.
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

// equations are those of the effects, the cells' means taken out: generalised least squares over
// the genotype chances, plants apart. Each effect has a prior of mean 0 and wideSD.
func (m *trial) equations() (a *mat.SymDense, b *mat.VecDense) {
	l, n, k := m.l, m.h.effects(), m.s.genotypes
	a, b = mat.NewSymDense(3*n, nil), mat.NewVecDense(3*n, nil)
	for i := range 3 * n {
		a.SetSym(i, i, 1.0/(wideSD*wideSD))
	}
	t1, _ := space.InverseLog(m.t)
	xx := make([]float64, n*n) // of the records of all cells: Σ w E[x x']
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
		// Less what the cell's mean takes: (T⁻¹ bx) S (T⁻¹ bx)', on average.
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

// effects solves for the effects.
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

// spread estimates the covariance beside the strong genes. Where a plant's genotype differs from what is expected, so does the
// mean of its cell.
func (m *trial) spread() {
	l := m.l
	ss, df := space.Scale(guessN, space.Diag(space.Even(guessSD*guessSD))), float64(guessN)
	mean := m.expected()
	t1, none := space.Inverse(m.t), space.Matrix{}
	for c := range l.cells {
		q := &l.cells[c]
		gain := space.Mul(q.cov, t1)
		all := none // by what genotypes vary the mean
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
			trust := 1 / (1 + l.extra[i]) // a doubtful record tells little
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

// frequencies estimates the second alleles' frequencies in each founder group, two copies
// added, one of either.
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
				worth := 2 / (1 + f) // a plant of a pure line is one copy
				all += worth
				for g, p := range m.q[int(i)*k : int(i)*k+k] {
					second += worth * p * float64(m.s.copies(g, locus)) / 2
				}
			}
			m.freq[gr][locus] = second / all
		}
	}
}
