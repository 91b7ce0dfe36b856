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

// simulated is the outcome of one run, season by season: see [Course].
type simulated struct {
	reached              []bool
	distance, inbreeding []float64
}

// simPlant is one plant of a run.
type simPlant struct {
	truth, value space.Vector // true and predicted breeding value, strong genes apart
	base         space.Vector // part of value that is due to its founder groups
	error        space.Matrix // covariance of the error of value
	inbreeding   float64
	cross        int       // place of the cross that it came from
	genotype     int       // true genotype of the strong genes
	chances      []float64 // chances of its genotypes, given all colours
}

// scratch is the memory that a run works in; the next run reuses it.
type scratch struct {
	plants, next []simPlant // of this season and the next
	came, coming [][2]int   // the parents of each of plants and next, as places in the order of their season
	families     []simCross
	order        []ranked // candidates for parents, best first
	pairs        []mating.Crossing
	set          mating.Set
	crosses      [][2]int  // places in order
	at           []cie.Lab // colours, and their distances to the target
	away         []float64
	kinds        *kinds
	of           []float64    // distance of each kind
	chances      [2][]float64 // memory for the genotype chances of plants and next
	tell         *majorgene.Families
	known        [][]float64    // genotype chances of one family's plants
	colors       []space.Vector // and their colours
}

// ranked is the plant at place n of a season, with its distance d.
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

// run simulates one course. first are the crosses of its first season; start draws the true values of the candidates.
func (p *planning) run(c Choice, first [][2]int, rnd *rand.Rand, start *draws.Mirrored) *simulated {
	w, ok := p.scratches.Get().(*scratch)
	if !ok {
		w = &scratch{}
	}
	defer p.scratches.Put(w)
	out := &simulated{make([]bool, p.seasons), make([]float64, p.seasons), make([]float64, p.seasons)}
	z := func() space.Vector { return space.Vector{rnd.NormFloat64(), rnd.NormFloat64(), rnd.NormFloat64()} }
	n := len(p.values)
	width := math.Sqrt(math.Log1p(p.scaleCV * p.scaleCV))
	size := math.Exp((width*start.Normal() - width*width/2) / 2) // the true additive standard deviation over the estimated one
	e := mat.NewVecDense(3*n, nil)
	for i := range 3 * n {
		e.SetVec(i, start.Normal())
	}
	e.MulVec(p.errors, e)
	w.plants = w.plants[:0]
	for i := range n {
		w.plants = append(w.plants, simPlant{value: p.values[i], base: p.bases[i],
			error: p.errorOf[i], inbreeding: 2*p.coancestry[i][i] - 1,
			truth: space.Plus(p.values[i], space.Vector{e.AtVec(3 * i), e.AtVec(3*i + 1), e.AtVec(3*i + 2)})})
	}
	var effects []space.Vector // of the strong genes
	if p.genes != nil {
		effects = p.genes.begin(w.plants, start)
	}
	co := p.coancestry // coancestry of the plants that the season's parents are chosen from
	for s := range p.seasons {
		plants := w.plants
		switch {
		case p.hold:
			p.held(w, c.Keep, rnd)
		case s > 0:
			w.order = p.ordered(w)[:min(len(plants), 2*c.Keep)] // kept, and in reserve
		default:
			p.unsorted(w)
		}
		switch {
		case s > 0:
			co = offspringCoancestry(co, w)
		case p.hold:
			co = among(co, w.order)
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
			w.families[len(w.families)-1].inbreeding = co[x[0]][x[1]]
		}
		for k := range c.Grow {
			x, f := w.crosses[k%len(w.crosses)], &w.families[k%len(w.crosses)]
			w.next = append(w.next, simPlant{inbreeding: f.inbreeding, base: f.base, cross: k % len(w.crosses),
				truth: space.Plus(f.truth, space.Apply(f.root, z()))})
			w.coming = append(w.coming, x)
			q := &w.next[k]
			if p.genes != nil {
				n := p.genes.m.Genotypes()
				q.chances = w.chances[s%2][k*n : k*n+n : k*n+n]
				q.genotype = pick(p.genes.families.Of(plants[w.order[x[0]].n].genotype, plants[w.order[x[1]].n].genotype), rnd.Float64())
			}
			q.value = space.Plus(q.color(effects), space.Apply(p.rootE, z()))
		}
		for k := range w.families {
			if p.genes != nil {
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
			out.inbreeding[s] += w.next[i].inbreeding / float64(c.Grow)
			if d <= p.target.Within {
				in++
			}
		}
		out.reached[s] = 4*in >= c.Grow
		w.plants, w.next, w.came, w.coming = w.next, w.plants, w.coming, w.came
	}
	return out
}

// simCross is what the offspring of one cross have in common.
type simCross struct {
	inbreeding   float64
	truth, value space.Vector // means of the parents' true and predicted values
	base         space.Vector
	root         space.Matrix // Cholesky root of the true variance within the family
	mean, own    space.Matrix // covariance of the error of value; estimated covariance within the family
	inv          space.Matrix // inverse of the covariance of an offspring's record around value
	gain, error  space.Matrix // weight of an offspring's own record; covariance of the error of its value
	sum          space.Vector // sum of the offspring's records
	grown        float64      // number of offspring
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

// judge updates the mean of a family by its records, which include the season's shift, and works out the weight of an
// offspring's own record beside that mean.
//
// Source: selection on an index of own and family records, Falconer and Mackay 1996, chapter 13.
func (p *planning) judge(f *simCross) {
	if f.grown == 0 {
		return
	}
	alone := space.Inverse(space.Add(f.own, p.residual))
	meanVar := space.Add(space.Scale(1/f.grown, space.Add(f.own, p.residual)), p.weather)
	gain := space.Mul(f.mean, space.Inverse(space.Add(f.mean, meanVar)))
	f.value = space.Plus(f.value, space.Apply(gain, space.Minus(space.Times(1/f.grown, f.sum), f.value)))
	left := space.Sub(f.mean, space.Mul(gain, f.mean))
	f.gain = space.Mul(f.own, alone)
	rest := space.Sub(space.Diag(space.Even(1)), f.gain)
	f.error = space.Semidefinite(space.Add(space.Mul(rest, f.own), space.Mul(space.Mul(rest, left), space.Transpose(rest))))
}

// offspringCoancestry returns the coancestry of the plants in w.order; co is that of the plants that their parents were chosen from.
func offspringCoancestry(co [][]float64, w *scratch) [][]float64 {
	out := square(len(w.order))
	for i, a := range w.order {
		x := w.came[a.n]
		for j, b := range w.order[:i] {
			y := w.came[b.n]
			out[i][j] = (co[x[0]][y[0]] + co[x[0]][y[1]] + co[x[1]][y[0]] + co[x[1]][y[1]]) / 4
			out[j][i] = out[i][j]
		}
		out[i][i] = (1 + w.plants[a.n].inbreeding) / 2
	}
	return out
}

// among returns the coancestry among some of the plants.
func among(co [][]float64, some []ranked) [][]float64 {
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

// crosses chooses crosses of the plants in w.order as [Pairs] does, of at most keep plants; co is their coancestry.
func (p *planning) crosses(w *scratch, co [][]float64, keep int) [][2]int {
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

// merit returns the merit by which [Pairs] ranks a pair, for plants i and j of w.order.
func (p *planning) merit(w *scratch, i, j int) float64 {
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

// within returns the Mendelian sampling variance of two plants' offspring, as a share of the additive variance.
func within(a, b *simPlant) float64 { return 0.5 - (max(a.inbreeding, 0)+max(b.inbreeding, 0))/4 }

// unsorted fills in w.order with the plants in the order of their places.
func (p *planning) unsorted(w *scratch) {
	w.order = w.order[:0]
	for i := range w.plants {
		w.order = append(w.order, ranked{n: i})
	}
}

// ordered fills in w.order with the plants, nearest first, and returns it.
func (p *planning) ordered(w *scratch) []ranked {
	w.order = w.order[:0]
	for i, d := range p.away(w) {
		w.order = append(w.order, ranked{d: d, n: i})
	}
	slices.SortFunc(w.order, byDistance)
	return w.order
}

// held picks at most keep parents of a held line at random from the plants predicted within the tolerance, or from the
// nearer half where those are fewer: one of each cross before a second of any. Each is crossed with the next.
func (p *planning) held(w *scratch, keep int, rnd *rand.Rand) {
	order := p.ordered(w)
	fit := 0
	for fit < len(order) && order[fit].d <= p.target.Within {
		fit++
	}
	order = order[:max(fit, (len(order)+1)/2)]
	rnd.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
	taken := map[int]int{} // cross to number of its plants so far
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
