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

func (p *planning) run(c Choice, rnd *rand.Rand) *simulated {
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
	plants := make([]simPlant, n)
	for i := range plants {
		plants[i] = simPlant{value: p.values[i], error: p.errorOf[i], f: 2*p.coancestry[i][i] - 1,
			truth: space.Plus(p.values[i], space.Vector{e.AtVec(3 * i), e.AtVec(3*i + 1), e.AtVec(3*i + 2)})}
	}
	if p.genes != nil {
		p.genes.begin(plants, rnd)
	}
	var came [][2]int  // the parents of each plant
	co := p.coancestry // of the season's plants; after the first, of those alone that are parents
	for s := range p.seasons {
		var crosses [][2]int
		if p.hold {
			crosses = p.held(plants, c.Keep, rnd)
		} else {
			crosses = p.crosses(plants, c.Keep)
		}
		if s > 0 {
			co = offspringCoancestry(co, came, plants, crosses)
		}
		now, parents := make([]simPlant, 0, c.Grow), make([][2]int, 0, c.Grow)
		families := make([]simCross, len(crosses))
		for k, x := range crosses {
			families[k] = p.family(&plants[x[0]], &plants[x[1]], size)
			families[k].f = co[x[0]][x[1]]
		}
		for k := range c.Grow {
			x, f := crosses[k%len(crosses)], &families[k%len(crosses)]
			q := simPlant{f: f.f, cross: k % len(crosses), truth: space.Plus(f.truth, space.Apply(f.root, z()))}
			if p.genes != nil {
				p.genes.cross(&q, &plants[x[0]], &plants[x[1]], rnd)
			}
			y := space.Plus(p.color(&q), space.Apply(p.rootE, z()))
			q.error = f.error
			if p.genes != nil {
				var cov space.Matrix
				y, cov = p.genes.see(&q, y, f.value, f.inv)
				q.error = space.Semidefinite(space.Add(q.error, space.Mul(space.Mul(f.gain, cov), space.Transpose(f.gain))))
			}
			q.value = space.Plus(f.value, space.Apply(f.gain, space.Minus(y, f.value)))
			now, parents = append(now, q), append(parents, x)
		}
		in := 0
		for i := range now {
			d := cie.DeltaE2000(space.Lab(p.color(&now[i])), p.target.Lab)
			out.distance[s] += d / float64(c.Grow)
			out.inbreeding[s] += now[i].f / float64(c.Grow)
			if d <= p.target.Within {
				in++
			}
		}
		out.reached[s] = 4*in >= c.Grow
		plants, came = now, parents
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
func (p *planning) crosses(plants []simPlant, keep int) [][2]int {
	order := make([]int, len(plants))
	d := make([]float64, len(plants))
	for i := range plants {
		order[i], d[i] = i, p.away(&plants[i])
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Or(cmp.Compare(d[a], d[b]), a-b) })
	order = order[:min(len(order), 3*keep)]
	type pair struct {
		at [2]int
		d  float64
		n  int // how many are before it
	}
	pairs := make([]pair, 0, len(order)*(len(order)+1)/2)
	for i, x := range order {
		for _, y := range order[i:] {
			if x == y && (p.noSelfs || keep > 1 && len(order) > 1) {
				continue
			}
			pairs = append(pairs, pair{[2]int{x, y}, p.worth(&plants[x], &plants[y], x == y), len(pairs)})
		}
	}
	slices.SortFunc(pairs, func(a, b pair) int { return cmp.Or(cmp.Compare(a.d, b.d), a.n-b.n) })
	uses := map[int]int{}
	var out [][2]int
	for _, q := range pairs {
		more := 0
		for k, i := range q.at {
			if uses[i] == 0 && (k == 0 || q.at[1] != q.at[0]) {
				more++
			}
		}
		if len(uses)+more > keep || uses[q.at[0]] >= 3 || uses[q.at[1]] >= 3 {
			continue
		}
		uses[q.at[0]]++
		if q.at[1] != q.at[0] {
			uses[q.at[1]]++
		}
		out = append(out, q.at)
		if len(out) >= max(keep, 1) {
			break
		}
	}
	return out
}

// held picks the parents of a held line, keep of them at most: of the plants that seem within the tolerance, or, of a
// line that has left it, of the nearer half, one of each cross before a second of any; each is crossed with the next.
func (p *planning) held(plants []simPlant, keep int, rnd *rand.Rand) [][2]int {
	order := make([]int, len(plants))
	d := make([]float64, len(plants))
	for i := range plants {
		order[i], d[i] = i, p.away(&plants[i])
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(d[a], d[b]) })
	fit := 0
	for fit < len(order) && d[order[fit]] <= p.target.Within {
		fit++
	}
	order = order[:max(fit, (len(order)+1)/2)]
	rnd.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
	taken, turn := map[int]int{}, make([]int, len(plants)) // of each plant: how many of its cross come before it
	for _, i := range order {
		turn[i] = taken[plants[i].cross]
		taken[plants[i].cross]++
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(turn[a], turn[b]) })
	order = order[:min(len(order), keep)]
	out := make([][2]int, len(order))
	for i := range order {
		out[i] = [2]int{order[i], order[(i+1)%len(order)]}
	}
	return out
}
