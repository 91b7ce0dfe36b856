package camera

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"hueward/colorimg/cie"
	"hueward/colorimg/robust"
)

// form is what is tried.
type form struct {
	curve  bool
	degree int // 0: gains alone
}

func (f form) kind() Kind { return [...]Kind{Gains, Matrix, RootPolynomial, RootPolynomial}[f.degree] }

// candidates returns the forms for which there are enough patches, from the simplest.
func candidates(patches, grays int) []form {
	list := []form{{}}
	curved := grays >= fewestGrays
	if curved {
		list = append(list, form{true, 0})
	}
	for degree, need := range []int{1: fewestMatrix, 2: fewestRoot2, 3: fewestRoot3} {
		if degree > 0 && patches >= need {
			list = append(list, form{curved, degree})
		}
	}
	return list
}

// Prior standard deviations of a model's parameters, which restrain those that the patches do not determine.
// Guesses from the phones simulated in the tests: a curve changes encoded values by some tenths, saturation moves a
// quarter of a channel into the others, and root terms are for what a matrix leaves.
const (
	curvePrior  = 0.6
	matrixPrior = 0.3
	rootPrior   = 0.15
)

// cutWeight is the weight of a patch whose colour is outside the photo's gamut: large enough that such colours in later
// photos move the right way, too small to bend the model for all others. Chosen on the simulated phones.
const cutWeight = 0.4

// trial is one form fitted to the patches. Its numbers lie in x: the curve's,
// then the coefficients of each channel but those of the channel itself.
type trial struct {
	form
	space string
	x     []float64
	wild  bool      // not to be chosen: it leaps where the chart has no patches
	out   []float64 // leave-one-out errors, as data; NaN for a patch that cannot be left out
}

func (t *trial) curveOf(x []float64) curve {
	if !t.curve {
		return nil
	}
	return x[:curveTerms]
}

// coefOf returns the coefficients of the three channels from the parameters x.
func (t *trial) coefOf(x []float64) (coef [3][]float64) {
	n := termCount(t.degree)
	if n == 0 {
		return coef
	}
	x = x[len(t.curveOf(x)):]
	for c := range coef {
		coef[c] = make([]float64, n)
		copy(coef[c], x[:c])
		copy(coef[c][c+1:], x[c:n-1])
		x = x[n-1:]
	}
	return coef
}

// predict fills in out with the colours of the patches for the parameters x, scaled by the grey patch a.
func (t *trial) predict(x []float64, data []datum, a int, out []cie.Lab) {
	m := t.model(x)
	card := m.Apply(m.Uncurve(data[a].RGB))
	var gain [3]float64
	for c := range gain {
		gain[c] = data[a].lin[c] / max(card[c], 1e-6)
	}
	for i := range data {
		v := m.Apply(m.Uncurve(data[i].RGB))
		out[i] = cie.SRGB.XYZ(cie.RGB{v[0] * gain[0], v[1] * gain[1], v[2] * gain[2]}).Lab()
	}
}

// fit improves the parameters by least squares of Delta E
// 2000 (its local form) with their priors.
func (t *trial) fit(data []datum, rounds int) {
	if t.x == nil {
		t.x = make([]float64, 3*max(0, termCount(t.degree)-1))
		if t.curve {
			t.x = append(t.x, make([]float64, curveTerms)...)
		}
	}
	a := anchor(data, -1)
	lab := make([]cie.Lab, len(data))
	n := 3*len(data) + len(t.x)
	if t.curve {
		n += steps + 1
	}
	robust.Least(t.x, n, func(x, r []float64) {
		t.predict(x, data, a, lab)
		for i := range data {
			d := &data[i]
			v := [3]float64{lab[i].L - d.ref.L, lab[i].A - d.ref.A, lab[i].B - d.ref.B}
			weight := 1.0
			if d.cut {
				weight = cutWeight
			}
			for j := range 3 {
				r[j] = weight * (d.unit[j][0]*v[0] + d.unit[j][1]*v[1] + d.unit[j][2]*v[2])
			}
			r = r[3:]
		}
		for j := range x {
			r[j] = x[j] / t.prior(j)
		}
		r = r[len(x):]
		for j := range r { // only of a curve: it must rise
			r[j] = 30 * max(0, minSlope-t.curveOf(x).slope(float64(j)/steps))
		}
	}, rounds)
}

// prior returns the prior standard deviation of parameter j.
func (t *trial) prior(j int) float64 {
	if t.curve {
		if j < curveTerms {
			return curvePrior
		}
		j -= curveTerms
	}
	if n := termCount(t.degree) - 1; j%n < 2 {
		return matrixPrior
	}
	return rootPrior
}

// leaveOneOut predicts each patch by a fit to the others, scaled by the grey nearest to 18 % among them.
func (t *trial) leaveOneOut(data []datum) {
	t.out = make([]float64, len(data))
	lab := make([]cie.Lab, len(data))
	for i := range data {
		a := anchor(data, i)
		if a < 0 {
			t.out[i] = math.NaN()
			continue
		}
		rest := trial{form: t.form, space: t.space, x: slices.Clone(t.x)}
		rest.fit(slices.Concat(data[:i], data[i+1:]), 6) // from close by
		rest.predict(rest.x, data, a, lab)
		t.out[i] = cie.DeltaE2000(data[i].ref, lab[i])
	}
}

// choose returns the simplest trial whose mean error is within one standard error of the best one's; that is the standard
// error of their difference, patch by patch. Wild trials are not chosen.
func choose(tried []trial) int {
	best := 0
	for i := range tried {
		if !tried[i].wild && summary(tried[i].out).Mean < summary(tried[best].out).Mean {
			best = i
		}
	}
	for i := range best {
		if tried[i].wild {
			continue
		}
		var d []float64
		for k, v := range tried[i].out {
			if !math.IsNaN(v) {
				d = append(d, v-tried[best].out[k])
			}
		}
		if mean, sd := stat.MeanStdDev(d, nil); mean <= stat.StdErr(sd, float64(len(d))) {
			return i
		}
	}
	return best
}

// wildest is the largest difference, in Delta E 2000, of a root-polynomial from the form before it, over all colours that a
// phone can write. A guess: petals have colours beyond the chart's, where the fit is not constrained.
const wildest = 10

// far returns the largest Delta E 2000 between the outcomes of t and of the trial before it,
// over all colours of Display P3.
func (t *trial) far(before *trial) (most float64) {
	x, y := t.model(t.x), before.model(before.x)
	lab := func(v [3]float64) cie.Lab { return cie.SRGB.XYZ(v).Lab() }
	const n = 6
	for i := range n * n * n {
		v := [3]float64{float64(i % n), float64(i / n % n), float64(i / n / n)}
		for c := range v {
			v[c] = cie.Linear(v[c] / (n - 1))
		}
		v = apply(&fromP3, v)
		most = max(most, cie.DeltaE2000(lab(x.Apply(v)), lab(y.Apply(v))))
	}
	return most
}

// model returns the model with the parameters x, whose memory its curve shares.
func (t *trial) model(x []float64) *Model {
	return &Model{Kind: t.kind(), Degree: t.degree, Space: t.space, Curve: t.curveOf(x), Coef: t.coefOf(x)}
}

// summary returns the statistics of v, without NaN.
func summary(v []float64) (e Errors) {
	var s []float64
	for _, x := range v {
		if !math.IsNaN(x) {
			s = append(s, x)
		}
	}
	if len(s) == 0 {
		return e
	}
	slices.Sort(s)
	n := float64(len(s))
	for _, x := range s {
		e.Mean += x / n
		e.RMS += x * x / n
	}
	e.RMS, e.Worst = math.Sqrt(e.RMS), s[len(s)-1]
	e.Median = (s[len(s)/2] + s[(len(s)-1)/2]) / 2
	return e
}
