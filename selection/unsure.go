package selection

import (
	"slices"

	"hueward/selection/genetics"
	"hueward/selection/space"
)

// Breeding values are predicted as if the variance components and the effects of strong genes were known, though they are
// estimates. An error in these shifts all plants' values together; that part of the values' errors is added here.

// mostMoved is the largest number of records for which it is worked out: with more, the components are known well enough.
const mostMoved = 1000

// findMoves fills in moves and geneMoves: the shift of all values for one standard error of the heritability along each
// axis, the total variance unchanged, and for each of the genes' Doubts.
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

// errorVar returns the covariance of the error of the value at a place.
func (v *Values) errorVar(at int32) space.Matrix {
	var e space.Matrix
	if v.eval.ErrorVar != nil {
		e = unflat(v.eval.ErrorVar[int(at)*9:])
	}
	return space.Add(e, v.componentErrorCov(at, at))
}

// componentErrorCov returns the part of the covariance of two values' errors that is due to errors in the variance components.
func (v *Values) componentErrorCov(x, y int32) (m space.Matrix) {
	for _, move := range v.moves {
		for i := range m {
			m[i] = space.Plus(m[i], space.Times(move[3*int(x)+i], space.Vector(move[3*y:3*y+3])))
		}
	}
	return m
}

// addMoves fills in k.moves for the offspring of x and y, which may be one plant: the shift of each kind for each doubt of
// the strong genes' effects, with the shift of the parents' values that goes with it.
func (v *Values) addMoves(k *kinds, x, y int32) {
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

// secondModel returns the values under the second likeliest model of strong genes, worked out once, and that model's chance; nil: there
// is none that counts. Predictions of offspring are averaged over both models.
//
// Source: Hoeting, Madigan, Raftery, Volinsky 1999, Statist. Sci. 14:382.
func (v *Values) secondModel() (*Values, float64) {
	v.otherOnce.Do(func() {
		if v.second == nil {
			return
		}
		opt := v.opt
		opt.genes, opt.Start = v.second, &v.Components
		v.other, _ = Predict(v.plants, v.asRead, &opt) // on an error the likeliest model counts alone
	})
	return v.other, v.secondShare
}

// secondModel returns the same search under the second likeliest model of strong genes; nil: none.
func (f *pairing) secondModel() *pairing {
	v, share := f.v.secondModel()
	if v == nil {
		return nil
	}
	g := f.under(v.ahead())
	g.otherShare = share
	return g
}

// under returns the same search with other values of the same plants.
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
