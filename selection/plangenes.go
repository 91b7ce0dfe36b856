package selection

import (
	"math"
	"math/rand/v2"

	"hueward/colorimg/cie"
	"hueward/selection/majorgene"
	"hueward/selection/space"
)

// planGenes are a plan's strong genes.
type planGenes struct {
	v       *Values
	m       *majorgene.Model
	chances [][]float64 // of the candidates' genotypes
}

// begin draws the candidates' genotypes.
func (g *planGenes) begin(plants []simPlant, rnd *rand.Rand) {
	for i := range plants {
		plants[i].chances = g.chances[i]
		plants[i].genotype = drawn(g.chances[i], rnd)
	}
}

func drawn(chances []float64, rnd *rand.Rand) int {
	u := rnd.Float64()
	for g, p := range chances {
		if u -= p; u < 0 {
			return g
		}
	}
	return len(chances) - 1
}

// cross draws an offspring's genotype, and fills in what is known of it before it flowers.
func (g *planGenes) cross(q, a, b *simPlant, rnd *rand.Rand) {
	one, other := make([]float64, len(a.chances)), make([]float64, len(b.chances))
	one[a.genotype], other[b.genotype] = 1, 1
	q.genotype = drawn(g.m.Cross(one, other), rnd)
	q.chances = g.m.Cross(a.chances, b.chances)
}

// see joins what is known of a plant's genotype with its colour y, of which the many genes give mean
// with covariance cov, residual included. It returns y less what the strong genes are expected
// to give, and the covariance of that, which the plant's value errs by as it moves with its colour.
func (g *planGenes) see(q *simPlant, y, mean space.Vector, inv space.Matrix) (rest space.Vector, cov space.Matrix) {
	logs, top := make([]float64, len(q.chances)), math.Inf(-1)
	for k, p := range q.chances {
		r := space.Minus(space.Minus(y, mean), g.m.Effects[k])
		logs[k] = math.Log(max(p, 1e-300)) - space.Dot(r, space.Apply(inv, r))/2
		top = max(top, logs[k])
	}
	sum := 0.0
	for k := range logs {
		logs[k] = math.Exp(logs[k] - top)
		sum += logs[k]
	}
	for k := range logs {
		logs[k] /= sum
	}
	q.chances = logs
	effect, cov := g.m.Mean(logs)
	return space.Minus(y, effect), cov
}

// color is a plant's true colour.
func (p *planning) color(q *simPlant) space.Vector {
	if p.genes == nil {
		return q.truth
	}
	return space.Plus(q.truth, p.genes.m.Effects[q.genotype])
}

// away is the expected distance of a plant's own kind's offspring.
func (p *planning) away(q *simPlant) float64 {
	if p.genes == nil {
		return cie.DeltaE2000(space.Lab(q.value), p.target.Lab)
	}
	k := p.genes.v.kindsOf(q.chances, q.chances, true, false)
	d := 0.0
	for i, share := range k.share {
		if share > 1e-3 {
			d += share * cie.DeltaE2000(space.Lab(space.Plus(q.value, k.effects[i])), p.target.Lab)
		}
	}
	return d
}

// worth is about what [Pairs] goes by, without the offspring's own scatter, which would favour close
// relatives: the distance of their mean, weighed over its kinds where there are strong genes.
func (p *planning) worth(a, b *simPlant, self bool) float64 {
	m := space.Plus(a.value, b.value)
	m = space.Vector{m[0] / 2, m[1] / 2, m[2] / 2}
	if p.genes == nil {
		return cie.DeltaE2000(space.Lab(m), p.target.Lab)
	}
	k := p.genes.v.kindsOf(a.chances, b.chances, self, false)
	d := make([]float64, len(k.effects))
	for i, e := range k.effects {
		if k.share[i] > 1e-3 || k.next[i] > 1e-3 {
			d[i] = cie.DeltaE2000(space.Lab(space.Plus(m, e)), p.target.Lab)
		}
	}
	return k.merit(d)
}
