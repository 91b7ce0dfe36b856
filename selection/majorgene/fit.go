package majorgene

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"hueward/selection/genetics"
	"hueward/selection/space"
)

// Fit looks for strong genes in a line's colours. The search is made in part, such as the newest
// seasons of a long book; nil: in all. Where genes are found, their effects and every plant's
// genotype chances are then worked out from all records.
func Fit(all, part *Records) *Model {
	if part == nil {
		part = all
	}
	plants := map[int32]bool{}
	for _, at := range part.Plant {
		plants[at] = true
	}
	out := &Model{Plants: len(plants)}
	if len(plants) < Fewest {
		out.Few = true
		return out
	}
	l := newLine(part)
	null := l.null()
	best, tried := null, []*trial{null}
	for best.h.loci < MostLoci {
		next := l.grow(best)
		if next == nil {
			break
		}
		tried = append(tried, next)
		if next.worth() <= best.worth() {
			break
		}
		best = next
	}
	whole := l
	if part != all {
		whole = newLine(all)
	}
	// told is a model with all records.
	told := func(m *trial, out *Model) *Model {
		if m.h.loci == 0 {
			return out
		}
		out.Gain = m.worth() - null.worth()
		if part != all {
			n := whole.try(m.h, m.beta, m.t)
			n.begin(false)
			n.steps(8, 1)
			m = n
		}
		return whole.model(m, out)
	}
	var second *trial
	for _, m := range tried {
		if m != best && (second == nil || m.worth() > second.worth()) {
			second = m
		}
	}
	if best.h.loci > 0 {
		best = l.refine(best)
	}
	if second != nil {
		if out.SecondShare = 1 / (1 + math.Exp((best.worth()-second.worth())/doubtOfBound)); out.SecondShare >= leastShare {
			out.Second = told(second, &Model{Plants: out.Plants})
		}
	}
	return told(best, out)
}

// doubtOfBound is what a difference of two models' worth is divided by before it is taken for the logarithm of their odds: the
// bounds err, by a standard deviation of about 3 (a guess), so that odds are less extreme than they seem, by √(1 + π 3²/8).
//
// Source: MacKay 1992, Neural Computation 4:720, moderated outputs.
const doubtOfBound = 2.13

// leastShare is how likely a second model must be to be told.
const leastShare = 0.05

// null is the model without strong genes.
func (l *line) null() *trial {
	m := l.try(plain(0), nil, l.scatter())
	for i := range m.q {
		m.q[i] = 1
	}
	for range 12 {
		m.weigh()
		m.means()
		m.spread()
	}
	m.lik = m.evidence(10)
	return m
}

// worth is the logarithm of the likelihood less what a model's parts cost.
func (m *trial) worth() float64 { return m.lik - m.cost() }

// cost is what is to be gained before a model is believed: of each colour half the logarithm of the
// number of plants and a constant, and more where parents are not known. All were set by simulated
// lines without strong genes, so that one is found in at most one of 20, of any size.
func (m *trial) cost() float64 {
	each := costOfLocus
	if m.l.net.unknown {
		each += costOfUnknown
	}
	return (0.75*math.Log(float64(len(m.l.Plant)))+costOfColor)*float64(m.h.effects()) + each*float64(m.h.loci)
}

const (
	costOfColor   = 3.5
	costOfLocus   = 1.5
	costOfUnknown = 5.0
)

// directions are colours by which plants of a family may differ, each as long as one standard
// deviation: the longest axis of their scatter, where they lean to, and the longest axis
// of all.
func (l *line) directions(m *trial) []space.Vector {
	m.weigh()
	mean := m.expected()
	t1, _ := space.InverseLog(m.t)
	var lean, all space.Vector
	var whole space.Matrix
	for c := range m.l.cells {
		q := &m.l.cells[c]
		for _, i := range q.records {
			r := space.Minus(space.Minus(l.Y[i], mean[l.Plant[i]-l.groups]), q.mean)
			lean = space.Plus(lean, space.Times(space.Quadratic(t1, r)/(1+l.extra[i]), r))
			all = space.Minus(l.Y[i], l.grand)
			whole = space.Add(whole, space.Outer(all))
		}
	}
	var out []space.Vector
	for _, d := range []space.Vector{axis(m.t), lean, axis(whole)} {
		length := space.Quadratic(t1, d)
		if !(length > 0) {
			continue
		}
		d = space.Times(1/math.Sqrt(length), d)
		if slices.ContainsFunc(out, func(o space.Vector) bool { return math.Abs(space.Dot(o, space.Apply(t1, d))) > 0.95 }) {
			continue
		}
		out = append(out, d)
	}
	return out
}

// axis is the longest axis of a covariance.
func axis(x space.Matrix) space.Vector {
	s := mat.NewSymDense(3, []float64{x[0][0], x[0][1], x[0][2], x[1][0], x[1][1], x[1][2], x[2][0], x[2][1], x[2][2]})
	var e mat.EigenSym
	if !e.Factorize(s, true) {
		return space.Vector{1, 0, 0}
	}
	var v mat.Dense
	e.VectorsTo(&v)
	return space.Vector{v.At(0, 2), v.At(1, 2), v.At(2, 2)}
}

// grow is the best model with one locus more; nil where none was found.
func (l *line) grow(from *trial) *trial {
	dirs := l.directions(from)
	if from.h.loci > 1 {
		dirs = dirs[:min(len(dirs), 2)]
	}
	var shapes []shape
	add := func(h shape) { shapes = append(shapes, h) }
	h := from.h
	h.loci++
	at := from.h.loci
	h.partial[at] = false
	h.hiddenBy[at] = -1
	add(h)
	partial := h
	partial.partial[at] = true
	if at == 0 {
		add(partial)
	}
	for o := range at {
		if h.hiddenBy[o] >= 0 {
			continue
		}
		under := h
		under.hiddenBy[at] = o
		add(under)
		if at == 2 { // a third is looked for beside or below the others
			continue
		}
		over := h
		over.hiddenBy[o] = at
		add(over)
	}
	var trials []*trial
	var alikes []bool // of each trial: see begin
	for _, h := range shapes {
		second, hetero := h.columns()
		for _, d := range dirs {
			for _, size := range []float64{2.2, -2.2} {
				beta := make([]space.Vector, h.effects())
				fs, fh := from.h.columns()
				for o := range at {
					beta[second[o]] = from.beta[fs[o]]
					if fh[o] >= 0 {
						beta[hetero[o]] = from.beta[fh[o]]
					}
				}
				beta[second[at]] = space.Times(size, d)
				if hetero[at] >= 0 {
					if size < 0 { // which homozygote is first does not matter
						continue
					}
					beta[hetero[at]] = space.Times(size/2, d)
				}
				var less space.Matrix
				for i := range 3 {
					for j := range 3 {
						less[i][j] = from.t[i][j] - 0.6*d[i]*d[j]
					}
				}
				for _, alike := range []bool{false, true} {
					if alike && at > 0 { // families' means are known by now
						continue
					}
					n := l.try(h, slices.Clone(beta), less)
					for gr := range n.freq {
						copy(n.freq[gr], from.freq[gr])
					}
					trials, alikes = append(trials, n), append(alikes, alike)
				}
			}
		}
	}
	genetics.SideBySide(len(trials), func(i int) {
		trials[i].begin(alikes[i])
		trials[i].steps(4, 1)
		trials[i].lik = trials[i].evidence(3)
	})
	return finish(trials)
}

// finish is the best of some trials once they have settled.
func finish(trials []*trial) *trial {
	slices.SortStableFunc(trials, func(a, b *trial) int { return cmp.Compare(b.worth(), a.worth()) })
	var best *trial
	trials = trials[:min(len(trials), 2)]
	genetics.SideBySide(len(trials), func(i int) {
		trials[i].steps(40, 1)
		trials[i].lik = trials[i].evidence(10)
	})
	for _, m := range trials {
		if best == nil || m.worth() > best.worth() {
			best = m
		}
	}
	return best
}

// begin works out first chances from the effects that a trial starts with. Alike: as if all
// families were, but for the strong genes, of one mean.
func (m *trial) begin(alike bool) {
	m.founders()
	m.peel(2, 1e-6)
	m.weigh()
	var one *space.Vector
	if alike {
		mean := m.expected()
		one = &space.Vector{}
		for i, y := range m.l.Y {
			*one = space.Plus(*one, space.Times(1/float64(len(m.l.Y)), space.Minus(y, mean[m.l.Plant[i]-m.l.groups])))
		}
	}
	m.see(one)
	m.peel(2, 1e-9)
}

// refine gives heterozygotes a colour of their own where that pays.
func (l *line) refine(m *trial) *trial {
	for at := range m.h.loci {
		if m.h.partial[at] {
			continue
		}
		h := m.h
		h.partial[at] = true
		second, hetero := h.columns()
		fs, fh := m.h.columns()
		var trials []*trial
		for _, share := range []float64{0.5, 0.15} {
			beta := make([]space.Vector, h.effects())
			for o := range h.loci {
				beta[second[o]] = m.beta[fs[o]]
				if fh[o] >= 0 {
					beta[hetero[o]] = m.beta[fh[o]]
				}
			}
			beta[hetero[at]] = space.Times(share, beta[second[at]])
			t := l.try(h, beta, m.t)
			for gr := range t.freq {
				copy(t.freq[gr], m.freq[gr])
			}
			t.begin(false)
			t.steps(6, 1)
			t.lik = t.evidence(3)
			trials = append(trials, t)
		}
		if better := finish(trials); better.worth() > m.worth() {
			m = better
		}
	}
	return m
}

// model is what is told of the best trial.
func (l *line) model(m *trial, out *Model) *Model {
	out.Loci, out.HiddenBy, out.Partial, out.space = m.h.loci, m.h.hiddenBy, m.h.partial, m.s
	k := m.s.genotypes
	for g := range k {
		out.Effects = append(out.Effects, m.effect(g))
	}
	m.weigh()
	out.Doubts = m.doubts()
	m.p.reset()
	m.see(nil)
	chances := make([]float64, len(m.p.local))
	out.Exact = m.p.settle(chances)
	for gr := range l.groups {
		row := make([]float64, k)
		m.s.founder(row, m.freq[gr], l.net.inbred[gr])
		out.Chances = append(out.Chances, row...)
	}
	out.Chances = append(out.Chances, chances[:(l.Ped.Len()-int(l.groups))*k]...)
	return out
}
