package genetics

import "math"

// effectVar estimates the variances of random effects along with the components, for each trait by
// itself, with the variances given as a prior.
type effectVar struct {
	weight float64     // number of levels that the prior counts for
	prior  [][]float64 // each effect's Var as given; nil: a fixed effect
	moved  float64     // largest relative change of a variance in the last step
}

// newEffectVar takes the effects' variances as the prior, and gives the equations copies that step changes.
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

// minus2 returns the variances' part of -2 log likelihood, without constants.
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

// step replaces each variance by the mean square of its levels plus their error variance: a step of expectation maximisation.
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
