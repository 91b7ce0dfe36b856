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
	chances  [][]float64 // of the candidates' genotypes
	at       []int32     // their places in the pedigree
	families *majorgene.Families
}

// begin draws the candidates' genotypes, with their values as they must be to add up to the colours that were seen (own.go), and
// the true effects of the strong genes, with what these move all values by (unsure.go).
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
		q.genotype = drawn(g.chances[i], start.Uniform())
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

// drawn is the genotype at u, from 0 to 1.
func drawn(chances []float64, u float64) int {
	for g, p := range chances {
		if u -= p; u < 0 {
			return g
		}
	}
	return len(chances) - 1
}

// see fills in what the colours of the plants of family k, of a and b, tell of their genotypes, and takes off them what strong genes
// are then expected to give: what is left errs by that, as the plants' values move with it.
func (g *planGenes) see(w *room, k int, a, b *simPlant) {
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

// color is a plant's true colour, by the true effects of the strong genes; nil: none.
func (q *simPlant) color(effects []space.Vector) space.Vector {
	if effects == nil {
		return q.truth
	}
	return space.Plus(q.truth, effects[q.genotype])
}

// away are the expected distances of each plant's own kind's offspring.
func (p *planning) away(w *room) []float64 {
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
		away[i] = sum // its kinds stand after it
	}
	return away[:len(w.plants)]
}

// kinds is room for the shares of kinds.
func (g *planGenes) kinds(w *room) *kinds {
	if w.kinds == nil {
		n := len(g.v.kindEffects)
		w.kinds = &kinds{effects: g.v.kindEffects, share: make([]float64, n), next: make([]float64, n)}
	}
	return w.kinds
}

// distances are those of colours, which are w.at.
func (p *planning) distances(w *room, at []cie.Lab) []float64 {
	w.at, w.away = at, slices.Grow(w.away[:0], len(at))[:len(at)]
	p.near.Of(w.away, at)
	return w.away
}
