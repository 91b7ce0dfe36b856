package selection

import (
	"hueward/selection/genetics"
	"hueward/selection/space"
)

// Values are predicted with components and effects of strong genes as they were estimated, as if they were known. What is
// not known of them moves all plants' values together: it is added to the values' errors here.
//
// Source: the correction of empirical Bayes by the delta method, Kass and Steffey 1989, JASA 84:717.

// mostMoved is up to how many records it is looked for: what more records leave in doubt is next to nothing.
const mostMoved = 1000

// findMoves fills in by how much all values move with one standard error of the heritability along each axis, all
// variance kept, and with each doubt of the strong genes' effects.
func (v *Values) findMoves(rec *genetics.Records) {
	if len(rec.Plant) > mostMoved || v.Fit == nil {
		return
	}
	with := func(rec *genetics.Records, c *genetics.Components) []float64 {
		e, err := genetics.Evaluate(v.Ped, rec, c, &genetics.EvaluateOptions{ValuesOnly: true})
		if err != nil { // no variance is left along the axis
			return nil
		}
		return e.Values
	}
	for _, a := range v.Fit.Axes() {
		by := min(a.SE, 0.98-a.Heritability)
		if a.Heritability > 0.5 {
			by = -min(a.SE, a.Heritability-0.02)
		}
		along := space.Outer(space.Vector(a.Traits))
		c := v.Components
		c.Additive = flat(space.Add(unflat(c.Additive), space.Scale(by, along)))
		c.Residual = flat(space.Sub(unflat(c.Residual), space.Scale(by, along)))
		if moved := with(rec, &c); moved != nil {
			for i, x := range v.eval.Values {
				moved[i] -= x
			}
			v.moves = append(v.moves, moved)
		}
	}
	if v.Genes == nil {
		return
	}
	for _, shift := range v.Genes.Doubts {
		less := *rec
		less.Y = make([]float64, len(rec.Y))
		for i, at := range rec.Plant {
			for g, p := range v.Genes.Of(at) {
				for k := range 3 {
					less.Y[3*i+k] -= p * shift[g][k]
				}
			}
		}
		if moved := with(&less, &v.Components); moved != nil {
			v.geneMoves, v.geneDoubts = append(v.geneMoves, moved), append(v.geneDoubts, shift)
		}
	}
}

// errorVar is the covariance of the error of a place's value.
func (v *Values) errorVar(at int32) space.Matrix {
	var e space.Matrix
	if v.eval.ErrorVar != nil {
		copyFlat(&e, v.eval.ErrorVar[int(at)*9:])
	}
	return space.Add(e, v.unsure(at, at))
}

// unsure is the covariance of what the values of two places move by together.
func (v *Values) unsure(x, y int32) (m space.Matrix) {
	for _, move := range v.moves {
		for i := range m {
			m[i] = space.Plus(m[i], space.Times(move[3*int(x)+i], space.Vector(move[3*y:3*y+3])))
		}
	}
	return m
}

// doubt fills in by how much each kind of the offspring of two plants, which may be one, moves with each doubt of the
// strong genes' effects, their parents' values with it.
func (v *Values) doubt(k *kinds, x, y int32) {
	for d, move := range v.geneMoves {
		of := make([]space.Vector, len(k.effects))
		for g, kind := range v.genotypeKinds {
			of[kind] = v.geneDoubts[d][g]
		}
		values := space.Times(0.5, space.Plus(space.Vector(move[3*x:3*x+3]), space.Vector(move[3*y:3*y+3])))
		for i := range of {
			of[i] = space.Plus(of[i], values)
		}
		k.moves = append(k.moves, of)
	}
}
