package selection

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"

	"hueward/colorimg/cie"
	"hueward/selection/draws"
	"hueward/selection/majorgene"
	"hueward/selection/mating"
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
	base         space.Vector // of value, what its founder groups account for
	error        space.Matrix
	f            float64
	cross        int       // that it came of
	genotype     int       // of the strong genes
	chances      []float64 // of its genotypes, as far as is known
}

// room is what a run works in, used again by the next.
type room struct {
	plants, next []simPlant
	came, coming [][2]int // the parents of each plant, by their places in the order of their season
	families     []simCross
	order        []ranked
	pairs        []mating.Crossing
	set          mating.Set
	crosses      [][2]int  // places in order
	at           []cie.Lab // colours, and how far they are from the target
	away         []float64
	kinds        *kinds
	of           []float64    // distances of kinds
	chances      [2][]float64 // what plants and next know of genotypes
	tell         *majorgene.Families
	known        [][]float64    // chances of a family's genotypes
	colors       []space.Vector // and its colours
}

// ranked is the plant at place n, by its distance.
type ranked struct {
	d float64
	n int
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

// run follows one course; first are the crosses of its first season, and start draws what is true of the candidates.
func (p *planning) run(c Choice, first [][2]int, rnd *rand.Rand, start *draws.Mirrored) *simulated {
	w, ok := p.rooms.Get().(*room)
	if !ok {
		w = &room{}
	}
	defer p.rooms.Put(w)
	out := &simulated{make([]bool, p.seasons), make([]float64, p.seasons), make([]float64, p.seasons)}
	z := func() space.Vector { return space.Vector{rnd.NormFloat64(), rnd.NormFloat64(), rnd.NormFloat64()} }
	n := len(p.values)
	width := math.Sqrt(math.Log1p(p.scaleCV * p.scaleCV))
	size := math.Exp((width*start.Normal() - width*width/2) / 2) // of the true additive standard deviation
	e := mat.NewVecDense(3*n, nil)
	for i := range 3 * n {
		e.SetVec(i, start.Normal())
	}
	e.MulVec(p.errors, e)
	w.plants = w.plants[:0]
	for i := range n {
		w.plants = append(w.plants, simPlant{value: p.values[i], base: p.bases[i],
			error: p.errorOf[i], f: 2*p.coancestry[i][i] - 1,
			truth: space.Plus(p.values[i], space.Vector{e.AtVec(3 * i), e.AtVec(3*i + 1), e.AtVec(3*i + 2)})})
	}
	var effects []space.Vector // of the strong genes
	if p.genes != nil {
		effects = p.genes.begin(w.plants, start)
	}
	co := p.coancestry // of the plants that the season's parents are chosen from
	for s := range p.seasons {
		plants := w.plants
		switch {
		case p.hold:
			p.held(w, c.Keep, rnd)
		case s > 0:
			w.order = p.ordered(w)[:min(len(plants), 2*c.Keep)] // kept, and in reserve
		default:
			p.asTheyStand(w)
		}
		switch {
		case s > 0:
			co = offspringCoancestry(co, w)
		case p.hold:
			co = of(co, w.order)
		}
		switch {
		case p.hold:
		case s > 0:
			w.crosses = p.crosses(w, co, c.Keep)
		default:
			w.crosses = append(w.crosses[:0], first...)
		}
		w.next, w.coming, w.families = w.next[:0], w.coming[:0], w.families[:0]
		if p.genes != nil {
			w.chances[s%2] = slices.Grow(w.chances[s%2][:0], c.Grow*p.genes.m.Genotypes())
		}
		for _, x := range w.crosses {
			w.families = append(w.families, p.family(&plants[w.order[x[0]].n], &plants[w.order[x[1]].n], size))
			w.families[len(w.families)-1].f = co[x[0]][x[1]]
		}
		for k := range c.Grow {
			x, f := w.crosses[k%len(w.crosses)], &w.families[k%len(w.crosses)]
			w.next = append(w.next, simPlant{f: f.f, base: f.base, cross: k % len(w.crosses), truth: space.Plus(f.truth, space.Apply(f.root, z()))})
			w.coming = append(w.coming, x)
			q := &w.next[k]
			if p.genes != nil {
				n := p.genes.m.Genotypes()
				q.chances = w.chances[s%2][k*n : k*n+n : k*n+n]
				q.genotype = drawn(p.genes.families.Of(plants[w.order[x[0]].n].genotype, plants[w.order[x[1]].n].genotype), rnd.Float64())
			}
			q.value = space.Plus(q.color(effects), space.Apply(p.rootE, z()))
		}
		for k := range w.families {
			if p.genes != nil { // values are less what strong genes are expected to give, of which error is the covariance
				p.genes.see(w, k, &plants[w.order[w.crosses[k][0]].n], &plants[w.order[w.crosses[k][1]].n])
			}
			for q := k; q < len(w.next); q += len(w.families) {
				w.families[k].sum, w.families[k].grown = space.Plus(w.families[k].sum, w.next[q].value), w.families[k].grown+1
			}
			p.judge(&w.families[k])
		}
		for k := range w.next {
			q := &w.next[k]
			f := &w.families[q.cross]
			if q.value = space.Plus(f.value, space.Apply(f.gain, space.Minus(q.value, f.value))); p.genes != nil {
				q.error = space.Semidefinite(space.Add(f.error, space.Mul(space.Mul(f.gain, q.error), space.Transpose(f.gain))))
			} else {
				q.error = f.error
			}
		}
		in, at := 0, w.at[:0]
		for i := range w.next {
			at = append(at, space.Lab(w.next[i].color(effects)))
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
	truth, value space.Vector // the means of the parents'
	base         space.Vector
	root         space.Matrix // of the variance within the family
	mean, own    space.Matrix // the covariance of the error of value, and that of the offspring around its truth
	inv          space.Matrix // the inverse of the covariance of an offspring's measurement
	gain, error  space.Matrix // the weight of an offspring's own record; the covariance of the error that is left
	sum          space.Vector // of the offspring's records, and how many there are
	grown        float64
}

func (p *planning) family(a, b *simPlant, size float64) simCross {
	d := within(a, b)
	f := simCross{truth: space.Plus(a.truth, b.truth), value: space.Plus(a.value, b.value), base: space.Times(0.5, space.Plus(a.base, b.base)),
		root: space.Scale(size*math.Sqrt(d), p.rootG)}
	f.truth = space.Vector{f.truth[0] / 2, f.truth[1] / 2, f.truth[2] / 2}
	f.value = space.Vector{f.value[0] / 2, f.value[1] / 2, f.value[2] / 2}
	f.mean, f.own = space.Scale(0.25, space.Add(a.error, b.error)), space.Scale(d, p.additive)
	f.inv = space.Inverse(space.Add(space.Add(f.mean, f.own), p.residual))
	return f
}

// judge joins what the parents tell of a cross's offspring with what all of these show, weather included, and says how an
// offspring's own record counts beside that: as the values of relatives do.
//
// Source: selection on an index of own and family records, Falconer and Mackay 1996, chapter 13.
func (p *planning) judge(f *simCross) {
	if f.grown == 0 {
		return
	}
	alone := space.Inverse(space.Add(f.own, p.residual))
	told := space.Add(space.Scale(1/f.grown, space.Add(f.own, p.residual)), p.weather)
	gain := space.Mul(f.mean, space.Inverse(space.Add(f.mean, told)))
	f.value = space.Plus(f.value, space.Apply(gain, space.Minus(space.Times(1/f.grown, f.sum), f.value)))
	left := space.Sub(f.mean, space.Mul(gain, f.mean))
	f.gain = space.Mul(f.own, alone)
	rest := space.Sub(space.Diag(space.Even(1)), f.gain)
	f.error = space.Semidefinite(space.Add(space.Mul(rest, f.own), space.Mul(space.Mul(rest, left), space.Transpose(rest))))
}

// offspringCoancestry is the coancestry of the plants in order; co is that of those which their parents were chosen from.
func offspringCoancestry(co [][]float64, w *room) [][]float64 {
	out := square(len(w.order))
	for i, a := range w.order {
		x := w.came[a.n]
		for j, b := range w.order[:i] {
			y := w.came[b.n]
			out[i][j] = (co[x[0]][y[0]] + co[x[0]][y[1]] + co[x[1]][y[0]] + co[x[1]][y[1]]) / 4
			out[j][i] = out[i][j]
		}
		out[i][i] = (1 + w.plants[a.n].f) / 2
	}
	return out
}

// of is the part of a coancestry that is that of some plants.
func of(co [][]float64, some []ranked) [][]float64 {
	out := square(len(some))
	for i, a := range some {
		for j, b := range some {
			out[i][j] = co[a.n][b.n]
		}
	}
	return out
}

func square(n int) [][]float64 {
	out, all := make([][]float64, n), make([]float64, n*n)
	for i := range out {
		out[i] = all[i*n : i*n+n]
	}
	return out
}

// crosses pairs the plants in order as [Pairs] does, of which co is the coancestry: keep of them at most.
func (p *planning) crosses(w *room, co [][]float64, keep int) [][2]int {
	w.pairs = w.pairs[:0]
	for i := range w.order {
		for j := i; j < len(w.order); j++ {
			if i != j || !p.noSelfs {
				a, b := &w.plants[w.order[i].n], &w.plants[w.order[j].n]
				d := space.Minus(space.Minus(a.value, a.base), space.Minus(b.value, b.base))
				away := p.merit(w, i, j)
				w.pairs = append(w.pairs, mating.Crossing{Places: [2]int{i, j}, Merit: away, Cost: mating.Doubt(away, space.Quadratic(p.metric, d))})
			}
		}
	}
	mean := 0.0
	for _, row := range co {
		for _, c := range row {
			mean += c / float64(len(co)*len(co))
		}
	}
	s := &w.set
	s.Coancestry, s.Mean, s.Limit, s.Most, s.Plants = co, mean, usualLimit, usualUses, keep
	worth := mating.WorthABed(w.pairs)
	slices.SortFunc(worth, mating.ByWorth)
	s.Choose(worth, max(keep, usualCrosses))
	out := w.crosses[:0]
	for _, c := range s.Crosses {
		out = append(out, c.Places)
	}
	return out
}

// merit is what [Pairs] goes by, of the plants i and j in order.
func (p *planning) merit(w *room, i, j int) float64 {
	a, b := &w.plants[w.order[i].n], &w.plants[w.order[j].n]
	between := a.error
	if i != j {
		between = space.Scale(0.25, space.Add(a.error, b.error))
	}
	root := space.Root(space.Add(between, space.Scale(within(a, b), p.additive)))
	m := space.Times(0.5, space.Plus(a.value, b.value))
	if p.genes == nil {
		return meanOf(p.distances(w, space.Around(w.at[:0], m, &root)))
	}
	k := p.genes.kinds(w)
	p.genes.v.sharesOf(k, a.chances, b.chances, i == j)
	at := w.at[:0]
	for e, effect := range k.effects {
		if k.share[e] > 1e-6 || k.next[e] > 1e-6 {
			at = space.Around(at, space.Plus(m, effect), &root)
		}
	}
	away := p.distances(w, at)
	w.of = w.of[:0]
	for e := range k.effects {
		d := 0.0
		if k.share[e] > 1e-6 || k.next[e] > 1e-6 {
			d, away = meanOf(away[:space.AroundPoints]), away[space.AroundPoints:]
		}
		w.of = append(w.of, d)
	}
	return k.merit(w.of)
}

func meanOf(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

// within is the variance of two plants' offspring as a share of the additive.
func within(a, b *simPlant) float64 { return 0.5 - (max(a.f, 0)+max(b.f, 0))/4 }

// asTheyStand puts the plants into the order that they are in.
func (p *planning) asTheyStand(w *room) {
	w.order = w.order[:0]
	for i := range w.plants {
		w.order = append(w.order, ranked{n: i})
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
func (p *planning) held(w *room, keep int, rnd *rand.Rand) {
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
	w.order = order[:min(len(order), keep)]
	w.crosses = w.crosses[:0]
	for i := range w.order {
		w.crosses = append(w.crosses, [2]int{i, (i + 1) % len(w.order)})
	}
}
