package genetics

import "math"

// effectVar is how far the levels of random effects differ, estimated beside the
// components: of each trait by itself, together with what was assumed.
type effectVar struct {
	weight float64     // how many levels the assumption counts for
	prior  [][]float64 // of each effect: its Var as given; nil: a fixed one
	moved  float64     // by which share the last step changed a variance, at most
}

// newEffectVar takes the effects' variances as what is assumed, and gives the equations their own to change.
func newEffectVar(e *equations, weight float64) *effectVar {
	v := &effectVar{weight: weight}
	rec := *e.rec
	rec.Effects = append([]Effect{}, rec.Effects...)
	e.rec = &rec
	for i := range rec.Effects {
		v.prior = append(v.prior, rec.Effects[i].Var)
		if rec.Effects[i].Var != nil {
			rec.Effects[i].Var = append([]float64{}, rec.Effects[i].Var...)
		}
	}
	return v
}

// minus2 is what the variances add to -2 log likelihood, but for constants.
func (v *effectVar) minus2(e *equations) float64 {
	sum := 0.0
	for i, f := range e.rec.Effects {
		if v.prior[i] == nil {
			continue
		}
		for k := range e.t {
			at := k*e.t + k
			sum += (float64(f.Levels)+v.weight)*math.Log(f.Var[at]) + v.weight*v.prior[i][at]/f.Var[at]
		}
	}
	return sum
}

// step replaces each variance by the mean square of its levels, errors included: a step of expectation maximisation.
//
// Source: Dempster, Laird, Rubin 1977, J. R. Statist. Soc. B 39:1.
func (v *effectVar) step(e *equations, x []float64, z *inverse) {
	t := e.t
	node := int32(0)
	v.moved = 0
	for i, f := range e.rec.Effects {
		if v.prior[i] == nil {
			node += int32(f.Levels)
			continue
		}
		sum := make([]float64, t)
		for range f.Levels {
			b := z.block(node, node)
			for k := range t {
				u := x[int(node)*t+k]
				sum[k] += u*u + b[k*t+k]
			}
			node++
		}
		for k := range t {
			at := k*t + k
			next := (v.weight*v.prior[i][at] + sum[k]) / (v.weight + float64(f.Levels))
			v.moved = max(v.moved, math.Abs(next/f.Var[at]-1))
			f.Var[at] = next
		}
	}
}
