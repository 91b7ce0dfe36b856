package selection

import (
	"hueward/selection/genetics"
	"hueward/selection/space"
)

// A plant's colour is the sum of its strong genes, its many weak ones and the rest: y = g + u + e. As g is not known for
// certain, y - E[g] varies less than u + e, by the variance of g given y. addGeneVar adds that variance back. And where a
// plant's genotype is not the expected one, its breeding value u is another one too, so that all adds up to y (shiftCases).
//
// Source: the law of total variance, as in the E step of expectation maximisation, Dempster, Laird, Rubin 1977.

// addGeneVar adds the variance of the strong genes that the records leave open to a non-additive component.
func (v *Values) addGeneVar(c *genetics.Components) {
	rest := c.Residual
	if c.Plant != nil { // a plant's genotype is the same in all its records
		rest = c.Plant
	}
	for i, x := range flat(v.geneVar) {
		rest[i] += x
	}
}

// findOwnGain fills in ownGain: the prediction error variance of a plant's breeding value times the precision of its own records.
func (v *Values) findOwnGain(rec *genetics.Records) {
	if v.Genes == nil || v.eval.ErrorVar == nil {
		return
	}
	residual := unflat(v.Components.Residual)
	v.ownGain = map[int32]space.Matrix{}
	for i, at := range rec.Plant {
		v.ownGain[at] = space.Add(v.ownGain[at], space.Inverse(space.Add(residual, unflat(rec.Error[i*9:i*9+9]))))
	}
	for at, precision := range v.ownGain {
		if v.Components.Plant != nil {
			precision = space.Inverse(space.Add(unflat(v.Components.Plant), space.Inverse(precision)))
		}
		v.ownGain[at] = space.Mul(unflat(v.eval.ErrorVar[int(at)*9:int(at)*9+9]), precision)
	}
}

// shiftCases fills in k.moves, and for each case of the genotypes of parents x and y, which may be one plant, the
// shift of their offspring's mean breeding value.
func (v *Values) shiftCases(k *kinds, x, y int32) {
	if len(k.cases) > 0 {
		v.addMoves(k, x, y)
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
