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
	// fewPlants is the least number of plants that the scatter between plants is estimated from. A guess.
	fewPlants = 6
	// maxWork bounds plants × draws. With many plants fewer draws do, as the distance of the last plant kept hardly varies.
	maxWork = 1_500_000
)

// between estimates the covariance between plants' true colours: the covariance of their
// means less the mean of their error covariances, with negative eigenvalues set to 0.
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

// posterior is the distribution of one plant's true colour, or of its breeding value, given the records.
type posterior struct {
	mean space.Vector
	cov  space.Matrix
	// genes are the plant's possible genotypes of strong genes, each with the kinds of offspring that it would
	// have with a plant of the same genotype; nil: no strong genes. mean is without the effects of strong genes.
	genes *kinds
}

// cloud is a posterior seen from the target, in coordinates where Delta E is the Euclidean
// distance from the origin: a drawn distance is |at + root·z|, z standard normal.
type cloud struct {
	at   space.Vector
	root space.Matrix // lower triangular
	// cases are used in place of at and root where there are strong genes; nil: none.
	cases []cloudCase
}

// cloudCase is one possible genotype of a plant, with the kinds of its offspring and their shares.
type cloudCase struct {
	upTo  float64 // chance of this case and those before it
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

// interval returns an interval that holds the true distance in 95 of 100 cases; it always includes d, the expected
// distance. points are intervalDraws points of [draws.Mixed].
func (p posterior) interval(target cie.Lab, d float64, points [][4]float64) (low, high float64) {
	c := p.cloud(space.Of(target))
	var away [intervalDraws]float64
	for i := range away {
		away[i] = c.from(&points[i])
	}
	low = draws.Smallest(away[:], intervalDraws/40+1)
	return min(d, low), max(d, draws.Smallest(away[:], intervalDraws-intervalDraws/40))
}

// cases returns the cloud of a plant with strong genes.
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

// from returns the distance at a point: three standard normal numbers, and one from 0 to 1 that picks the case.
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

// shrink moves each plant's colour toward the line's mean in proportion to its error: the plant that looks nearest of many
// is, on average, not quite as near. With fewer than fewPlants plants the colours are left as they are.
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

// chances returns for each plant the probability that it truly is among the keep nearest to the target, by Monte Carlo over all
// plants' errors. Each plant's distance is drawn in its own metric (see cloud), at points that fill space evenly, in an order of its
// own. The chances add up to keep. The same plants in the same order with the same seed give the same answer on any number of
// processors. bonus is subtracted from each plant's distance; -Inf rules a plant out. TestChancesExact compares with CIEDE2000.
//
// Source: Latin hypercube sampling, McKay, Beckman, Conover 1979, Technometrics 21:239; with many plants the distance of the last
// one kept hardly varies, so one plant's chance is nearly an integral over its own points alone.
func chances(plants []posterior, bonus []float64, target cie.Lab, keep, times int, seed uint64) []float64 {
	n := len(plants)
	out := make([]float64, n)
	if keep >= n {
		for i := range out {
			out[i] = 1
		}
		return out
	}
	clouds, order := make([]cloud, n), make([][2]int, n) // order: each plant's first point, and its stride
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
