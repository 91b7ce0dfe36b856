package selection

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"

	"hueward/colorimg/cie"
	"hueward/selection/space"
)

// simulated is one run.
type simulated struct {
	reached              []bool
	distance, inbreeding []float64
}

// simPlant is one plant of a run.
type simPlant struct {
	truth, value space.Vector
	error        space.Matrix
	f            float64
	cross        int       // that it came of
	genotype     int       // of the strong genes
	chances      []float64 // of its genotypes, as far as is known
}

// room is what a run works in, used again by the next.
type room struct {
	plants, next []simPlant
	came, coming [][2]int // the parents of each plant
	families     []simCross
	order        []ranked
	pairs        []ranked
	uses         []int
	crosses      [][2]int
	at           []cie.Lab // colours, and how far they are from the target
	away         []float64
}

// ranked is a plant or a pair by its distance; n is how many are before it.
type ranked struct {
	d  float64
	n  int
	at [2]int
}

func byDistance(a, b ranked) int {
	switch {
	case a.d < b.d:
		return -1
	case a.d > b.d:
		return 1
	}
	return a.n - b.n
}

func (p *planning) run(c Choice, rnd *rand.Rand) *simulated {
	w, ok := p.rooms.Get().(*room)
	if !ok {
		w = &room{}
	}
	defer p.rooms.Put(w)
	out := &simulated{make([]bool, p.seasons), make([]float64, p.seasons), make([]float64, p.seasons)}
	z := func() space.Vector { return space.Vector{rnd.NormFloat64(), rnd.NormFloat64(), rnd.NormFloat64()} }
	n := len(p.values)
	width := math.Sqrt(math.Log1p(p.scaleCV * p.scaleCV))
	size := math.Exp((width*rnd.NormFloat64() - width*width/2) / 2) // of the true additive standard deviation
	e := mat.NewVecDense(3*n, nil)
	for i := range 3 * n {
		e.SetVec(i, rnd.NormFloat64())
	}
	e.MulVec(p.errors, e)
	w.plants = w.plants[:0]
	for i := range n {
		w.plants = append(w.plants, simPlant{value: p.values[i], error: p.errorOf[i], f: 2*p.coancestry[i][i] - 1,
			truth: space.Plus(p.values[i], space.Vector{e.AtVec(3 * i), e.AtVec(3*i + 1), e.AtVec(3*i + 2)})})
	}
	if p.genes != nil {
		p.genes.begin(w.plants, rnd)
	}
	co := p.coancestry // of the season's plants; after the first, of those alone that are parents
	for s := range p.seasons {
		plants := w.plants
		if p.hold {
			w.crosses = p.held(w, c.Keep, rnd)
		} else {
			w.crosses = p.crosses(w, c.Keep)
		}
		if s > 0 {
			co = offspringCoancestry(co, w.came, plants, w.crosses)
		}
		w.next, w.coming, w.families = w.next[:0], w.coming[:0], w.families[:0]
		for _, x := range w.crosses {
			w.families = append(w.families, p.family(&plants[x[0]], &plants[x[1]], size))
			w.families[len(w.families)-1].f = co[x[0]][x[1]]
		}
		for k := range c.Grow {
			x, f := w.crosses[k%len(w.crosses)], &w.families[k%len(w.crosses)]
			w.next = append(w.next, simPlant{f: f.f, cross: k % len(w.crosses), truth: space.Plus(f.truth, space.Apply(f.root, z()))})
			w.coming = append(w.coming, x)
			q := &w.next[k]
			if p.genes != nil {
				p.genes.cross(q, &plants[x[0]], &plants[x[1]], rnd)
			}
			y := space.Plus(p.color(q), space.Apply(p.rootE, z()))
			q.error = f.error
			if p.genes != nil {
				var cov space.Matrix
				y, cov = p.genes.see(q, y, f.value, f.inv)
				q.error = space.Semidefinite(space.Add(q.error, space.Mul(space.Mul(f.gain, cov), space.Transpose(f.gain))))
			}
			q.value = space.Plus(f.value, space.Apply(f.gain, space.Minus(y, f.value)))
		}
		in, at := 0, w.at[:0]
		for i := range w.next {
			at = append(at, space.Lab(p.color(&w.next[i])))
		}
		for i, d := range p.distances(w, at) {
			out.distance[s] += d / float64(c.Grow)
			out.inbreeding[s] += w.next[i].f / float64(c.Grow)
			if d <= p.target.Within {
				in++
			}
		}
		out.reached[s] = 4*in >= c.Grow
		w.plants, w.next, w.came, w.coming = w.next, w.plants, w.coming, w.came
	}
	return out
}

// simCross is what the offspring of one cross share.
type simCross struct {
	f            float64
	truth, value space.Vector // the means of the parents' own
	root         space.Matrix // of the variance within the family
	prior, inv   space.Matrix // the covariance of the values before an offspring is measured; the inverse of its measurement's
	gain, error  space.Matrix // the weight of an offspring's own record; the covariance of the error that is left
}

func (p *planning) family(a, b *simPlant, size float64) simCross {
	d := 0.5 - (max(a.f, 0)+max(b.f, 0))/4
	f := simCross{truth: space.Plus(a.truth, b.truth), value: space.Plus(a.value, b.value), root: space.Scale(size*math.Sqrt(d), p.rootG)}
	f.truth = space.Vector{f.truth[0] / 2, f.truth[1] / 2, f.truth[2] / 2}
	f.value = space.Vector{f.value[0] / 2, f.value[1] / 2, f.value[2] / 2}
	f.prior = space.Add(space.Scale(0.25, space.Add(a.error, b.error)), space.Scale(d, p.additive))
	f.inv = space.Inverse(space.Add(f.prior, p.residual))
	f.gain = space.Mul(f.prior, f.inv)
	f.error = space.Semidefinite(space.Sub(f.prior, space.Mul(f.gain, f.prior)))
	return f
}

// offspringCoancestry is the coancestry of those of the plants that are crossed, by their places among the
// plants; the rows of others are nil. came are the parents of each plant, co is the coancestry of those.
func offspringCoancestry(co [][]float64, came [][2]int, plants []simPlant, crosses [][2]int) [][]float64 {
	out := make([][]float64, len(plants))
	var crossed []int
	for _, x := range crosses {
		for _, i := range x {
			if out[i] == nil {
				out[i] = make([]float64, len(plants))
				crossed = append(crossed, i)
			}
		}
	}
	for k, i := range crossed {
		x := came[i]
		for _, j := range crossed[:k] {
			y := came[j]
			out[i][j] = (co[x[0]][y[0]] + co[x[0]][y[1]] + co[x[1]][y[0]] + co[x[1]][y[1]]) / 4
			out[j][i] = out[i][j]
		}
		out[i][i] = (1 + plants[i].f) / 2
	}
	return out
}

// crosses picks the parents, keep of them at most, and pairs them: those pairs first
// whose offspring's mean lies nearest, no plant in more than three. Strong genes count as in [Pairs].
func (p *planning) crosses(w *room, keep int) [][2]int {
	order := p.ordered(w)
	order = order[:min(len(order), 3*keep)]
	pairs := w.pairs[:0]
	for i, x := range order {
		for _, y := range order[i:] {
			if x.n == y.n && (p.noSelfs || keep > 1 && len(order) > 1) {
				continue
			}
			pairs = append(pairs, ranked{n: len(pairs), at: [2]int{x.n, y.n}})
		}
	}
	w.pairs = pairs
	p.worth(w, pairs)
	// A heap, as the first few of hundreds are enough.
	for i := len(pairs)/2 - 1; i >= 0; i-- {
		sink(pairs, i)
	}
	w.uses = append(w.uses[:0], make([]int, len(w.plants))...)
	used := 0
	out := w.crosses[:0]
	for len(pairs) > 0 && len(out) < max(keep, 1) {
		q := pairs[0]
		last := len(pairs) - 1
		pairs[0] = pairs[last]
		pairs = pairs[:last]
		sink(pairs, 0)
		x, y := q.at[0], q.at[1]
		more := 0
		if w.uses[x] == 0 {
			more++
		}
		if y != x && w.uses[y] == 0 {
			more++
		}
		if used+more > keep || w.uses[x] >= 3 || w.uses[y] >= 3 {
			continue
		}
		used += more
		w.uses[x]++
		if y != x {
			w.uses[y]++
		}
		out = append(out, q.at)
	}
	return out
}

// sink puts a heap right from place i down.
func sink(heap []ranked, i int) {
	for {
		least := 2*i + 1
		if least >= len(heap) {
			return
		}
		if r := least + 1; r < len(heap) && byDistance(heap[r], heap[least]) < 0 {
			least = r
		}
		if byDistance(heap[i], heap[least]) <= 0 {
			return
		}
		heap[i], heap[least] = heap[least], heap[i]
		i = least
	}
}

// ordered are the plants, the nearest first.
func (p *planning) ordered(w *room) []ranked {
	w.order = w.order[:0]
	for i, d := range p.away(w) {
		w.order = append(w.order, ranked{d: d, n: i})
	}
	slices.SortFunc(w.order, byDistance)
	return w.order
}

// held picks the parents of a held line, keep of them at most: of the plants that seem within the tolerance, or, of a
// line that has left it, of the nearer half, one of each cross before a second of any; each is crossed with the next.
func (p *planning) held(w *room, keep int, rnd *rand.Rand) [][2]int {
	order := p.ordered(w)
	fit := 0
	for fit < len(order) && order[fit].d <= p.target.Within {
		fit++
	}
	order = order[:max(fit, (len(order)+1)/2)]
	rnd.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
	taken := map[int]int{} // of each cross: how many plants of it come before
	for k, q := range order {
		cross := w.plants[q.n].cross
		order[k].d = float64(taken[cross])
		taken[cross]++
	}
	slices.SortStableFunc(order, func(a, b ranked) int { return cmp.Compare(a.d, b.d) })
	order = order[:min(len(order), keep)]
	out := w.crosses[:0]
	for i := range order {
		out = append(out, [2]int{order[i].n, order[(i+1)%len(order)].n})
	}
	return out
}
