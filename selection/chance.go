package selection

import (
	"math"
	"math/bits"
	"math/rand/v2"

	"hueward/colorimg/cie"
	"hueward/selection/draws"
	"hueward/selection/genetics"
	"hueward/selection/space"
)

const (
	defaultDraws = 2000
	// fewPlants: with fewer, how plants of the line scatter cannot be told.
	fewPlants = 6
	// maxWork bounds plants × draws: of many plants fewer draws do, as the cut hardly moves.
	maxWork = 1_500_000
)

// between estimates the covariance between plants: what the plants' means
// scatter by beyond their errors, negative directions cut off.
func between(groups []*group) space.Matrix {
	n := float64(len(groups))
	if n < 2 {
		return space.Matrix{}
	}
	var m space.Vector
	for _, g := range groups {
		m = space.Plus(m, g.mean)
	}
	m = space.Times(1/n, m)
	var s, errs space.Matrix
	for _, g := range groups {
		s = space.Add(s, space.Outer(space.Minus(g.mean, m)))
		errs = space.Add(errs, g.cov)
	}
	return space.Semidefinite(space.Sub(space.Scale(1/(n-1), s), space.Scale(1/n, errs)))
}

// posterior is what is known of one plant's true colour.
type posterior struct {
	mean space.Vector
	cov  space.Matrix
	// genes are the cases of its strong genes, and of each the shares of its offspring's kinds; nil:
	// none. Mean is then without them.
	genes *kinds
}

// cloud is the same seen from the target, in coordinates where Delta E is the
// plain distance from the origin: a draw is |at + root·z|, z standard normal.
type cloud struct {
	at   space.Vector
	root space.Matrix // lower triangular
	// cases replace at and root by what strong genes may make of it; nil: none.
	cases []cloudCase
}

// cloudCase is one case of a plant's strong genes, and the kinds of its offspring.
type cloudCase struct {
	upTo  float64 // chance of this and the cases before
	share []float64
	kinds []cloud
}

func (p posterior) cloud(target space.Vector) cloud {
	if p.genes != nil {
		return p.cases(target)
	}
	a, u := space.Spread(p.mean, target, p.cov)
	d := cie.DeltaE2000(space.Lab(p.mean), space.Lab(target))
	return cloud{at: space.Vector{d * u[0], d * u[1], d * u[2]}, root: space.Root(a)}
}

const intervalDraws = 600

// interval holds the true distance in 95 of 100 cases, and d, the expected one; points are as many as draws.
func (p posterior) interval(target cie.Lab, d float64, points [][4]float64) (low, high float64) {
	c := p.cloud(space.Of(target))
	var away [intervalDraws]float64
	for i := range away {
		away[i] = c.from(&points[i])
	}
	low = draws.Smallest(away[:], intervalDraws/40+1)
	return min(d, low), max(d, draws.Smallest(away[:], intervalDraws-intervalDraws/40))
}

// cases is the cloud of a plant with strong genes.
func (p posterior) cases(target space.Vector) cloud {
	var of []cloud
	cov := make([]space.Matrix, len(p.genes.effects))
	for k, e := range p.genes.effects {
		cov[k] = p.cov
		for _, move := range p.genes.moves {
			cov[k] = space.Add(cov[k], space.Outer(move[k]))
		}
		of = append(of, posterior{mean: space.Plus(p.mean, e), cov: cov[k]}.cloud(target))
	}
	var out cloud
	sum := 0.0
	for _, c := range p.genes.cases {
		sum += c.chance
		q := cloudCase{upTo: sum}
		for k, share := range c.share {
			if share <= 1e-3 {
				continue
			}
			kind := of[k]
			if space.Dot(c.shift, c.shift) > 0.1 {
				kind = posterior{mean: space.Plus(space.Plus(p.mean, c.shift), p.genes.effects[k]), cov: cov[k]}.cloud(target)
			}
			q.share, q.kinds = append(q.share, share), append(q.kinds, kind)
		}
		out.cases = append(out.cases, q)
	}
	return out
}

// from is the distance at a point: three standard normal numbers, and one from 0 to 1 for the case.
func (c *cloud) from(z *[4]float64) float64 {
	z0, z1, z2 := z[0], z[1], z[2]
	if c.cases == nil {
		return c.away(z0, z1, z2)
	}
	u, k := z[3]*c.cases[len(c.cases)-1].upTo, 0
	for k < len(c.cases)-1 && u >= c.cases[k].upTo {
		k++
	}
	d := 0.0
	for i := range c.cases[k].kinds {
		d += c.cases[k].share[i] * c.cases[k].kinds[i].away(z0, z1, z2)
	}
	return d
}

func (c *cloud) away(z0, z1, z2 float64) float64 {
	x := c.at[0] + c.root[0][0]*z0
	y := c.at[1] + c.root[1][0]*z0 + c.root[1][1]*z1
	z := c.at[2] + c.root[2][0]*z0 + c.root[2][1]*z1 + c.root[2][2]*z2
	return math.Sqrt(x*x + y*y + z*z)
}

// shrink draws the plants toward the line's mean as far as their errors ask for: the nearest of many is, on average,
// not quite as near as it looks. With fewer than fewPlants the means stand as they are.
//
// Source: empirical Bayes for normal means, Efron and Morris 1975, JASA 70:311.
func shrink(groups []*group, b space.Matrix) []posterior {
	out := make([]posterior, len(groups))
	if len(groups) < fewPlants {
		for i, g := range groups {
			out[i] = posterior{mean: g.mean, cov: g.cov}
		}
		return out
	}
	var total space.Matrix
	var sum space.Vector
	for _, g := range groups {
		inv := space.Inverse(space.Add(b, g.cov))
		total = space.Add(total, inv)
		sum = space.Plus(sum, space.Apply(inv, g.mean))
	}
	mu := space.Apply(space.Inverse(total), sum)
	for i, g := range groups {
		inv := space.Inverse(space.Add(b, g.cov))
		gain := space.Mul(b, inv)
		out[i].mean = space.Plus(mu, space.Apply(gain, space.Minus(g.mean, mu)))
		out[i].cov = space.Semidefinite(space.Sub(g.cov, space.Mul(space.Mul(g.cov, inv), g.cov)))
	}
	return out
}

// chances returns for each plant the probability that it truly is among the keep nearest to the target, all plants' errors considered
// together, by Monte Carlo in each plant's own metric: each is drawn at points that fill space evenly, in an order of its own. The
// chances add up to keep. The same plants in the same order with the same seed give the same answer, however many processors there
// are. A bonus is taken from a plant's distance; -Inf takes it out of the choice. TestChancesExact compares with
// CIEDE2000 itself.
//
// Source: of many plants the cut hardly moves, and one plant's chance is then an integral over its own points alone; McKay, Beckman,
// Conover 1979, Technometrics 21:239, Latin hypercube sampling.
func chances(plants []posterior, bonus []float64, target cie.Lab, keep, times int, seed uint64) []float64 {
	n := len(plants)
	out := make([]float64, n)
	if keep >= n {
		for i := range out {
			out[i] = 1
		}
		return out
	}
	clouds, order := make([]cloud, n), make([][2]int, n) // at which point each begins, and by how many it moves on
	times = 1 << bits.Len(uint(max(256, min(times, maxWork/n))-1))
	rnd := rand.New(rand.NewPCG(seed, 0))
	for i, p := range plants {
		clouds[i], order[i] = p.cloud(space.Of(target)), [2]int{rnd.IntN(times), 2*rnd.IntN(times/2) + 1}
	}
	points := draws.Mixed(times)
	const block = 64
	counts := make([][]int, times/block)
	genetics.SideBySide(len(counts), func(b int) {
		t := b*block - 1
		counts[b] = draws.CountSmallest(n, keep, block, func(i int) float64 {
			if i == 0 {
				t++
			}
			return clouds[i].from(&points[(order[i][0]+t*order[i][1])&(times-1)]) - bonus[i]
		})
	})
	for _, c := range counts {
		for i, v := range c {
			out[i] += float64(v)
		}
	}
	for i := range out {
		out[i] /= float64(times)
	}
	return out
}
