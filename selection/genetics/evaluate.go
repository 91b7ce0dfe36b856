package genetics

import (
	"fmt"
	"math"
)

// Evaluation holds predicted breeding values.
type Evaluation struct {
	Traits int
	Values []float64   // places × traits: breeding values of all plants, measured or not, and of all groups
	Levels [][]float64 // estimates for each effect, levels × traits
	// LevelVar is the covariance of the error of each effect's levels, levels × traits × traits; nil where errors were not
	// worked out, or only approximately.
	LevelVar [][]float64
	// ErrorVar is the prediction error covariance of each place's values, places ×
	// traits × traits; nil where errors were not worked out.
	ErrorVar []float64
	// Approximate says that ErrorVar is right within about 5 %, as the equations were too large to invert.
	Approximate bool
	// Iterations is the number of steps of the iterative solution; 0: the equations were solved directly.
	Iterations int

	f    *factor // nil when solved by iteration
	z    *inverse
	e    *equations
	par  *Components
	ped  *Pedigree
	base []float64 // places × traits: the part of the values that is due to founder groups
}

// EvaluateOptions says how to solve. The zero value, like nil, is the usual case.
type EvaluateOptions struct {
	// ValuesOnly leaves out the errors, and solves by iteration.
	ValuesOnly bool
	// Tolerance ends the iteration: the largest residual relative to the right-hand side, in
	// the norm of the preconditioner; 0: 1e-8.
	Tolerance float64
}

// mostWork is the largest number of multiplications, some ten seconds, for which the equations are solved
// directly and inverted; beyond, they are solved by iteration.
const mostWork = 3e10

// Evaluate predicts the breeding values of all plants of the pedigree from all records of all traits: best linear
// unbiased prediction in an animal model with the components par. Values include the means of founder groups, and are
// deviations from the estimates of the effects.
//
// It returns an error when sizes do not match, a covariance is not positive definite, or
// two fixed effects are confounded, and ErrNoRecords.
//
// Source: Henderson 1984; Mrode 2014, Linear Models for the Prediction of Animal
// Breeding Values, whose examples 3.1 and 5.1 TestEvaluateMrode checks.
func Evaluate(ped *Pedigree, rec *Records, par *Components, opt *EvaluateOptions) (*Evaluation, error) {
	if opt == nil {
		opt = &EvaluateOptions{}
	}
	e, err := newEquations(ped, rec)
	if err != nil {
		return nil, err
	}
	if err := e.set(par); err != nil {
		return nil, err
	}
	out := &Evaluation{Traits: e.t, e: e, par: par, ped: ped}
	var plan *plan
	if !opt.ValuesOnly {
		plan = planWithin(e.graph(), e.t, mostWork)
	}
	x := e.rhs()
	switch {
	case plan == nil:
		if out.Iterations, err = e.iterate(x, opt.Tolerance); err != nil {
			return nil, err
		}
		if !opt.ValuesOnly {
			out.ErrorVar, out.Approximate = e.roughErrors(), true
		}
	default:
		f, err := e.factor(plan)
		if err != nil {
			return nil, fmt.Errorf("breeding values: %w", err)
		}
		f.solve(x)
		out.f, out.z = f, f.invertBlocks()
	}
	out.fill(x)
	return out, nil
}

// fill splits the solution x into levels and values, and fills in their errors where the inverse is known.
func (v *Evaluation) fill(x []float64) {
	e, t := v.e, v.Traits
	at := 0
	for _, f := range e.rec.Effects {
		v.Levels = append(v.Levels, x[at*t:(at+f.Levels)*t:(at+f.Levels)*t])
		at += f.Levels
	}
	n := e.ped.Len()
	v.Values = x[at*t : (at+n)*t : (at+n)*t]
	v.base = e.baseOf(v.Values)
	if v.z == nil {
		return // no errors, or approximate ones
	}
	at = 0
	for _, f := range e.rec.Effects {
		var b []float64
		for range f.Levels {
			b = append(b, v.z.block(int32(at), int32(at))...)
			at++
		}
		v.LevelVar = append(v.LevelVar, b)
	}
	v.ErrorVar = make([]float64, n*t*t)
	for i := range n {
		node := int32(e.first + i)
		copy(v.ErrorVar[i*t*t:], v.z.block(node, node))
	}
}

// baseOf returns the part of every place's value that is due to its founder groups.
func (e *equations) baseOf(values []float64) []float64 {
	t := e.t
	base := make([]float64, len(values))
	if e.par.Group == nil {
		return base
	}
	copy(base, values[:e.ped.groups*t])
	for i := e.ped.groups; i < e.ped.Len(); i++ {
		for _, parent := range [2]int32{e.ped.seed[i], e.ped.pollen[i]} {
			if parent != Unknown {
				addTo(base[i*t:i*t+t], 0.5, base[int(parent)*t:int(parent)*t+t])
			}
		}
	}
	return base
}

// Value returns the breeding value of the plant at a place, for each trait. It belongs to v.
func (v *Evaluation) Value(at int32) []float64 {
	t := v.Traits
	return v.Values[int(at)*t : int(at)*t+t]
}

// Own returns the breeding value of the plant at a place, less the part that is due to its founder groups.
func (v *Evaluation) Own(at int32) []float64 {
	out := append([]float64(nil), v.Value(at)...)
	addTo(out, -1, v.base[int(at)*v.Traits:int(at)*v.Traits+v.Traits])
	return out
}

// Reliability returns the squared correlation of a plant's predicted with its true breeding value, for one trait: from 0,
// where nothing is known, to 1. NaN where errors were not worked out.
func (v *Evaluation) Reliability(at int32, trait int) float64 {
	if v.ErrorVar == nil {
		return math.NaN()
	}
	t := v.Traits
	own := (1 + v.ped.f[at]) * v.par.Additive[trait*t+trait]
	return min(max(1-v.ErrorVar[int(at)*t*t+trait*t+trait]/own, 0), 1)
}

// ErrorCov returns the covariance matrix of the errors of several plants' values:
// plants · traits × plants · traits, by rows, plant by plant. It solves the equations once for each plant and trait,
// restricted to the plants' ancestry. nil where errors were not worked out, or only approximately.
func (v *Evaluation) ErrorCov(plants []int32) []float64 {
	if v.f == nil {
		return nil
	}
	nodes := make([]int32, len(plants))
	for i, at := range plants {
		nodes[i] = int32(v.e.first) + at
	}
	return v.f.inverseAmong(nodes)
}
