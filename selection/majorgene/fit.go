package majorgene

import (
	"cmp"
	"math"
	"slices"

	"hueward/selection/genetics"
	"hueward/selection/space"
)

// Fit looks for strong genes in a line's colours. It searches the records in part, such as those of the
// newest seasons of a long book; nil: all records. Where genes are found, it then works out their effects and
// every plant's genotype chances from all records. The result is never nil; Loci is 0 where nothing was found.
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
	// complete turns a trial into a model of all records.
	complete := func(m *trial, out *Model) *Model {
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
		if out.SecondShare = 1 / (1 + math.Exp((best.worth()-second.worth())/oddsScale)); out.SecondShare >= leastShare {
			out.Second = complete(second, &Model{Plants: out.Plants})
		}
	}
	return complete(best, out)
}

// oddsScale divides the difference of two models' worth, to give the logarithm of their odds. The approximate likelihoods have an
// error with a standard deviation of about 3 (a guess), which makes the odds less extreme, by √(1 + π 3²/8).
//
// Source: MacKay 1992, Neural Computation 4:720, moderated outputs.
const oddsScale = 2.13

// leastShare is the least chance of a second model that is reported.
const leastShare = 0.05

// null returns the model without strong genes.
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

// worth returns the penalised log likelihood.
func (m *trial) worth() float64 { return m.lik - m.cost() }

// cost returns the penalty of a model: for each colour 0.75 times the logarithm of the number of
// records and a constant, for each locus a constant, and more where parents are not known. The numbers were chosen on
// simulated lines without strong genes, so that a gene is found in at most one of 20, whatever their size.
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

// directions returns differences of colour to start a search with, each one standard deviation long: the direction in which
// residuals are skewed, the first principal axis of all colours, and others spread evenly, so that one is near any direction.
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

// axis returns the first principal axis of a covariance, by power iteration.
func axis(x space.Matrix) space.Vector {
	d := space.Vector{1, 1, 1}
	for range 50 {
		d = space.Apply(x, d)
		d = space.Times(1/max(math.Sqrt(space.Dot(d, d)), 1e-300), d)
	}
	return d
}

// grow returns the best model with one locus more.
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
		if at == 2 { // a third locus may be hidden by the others, but hides none
			continue
		}
		over := h
		over.hiddenBy[o] = at
		add(over)
	}
	var trials []*trial
	var alikes []bool // each trial's argument to begin
	for _, h := range shapes {
		second, hetero := h.columns()
		for _, d := range dirs {
			for _, size := range []float64{2.2, -2.2} {
				n := l.like(from, h)
				beta := n.beta
				beta[second[at]] = space.Times(size, d)
				if hetero[at] >= 0 {
					if size < 0 { // with a colour for heterozygotes, the order of the homozygotes does not matter
						continue
					}
					beta[hetero[at]] = space.Times(size/2, d)
				}
				n.t = space.Sub(n.t, space.Scale(0.6, space.Outer(d)))
				trials, alikes = append(trials, n), append(alikes, false)
				if at == 0 && hetero[at] < 0 { // at later loci, families' means are known from the model before
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
	// The effect may have been found with plants in the wrong classes: start again from the effect alone.
	again := []*trial{found}
	for _, alike := range []bool{false, true} {
		n := l.like(found, found.h)
		n.begin(alike)
		again = append(again, n)
	}
	return best(again)
}

// like returns a trial of shape h that starts from the end of another one, whose loci are the first of h.
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

// best returns the best of some trials once they have settled. After each round, only the better ones go on.
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

// begin works out first genotype chances from the effects that a trial starts with. alike: as if all
// families had one mean, apart from the strong genes.
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

// refine gives heterozygotes a colour of their own where that raises the worth.
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

// model fills in out from a trial.
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
