package genetics

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Axis is a canonical trait: a combination of traits that is uncorrelated with the other axes, both in breeding values and
// in the other components.
type Axis struct {
	Heritability, SE float64
	// Traits is the change of the traits along the axis for one phenotypic standard deviation. Additive is
	// the sum over the axes of Heritability · Traits · Traitsᵀ.
	Traits []float64
	// Variance is the additive variance along the axis, for a phenotypic variance of 1: the mean of its distribution given
	// the records, where Heritability is the mode. CV is its coefficient of variation.
	Variance, CV float64
	combination  []float64 // weights of the traits in the axis
}

// Axes returns the canonical traits with their heritabilities. nil where the components are
// not positive definite, or the fit gives no errors.
//
// Source: the canonical decomposition of two covariances, Hayes and Hill 1980, Biometrics 36:237; an eigenvalue's
// error by the delta method. As a variance cannot be below 0, its mean is that of a normal distribution truncated at 0.
func (f *Fit) Axes() []Axis {
	t := f.traits
	if f.Error == nil {
		return nil
	}
	total, additive := mat.NewSymDense(t, nil), mat.NewDense(t, t, nil)
	for i := range t {
		for j := range t {
			p := f.Additive[i*t+j] + f.Residual[i*t+j]
			if f.Plant != nil {
				p += f.Plant[i*t+j]
			}
			if j >= i {
				total.SetSym(i, j, p)
			}
			additive.Set(i, j, f.Additive[i*t+j])
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(total) {
		return nil
	}
	var l, inv mat.TriDense
	chol.LTo(&l)
	if inv.InverseTri(&l) != nil {
		return nil
	}
	var half, whole mat.Dense
	half.Mul(&inv, additive)
	whole.Mul(&half, inv.T())
	sym := mat.NewSymDense(t, nil)
	for i := range t {
		for j := i; j < t; j++ {
			sym.SetSym(i, j, (whole.At(i, j)+whole.At(j, i))/2)
		}
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(sym, true) {
		return nil
	}
	var q mat.Dense
	eigen.VectorsTo(&q)
	var traits, combination mat.Dense
	traits.Mul(&l, &q)
	combination.Mul(inv.T(), &q)
	out := make([]Axis, t)
	for k, h := range eigen.Values(nil) {
		a := Axis{Heritability: min(max(h, 0), 1), Traits: mat.Col(nil, k, &traits), combination: mat.Col(nil, k, &combination)}
		a.SE = f.along(a.combination, 1-a.Heritability, -a.Heritability)
		se := f.along(a.combination, 1, 0)
		a.Variance = a.Heritability
		if se > 0 {
			z := a.Heritability / se
			push := distuv.UnitNormal.Prob(z) / distuv.UnitNormal.CDF(z) // by which truncation moves the mean, in units of se
			a.Variance += se * push
			a.CV = se * math.Sqrt(max(1-z*push-push*push, 0)) / a.Variance
		}
		out[k] = a
	}
	return out
}

// Moves returns, for each axis, the change of all values of the evaluation from (places × traits) when the heritability along
// the axis changes by one standard error and the total variance is kept. [Evaluation].ErrorVar does not include this error.
//
// Source: the correction of empirical Bayes by the delta method, Kass and Steffey 1989, JASA 84:717.
func (f *Fit) Moves(ped *Pedigree, rec *Records, from *Evaluation) (out [][]float64) {
	t := f.traits
	for _, a := range f.Axes() {
		by := min(a.SE, 0.98-a.Heritability)
		if a.Heritability > 0.5 {
			by = -min(a.SE, a.Heritability-0.02)
		}
		c := f.Components
		c.Additive, c.Residual = slices.Clone(c.Additive), slices.Clone(c.Residual)
		for i := range t {
			for j := range t {
				c.Additive[i*t+j] += by * a.Traits[i] * a.Traits[j]
				c.Residual[i*t+j] -= by * a.Traits[i] * a.Traits[j]
			}
		}
		e, err := Evaluate(ped, rec, &c, &EvaluateOptions{ValuesOnly: true})
		if err != nil { // no residual variance is left along the axis
			continue
		}
		for i, x := range from.Values {
			e.Values[i] -= x
		}
		out = append(out, e.Values)
	}
	return out
}

// AdditiveCV returns the coefficient of variation of the estimated additive variance, summed
// over the traits.
func (f *Fit) AdditiveCV() float64 {
	t, total, of := f.traits, 0.0, 0.0
	for i := range t {
		of += f.Additive[i*t+i]
		for j := range t {
			total += f.Error.At(upper(i, i, t), upper(j, j, t))
		}
	}
	return math.Sqrt(max(total, 0)) / of
}

// along returns the standard error of x'(first·Additive + rest·(Plant + Residual))x.
func (f *Fit) along(x []float64, first, rest float64) float64 {
	t := f.traits
	var g []float64
	for at := 0; len(g) < f.Error.SymmetricDim(); at++ {
		s := rest
		if at == 0 {
			s = first
		}
		for i := range t {
			for j := i; j < t; j++ {
				twice := 2.0
				if i == j {
					twice = 1
				}
				g = append(g, s*twice*x[i]*x[j])
			}
		}
	}
	v := mat.NewVecDense(len(g), g)
	return math.Sqrt(max(mat.Inner(v, f.Error, v), 0))
}
