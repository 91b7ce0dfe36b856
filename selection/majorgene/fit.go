package majorgene

import (
	"cmp"
	"math"
	"slices"

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
// likelihoods err, by a standard deviation of about 3 (a guess), so that odds are less extreme than they seem, by √(1 + π 3²/8).
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
	costOfLocus   = 2.0
	costOfUnknown = 5.0
)

// directions are colours by which plants of a family may differ, each as long as one standard deviation: where they lean to, the
// longest axis of all, and others that lie evenly, so that one is near to any.
func (l *line) directions(m *trial) []space.Vector {
	m.weigh()
	mean := m.expected()
	t1, _ := space.InverseLog(m.t)
	var lean space.Vector
	for c := range m.l.cells {
		q := &m.l.cells[c]
		for _, i := range q.records {
			r := space.Minus(space.Minus(l.Y[i], mean[l.Plant[i]-l.groups]), q.mean)
			lean = space.Plus(lean, space.Times(space.Quadratic(t1, r)/(1+l.extra[i]), r))
		}
	}
	all := []space.Vector{lean, axis(l.whole)}
	for _, u := range [7]space.Vector{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}, {1, 1, 1}, {1, 1, -1}, {1, -1, 1}, {-1, 1, 1}} {
		all = append(all, space.Apply(space.Root(m.t), u))
	}
	var out []space.Vector
	for _, d := range all {
		length := space.Quadratic(t1, d)
		if !(length > 0) {
			continue
		}
		d = space.Times(1/math.Sqrt(length), d)
		if !slices.ContainsFunc(out, func(o space.Vector) bool { return math.Abs(space.Dot(o, space.Apply(t1, d))) > 0.95 }) {
			out = append(out, d)
		}
	}
	return out
}

// axis is the longest axis of a covariance.
func axis(x space.Matrix) space.Vector {
	d := space.Vector{1, 1, 1}
	for range 50 {
		d = space.Apply(x, d)
		d = space.Times(1/max(math.Sqrt(space.Dot(d, d)), 1e-300), d)
	}
	return d
}

// grow is the best model with one locus more.
func (l *line) grow(from *trial) *trial {
	dirs := l.directions(from)
	dirs = dirs[:min(len(dirs), [MostLoci]int{9, 5, 2}[from.h.loci])]
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
				n := l.like(from, h)
				beta := n.beta
				beta[second[at]] = space.Times(size, d)
				if hetero[at] >= 0 {
					if size < 0 { // which homozygote is first does not matter
						continue
					}
					beta[hetero[at]] = space.Times(size/2, d)
				}
				n.t = space.Sub(n.t, space.Scale(0.6, space.Outer(d)))
				trials, alikes = append(trials, n), append(alikes, false)
				if at == 0 && hetero[at] < 0 { // later families' means are known
					trials, alikes = append(trials, l.like(n, h)), append(alikes, true)
				}
			}
		}
	}
	genetics.SideBySide(len(trials), func(i int) { trials[i].begin(alikes[i]) })
	found := best(trials)
	if at > 0 || found.worth() < from.worth()-3 {
		return found
	}
	// Its effect may have been found with plants in the wrong classes.
	again := []*trial{found}
	for _, alike := range []bool{false, true} {
		n := l.like(found, found.h)
		n.begin(alike)
		again = append(again, n)
	}
	return best(again)
}

// like is a trial that starts as another ended, whose loci are the first of its own.
func (l *line) like(from *trial, h shape) *trial {
	second, hetero := h.columns()
	was, wasHetero := from.h.columns()
	n := l.try(h, make([]space.Vector, h.effects()), from.t)
	for o := range from.h.loci {
		n.beta[second[o]] = from.beta[was[o]]
		if wasHetero[o] >= 0 {
			n.beta[hetero[o]] = from.beta[wasHetero[o]]
		}
	}
	for gr := range n.freq {
		copy(n.freq[gr], from.freq[gr])
	}
	return n
}

// best is the best of some trials once they have settled: the better ones go on.
func best(trials []*trial) *trial {
	for _, round := range [3]struct{ most, steps int }{{len(trials), 1}, {10, 3}, {2, 40}} {
		trials = trials[:min(len(trials), round.most)]
		genetics.SideBySide(len(trials), func(i int) {
			trials[i].steps(round.steps, 1)
			trials[i].lik = trials[i].evidence(1 + round.steps/5)
		})
		slices.SortStableFunc(trials, func(a, b *trial) int { return cmp.Compare(b.worth(), a.worth()) })
	}
	return trials[0]
}

// begin works out first chances from the effects that a trial starts with. Alike: as if all
// families were, but for the strong genes, of one mean.
func (m *trial) begin(alike bool) {
	m.founders()
	m.peel(1, 1e-6)
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
	m.peel(1, 1e-9)
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
		var trials []*trial
		for _, share := range []float64{0.5, 0.15} {
			t := l.like(m, h)
			t.beta[hetero[at]] = space.Times(share, t.beta[second[at]])
			t.begin(false)
			trials = append(trials, t)
		}
		if better := best(trials); better.worth() > m.worth() {
			m = better
		}
	}
	return m
}

// model is what is told of the best trial.
func (l *line) model(m *trial, out *Model) *Model {
	out.Loci, out.HiddenBy, out.Partial = m.h.loci, m.h.hiddenBy, m.h.partial
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
	m.average(chances, out.Exact)
	for gr := range l.groups {
		row := make([]float64, k)
		m.s.founder(row, m.freq[gr], l.net.inbred[gr])
		out.Chances = append(out.Chances, row...)
	}
	out.Chances = append(out.Chances, chances[:(l.Ped.Len()-int(l.groups))*k]...)
	return out
}
