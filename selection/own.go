package selection

import (
	"hueward/selection/genetics"
	"hueward/selection/space"
)

// A plant's colour tells of its strong genes and of its many weak ones together: y = g + u + e. With g not known for
// certain, y less what g is expected to be is what u + e are expected to be, which scatters less than they do, by the
// variance of what is not known of g. So that variance goes back into the rest's (addGeneVar), and a plant that has
// another genotype than is expected has another value u, too, so that both add up to what was seen (tie).
//
// Source: the law of total variance; as the E step of expectation maximisation, Dempster, Laird, Rubin 1977, has it.

// addGeneVar adds what is not known of the strong genes to what the components hold beside the additive.
func (v *Values) addGeneVar(c *genetics.Components) {
	rest := c.Residual
	if c.Plant != nil { // it is the same in all of a plant's records
		rest = c.Plant
	}
	for i, x := range flat(v.geneVar) {
		rest[i] += x
	}
}

// seeOwn works out of each plant with records by how much its value moves with its colour.
func (v *Values) seeOwn(rec *genetics.Records) {
	if v.Genes == nil || v.eval.ErrorVar == nil {
		return
	}
	residual := unflat(v.Components.Residual)
	v.ownGain = map[int32]space.Matrix{}
	for i, at := range rec.Plant {
		v.ownGain[at] = space.Add(v.ownGain[at], space.Inverse(space.Add(residual, unflat(rec.Error[i*9:i*9+9]))))
	}
	for at, told := range v.ownGain {
		if v.Components.Plant != nil {
			told = space.Inverse(space.Add(unflat(v.Components.Plant), space.Inverse(told)))
		}
		v.ownGain[at] = space.Mul(unflat(v.eval.ErrorVar[int(at)*9:int(at)*9+9]), told)
	}
}

// tie fills in by how much the mean of the offspring of two plants, which may be one, differs from what
// is expected in each case of their genotypes.
func (v *Values) tie(k *kinds, x, y int32) {
	if len(k.cases) > 0 {
		v.doubt(k, x, y)
	}
	for c := range k.cases {
		q := &k.cases[c]
		for i, at := range [2]int32{x, y} {
			gain, ok := v.ownGain[at]
			if !ok || q.parents[i] < 0 {
				continue
			}
			mean, _ := v.Genes.Mean(v.Genes.Of(at))
			q.shift = space.Minus(q.shift, space.Times(0.5, space.Apply(gain, space.Minus(v.Genes.Effects[q.parents[i]], mean))))
		}
	}
}
