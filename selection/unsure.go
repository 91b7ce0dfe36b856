package selection

import (
	"slices"

	"hueward/selection/genetics"
	"hueward/selection/space"
)

// Values are predicted with components and effects of strong genes as they were estimated, as if they were known. What is
// not known of them moves all plants' values together: it is added to the values' errors here.

// mostMoved is up to how many records it is looked for: what more records leave in doubt is next to nothing.
const mostMoved = 1000

// findMoves fills in by how much all values move with one standard error of the heritability along each axis, all
// variance kept, and with each doubt of the strong genes' effects.
func (v *Values) findMoves(rec *genetics.Records) {
	if len(rec.Plant) > mostMoved || v.Fit == nil {
		return
	}
	v.moves = v.Fit.Moves(v.Ped, rec, v.eval)
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
		if e, err := genetics.Evaluate(v.Ped, &less, &v.Components, &genetics.EvaluateOptions{ValuesOnly: true}); err == nil {
			v.geneMoves, v.geneDoubts = append(v.geneMoves, e.Values), append(v.geneDoubts, shift)
		}
	}
}

// errorVar is the covariance of the error of a place's value.
func (v *Values) errorVar(at int32) space.Matrix {
	var e space.Matrix
	if v.eval.ErrorVar != nil {
		e = unflat(v.eval.ErrorVar[int(at)*9:])
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

// otherwise are the values under the second likeliest model of strong genes, worked out once, and its chance; nil: there is none that
// counts. What is said of offspring is averaged over both.
//
// Source: Hoeting, Madigan, Raftery, Volinsky 1999, Statist. Sci. 14:382.
func (v *Values) otherwise() (*Values, float64) {
	v.otherOnce.Do(func() {
		if v.second == nil {
			return
		}
		opt := v.opt
		opt.genes, opt.Start = v.second, &v.Components
		v.other, _ = Predict(v.plants, v.asRead, &opt) // if it cannot be, the likeliest counts alone
	})
	return v.other, v.secondShare
}

// otherwise is the same search with the values of the second likeliest model of strong genes; nil: none.
func (f *pairing) otherwise() *pairing {
	v, share := f.v.otherwise()
	if v == nil {
		return nil
	}
	g := f.under(v.ahead())
	g.otherShare = share
	return g
}

// under is the same search with other values of the same plants.
func (f *pairing) under(v *Values) *pairing {
	if v == f.v {
		return f
	}
	g := &pairing{v: v, target: f.target, opt: f.opt, candidates: slices.Clone(f.candidates), coancestry: f.coancestry,
		additive: unflat(v.Components.Additive)}
	at := make([]int32, len(g.candidates))
	for i := range g.candidates {
		c := &g.candidates[i]
		at[i] = c.at
		c.value, c.own = space.Vector(v.eval.Value(c.at)), space.Vector(v.eval.Own(c.at))
	}
	g.errors = v.eval.ErrorCov(at)
	return g
}
