package selection

import (
	"slices"

	"hueward/colorimg/cie"
	"hueward/selection/draws"
	"hueward/selection/majorgene"
	"hueward/selection/space"
)

// planGenes are a plan's strong genes.
type planGenes struct {
	v        *Values
	m        *majorgene.Model
	chances  [][]float64 // candidates × genotypes
	at       []int32     // the candidates' places in the pedigree
	families *majorgene.Families
}

// begin draws the candidates' true genotypes and the true effects of the strong genes, which it returns. It changes the plants' true
// values to match: genotype and value add up to the colour that was seen (own.go), and effects shift all values (unsure.go).
func (g *planGenes) begin(plants []simPlant, start *draws.Mirrored) (effects []space.Vector) {
	effects = slices.Clone(g.m.Effects)
	z := make([]float64, len(g.v.geneDoubts))
	for d, doubt := range g.v.geneDoubts {
		z[d] = start.Normal()
		for k := range effects {
			effects[k] = space.Plus(effects[k], space.Times(z[d], doubt[k]))
		}
	}
	for i := range plants {
		q := &plants[i]
		q.chances = g.chances[i]
		q.genotype = pick(g.chances[i], start.Uniform())
		for d, move := range g.v.geneMoves {
			q.truth = space.Plus(q.truth, space.Times(z[d], space.Vector(move[3*g.at[i]:3*g.at[i]+3])))
		}
		if gain, ok := g.v.ownGain[g.at[i]]; ok {
			mean, _ := g.m.Mean(q.chances)
			q.truth = space.Minus(q.truth, space.Apply(gain, space.Minus(g.m.Effects[q.genotype], mean)))
		}
	}
	return effects
}

// pick returns the genotype at u, from 0 to 1, of the cumulative chances.
func pick(chances []float64, u float64) int {
	for g, p := range chances {
		if u -= p; u < 0 {
			return g
		}
	}
	return len(chances) - 1
}

// see fills in the genotype chances of the plants of family k, with parents a and b, from their colours, and subtracts the expected
// effects of strong genes from these. error becomes the covariance of that expectation.
func (g *planGenes) see(w *scratch, k int, a, b *simPlant) {
	if w.tell == nil {
		w.tell = g.families.Again()
	}
	w.known, w.colors = w.known[:0], w.colors[:0]
	for q := k; q < len(w.next); q += len(w.families) {
		w.known, w.colors = append(w.known, w.next[q].chances), append(w.colors, w.next[q].value)
	}
	w.tell.Tell(w.known, w.colors, a.chances, b.chances, a == b, w.families[k].value, &w.families[k].inv)
	for i, known := range w.known {
		q := &w.next[k+i*len(w.families)]
		var effect space.Vector
		effect, q.error = g.m.Mean(known)
		q.value = space.Minus(q.value, effect)
	}
}

// color returns a plant's true colour, given the true effects of strong genes; nil: there are none.
func (q *simPlant) color(effects []space.Vector) space.Vector {
	if effects == nil {
		return q.truth
	}
	return space.Plus(q.truth, effects[q.genotype])
}

// away returns for each plant the expected distance of the offspring that it would have with a plant of its own genotype.
func (p *planning) away(w *scratch) []float64 {
	effects := []space.Vector{{}}
	if p.genes != nil {
		effects = p.genes.v.kindEffects
	}
	at := w.at[:0]
	for i := range w.plants {
		for _, e := range effects {
			at = append(at, space.Lab(space.Plus(w.plants[i].value, e)))
		}
	}
	away := p.distances(w, at)
	if p.genes == nil {
		return away
	}
	k := p.genes.kinds(w)
	for i := range w.plants {
		q := &w.plants[i]
		p.genes.v.sharesOf(k, q.chances, q.chances, true)
		sum := 0.0
		for e, d := range away[i*len(effects) : (i+1)*len(effects)] {
			if k.share[e] > 1e-3 {
				sum += k.share[e] * d
			}
		}
		away[i] = sum // the distances of later plants' kinds stand after place i
	}
	return away[:len(w.plants)]
}

// kinds returns w.kinds, made when it is first used.
func (g *planGenes) kinds(w *scratch) *kinds {
	if w.kinds == nil {
		n := len(g.v.kindEffects)
		w.kinds = &kinds{effects: g.v.kindEffects, share: make([]float64, n), next: make([]float64, n)}
	}
	return w.kinds
}

// distances returns the distances of colours to the target. It keeps at and the distances in w for reuse.
func (p *planning) distances(w *scratch, at []cie.Lab) []float64 {
	w.at, w.away = at, slices.Grow(w.away[:0], len(at))[:len(at)]
	p.near.Of(w.away, at)
	return w.away
}
