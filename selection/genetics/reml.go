package genetics

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// FitOptions says how components are estimated. The zero value, like nil, is the usual case: no prior, and
// a start from the variance of the records.
type FitOptions struct {
	// Prior are components that count as much as the data of PriorWeight plants. nil: no prior.
	Prior       *Components
	PriorWeight float64
	// Start is where the fit begins; nil: at Prior, else at half the records' variance for each component.
	Start *Components
	// Plant estimates the variance of plant effects, too, which needs plants with several records.
	Plant bool
	// Group is [Components].Group, which is not estimated.
	Group []float64
	// EffectPrior is the number of levels that the given Var of random effects counts for as a prior; their variances
	// are then estimated, each trait by itself, and Var must be diagonal. 0: Var is kept as given.
	EffectPrior float64
	// Iterations is the largest number of iterations; 0: 100.
	Iterations int
	whole      bool // absorb no ancestors, for tests that compare
}

// Fit is the outcome of [FitComponents].
type Fit struct {
	Components
	// Error is the covariance of the estimates' errors, over the upper triangles, by
	// rows, of Additive, then Plant where there is one, then Residual.
	Error *mat.SymDense
	// LogLikelihood is the restricted log likelihood plus the logarithm of the prior, without constants.
	LogLikelihood float64
	Iterations    int
	Converged     bool
	// AtEdge names the components ("additive", "plant", "residual") that were kept positive definite,
	// where some combination of traits would have had no variance.
	AtEdge []string
	// EffectVar is each effect's variance as estimated, or as given.
	EffectVar [][]float64
	traits    int
}

// Heritability returns the heritability of one trait and its standard error by the delta method: the additive variance as a
// share of the variance of a record, without known errors, and without the variance of groups and effects.
func (f *Fit) Heritability(trait int) (h2, se float64) {
	t := f.traits
	at := trait*t + trait
	a, rest := f.Additive[at], f.Residual[at]
	if f.Plant != nil {
		rest += f.Plant[at]
	}
	total := a + rest
	h2 = a / total
	if f.Error == nil {
		return h2, math.NaN()
	}
	g := make([]float64, f.Error.SymmetricDim())
	per := t * (t + 1) / 2
	own := upper(trait, trait, t)
	g[own] = rest / (total * total)
	for at := per + own; at < len(g); at += per {
		g[at] = -a / (total * total)
	}
	v := mat.NewVecDense(len(g), g)
	return h2, math.Sqrt(max(mat.Inner(v, f.Error, v), 0))
}

// SE returns the standard error of element i, j of a matrix: 0 is Additive, then Plant where there is one, then Residual.
func (f *Fit) SE(matrix, i, j int) float64 {
	at := matrix*f.traits*(f.traits+1)/2 + upper(i, j, f.traits)
	return math.Sqrt(max(f.Error.At(at, at), 0))
}

// upper returns the place of i, j in the upper triangle by rows.
func upper(i, j, t int) int {
	i, j = min(i, j), max(i, j)
	return i*t - i*(i-1)/2 + j - i
}

// units returns for each element of an upper triangle the symmetric matrix with 1 in its places.
func units(t int) [][]float64 {
	var out [][]float64
	for i := range t {
		for j := i; j < t; j++ {
			e := make([]float64, t*t)
			e[i*t+j], e[j*t+i] = 1, 1
			out = append(out, e)
		}
	}
	return out
}

// edge is the least variance of any combination of traits in a component, as a share of the records' variance.
const edge = 1e-5

// ErrNoScatter is returned where all records are equal, or too few.
var ErrNoScatter = errors.New("the records do not differ: no variance can be estimated")

// FitComponents estimates the additive and residual covariances of all traits by restricted maximum likelihood (REML), with
// a prior if one is given. It returns an error as [Evaluate] does, and ErrNoScatter where there is no prior and a trait's
// records do not differ. A fit that has not converged after all iterations is returned with Converged false.
//
// Source: average information, Johnson and Thompson 1995, J. Dairy Sci. 78:449, and Gilmour, Thompson, Cullis 1995,
// Biometrics 51:1440, with steps of expectation maximisation (Dempster, Laird, Rubin 1977) where these would lower the
// likelihood; the prior as a penalty on the likelihood, Meyer 2016, Genetics 203:1885.
func FitComponents(ped *Pedigree, rec *Records, opt *FitOptions) (*Fit, error) {
	if opt == nil {
		opt = &FitOptions{}
	}
	e, err := newEquations(ped, rec)
	if err != nil {
		return nil, err
	}
	if opt.Group != nil && !opt.whole {
		e.absorb = absorb(ped, rec)
	}
	f, err := newFitting(e, opt)
	if err != nil {
		return nil, err
	}
	return f.run(opt)
}

// fitting is the state of [FitComponents]. Its matrices are Additive, then Plant where there is one, then Residual.
type fitting struct {
	e      *equations
	t      int
	plan   *plan
	units  [][]float64
	group  []float64
	prior  [][]float64 // for each matrix; nil: none
	weight float64     // of the prior
	scale  []float64   // each trait's variance of the records, for the edge
	effect *effectVar  // nil: the effects' variances are kept
	done   bool        // the effects' variances have settled, and are kept from here on
	stride float64     // factor on the length of Newton's steps
	last   []float64   // the score before the last step
	from   *state      // the state before the last step
}

// state is everything that belongs to one choice of matrices.
type state struct {
	v      [][]float64 // the matrices
	inv    [][]float64 // their inverses
	f      *factor
	x      []float64 // solution of the mixed model equations
	logLik float64
	py     []float64 // records × t: P y, the residuals times their weights
}

func newFitting(e *equations, opt *FitOptions) (*fitting, error) {
	t := e.t
	f := &fitting{e: e, t: t, stride: 1, units: units(t), group: opt.Group, scale: make([]float64, t)}
	if opt.Prior != nil && opt.PriorWeight > 0 {
		f.weight = opt.PriorWeight
		f.prior = f.matrices(opt.Prior, opt.Plant)
	}
	if opt.EffectPrior > 0 {
		f.effect = newEffectVar(e, opt.EffectPrior)
	}
	for k := range t {
		f.scale[k] = e.rec.scatter(k)
		if f.prior != nil {
			f.scale[k] = max(f.scale[k], f.prior[0][k*t+k])
		}
		if !(f.scale[k] > 0) {
			return nil, ErrNoScatter
		}
	}
	return f, nil
}

// matrices returns the components as matrices; where plant effects have no variance yet, a tenth of the residual one.
func (f *fitting) matrices(c *Components, plant bool) [][]float64 {
	if plant {
		p := c.Plant
		if p == nil {
			p = make([]float64, f.t*f.t)
			addTo(p, 0.1, c.Residual)
		}
		return [][]float64{c.Additive, p, c.Residual}
	}
	return [][]float64{c.Additive, c.Residual}
}

func (f *fitting) components(v [][]float64) *Components {
	c := &Components{Additive: v[0], Residual: v[len(v)-1], Group: f.group}
	if len(v) == 3 {
		c.Plant = v[1]
	}
	return c
}

// scatter returns the variance of a trait's records within the levels of the first effect; without effects, of all.
func (r *Records) scatter(trait int) float64 {
	level := func(i int) int32 {
		if len(r.Effects) == 0 {
			return 0
		}
		return r.Effects[0].Level[i]
	}
	type sum struct{ n, mean, ss float64 }
	by := map[int32]*sum{}
	for i := range r.Plant {
		y := r.Y[i*r.Traits+trait]
		if math.IsNaN(y) {
			continue
		}
		s := by[level(i)]
		if s == nil {
			s = &sum{}
			by[level(i)] = s
		}
		s.n++
		d := y - s.mean
		s.mean += d / s.n
		s.ss += d * (y - s.mean)
	}
	ss, df := 0.0, 0.0
	for _, s := range by {
		ss += s.ss
		df += s.n - 1
	}
	return ss / max(df, 1)
}

func (f *fitting) run(opt *FitOptions) (*Fit, error) {
	var v [][]float64
	switch {
	case opt.Start != nil:
		v = f.matrices(opt.Start, opt.Plant)
	case f.prior != nil:
		v = f.prior
	default:
		half := make([]float64, f.t*f.t)
		for k := range f.t {
			half[k*f.t+k] = f.scale[k] / 2
		}
		v = f.matrices(&Components{Additive: half, Residual: half}, opt.Plant)
	}
	var edges []bool
	v, _ = f.bound(v)
	s, err := f.at(v)
	if err != nil {
		return nil, err
	}
	out := &Fit{traits: f.t}
	most := opt.Iterations
	if most == 0 {
		most = 100
	}
	var info *mat.SymDense
	for out.Iterations < most && !out.Converged {
		out.Iterations++
		var score []float64
		var em [][]float64
		score, info, em = f.derivatives(s)
		f.learn(s, score)
		next, held := f.step(s, score, info, em)
		if next == nil && f.effect != nil && !f.done {
			f.done = true
			if s, err = f.at(s.v); err != nil {
				return nil, err
			}
			continue
		}
		if next == nil {
			out.Converged = true
			break
		}
		edges = held
		moved := 0.0
		for m := range next.v {
			for k := range f.t {
				for l := range f.t {
					moved = max(moved, math.Abs(next.v[m][k*f.t+l]-s.v[m][k*f.t+l])/math.Sqrt(f.scale[k]*f.scale[l]))
				}
			}
		}
		out.Converged = moved < 1e-5 && (f.effect == nil || f.done)
		// The effects' variances have settled once they change by less than a hundredth. From then on they
		// are kept, as their steps of expectation maximisation would disturb the components' Newton steps.
		f.done = f.done || f.effect != nil && f.effect.moved < 0.01
		s = next
	}
	f.done = true
	if out.Converged { // the information at the final state
		_, info, _ = f.derivatives(s)
	}
	for _, effect := range f.e.rec.Effects {
		out.EffectVar = append(out.EffectVar, effect.Var)
	}
	out.Components, out.LogLikelihood = *f.components(s.v), s.logLik
	out.Error = errorsOf(info)
	names := []string{"additive", "plant", "residual"}
	if len(s.v) == 2 {
		names = []string{"additive", "residual"}
	}
	for m, held := range edges {
		if held {
			out.AtEdge = append(out.AtEdge, names[m])
		}
	}
	return out, nil
}

// learn sets the stride from the change of the score over the last step: where the average
// information is less than the curvature, full steps overshoot and oscillate.
//
// Source: the secant rule along the step; Dennis and Schnabel 1983, chapter 6.
func (f *fitting) learn(s *state, score []float64) {
	if f.from != nil && f.from != s {
		before, after := 0.0, 0.0
		at := 0
		for m := range s.v {
			for _, u := range f.units {
				for k, one := range u {
					if one != 0 { // i, j and j, i are one element
						before += f.last[at] * (s.v[m][k] - f.from.v[m][k])
						after += score[at] * (s.v[m][k] - f.from.v[m][k])
						break
					}
				}
				at++
			}
		}
		if before > 0 && after < before {
			f.stride = min(1.5, max(0.2, f.stride*min(1.5, max(0.4, before/(before-after)))))
		}
	}
	f.last, f.from = score, s
}

// errorsOf returns the inverse of the information, with eigenvalues that are not positive raised to a small one.
func errorsOf(info *mat.SymDense) *mat.SymDense {
	n := info.SymmetricDim()
	// Scale the diagonal to 1, as the elements have different units.
	d := make([]float64, n)
	scaled := mat.NewSymDense(n, nil)
	for i := range n {
		d[i] = 1 / math.Sqrt(max(info.At(i, i), 1e-300))
	}
	for i := range n {
		for j := i; j < n; j++ {
			scaled.SetSym(i, j, info.At(i, j)*d[i]*d[j])
		}
	}
	out := mat.NewSymDense(n, nil)
	var e mat.EigenSym
	if !e.Factorize(scaled, true) {
		return out
	}
	var q mat.Dense
	e.VectorsTo(&q)
	for k, l := range e.Values(nil) {
		l = max(l, 1e-8)
		for i := range n {
			for j := i; j < n; j++ {
				out.SetSym(i, j, out.At(i, j)+q.At(i, k)*q.At(j, k)*d[i]*d[j]/l)
			}
		}
	}
	return out
}

// bound raises eigenvalues below the edge to it, and reports for which matrices it had to.
func (f *fitting) bound(v [][]float64) ([][]float64, []bool) {
	t := f.t
	out, held := make([][]float64, len(v)), make([]bool, len(v))
	for m, x := range v {
		s := mat.NewSymDense(t, nil) // in units of each trait's scatter
		for k := range t {
			for l := k; l < t; l++ {
				s.SetSym(k, l, x[k*t+l]/math.Sqrt(f.scale[k]*f.scale[l]))
			}
		}
		var e mat.EigenSym
		if !e.Factorize(s, true) || e.Values(nil)[0] >= edge {
			out[m] = slices.Clone(x)
			continue
		}
		held[m] = true
		var q mat.Dense
		e.VectorsTo(&q)
		out[m] = make([]float64, t*t)
		for i, l := range e.Values(nil) {
			l = max(l, edge)
			for k := range t {
				for j := range t {
					out[m][k*t+j] += l * q.At(k, i) * q.At(j, i) * math.Sqrt(f.scale[k]*f.scale[j])
				}
			}
		}
	}
	return out, held
}

// at factors and solves the equations for matrices v.
func (f *fitting) at(v [][]float64) (*state, error) {
	e, t := f.e, f.t
	s := &state{v: v}
	if err := e.set(f.components(v)); err != nil {
		return nil, err
	}
	if f.plan == nil {
		f.plan = newPlan(e.graph())
		if f.plan.work(t) > 10*mostWork {
			return nil, fmt.Errorf("components: %d plants are parents of parents; estimate from fewer seasons", f.plan.size)
		}
	}
	minus2 := e.logR
	if f.effect != nil {
		minus2 += f.effect.minus2(e)
	}
	for m, x := range v {
		inv, logDet, ok := invert(x, t)
		if !ok {
			return nil, errSingular
		}
		s.inv = append(s.inv, inv)
		switch {
		case m == 0:
			minus2 += float64(f.additive()) * logDet
		case m < len(v)-1:
			minus2 += float64(f.members()) * logDet
		}
		if f.prior != nil {
			minus2 += f.weight * (logDet + traceOf(inv, f.prior[m]))
		}
	}
	var err error
	if s.f, err = e.factor(f.plan); err != nil {
		return nil, fmt.Errorf("components: %w", err)
	}
	s.x = e.rhs()
	b := slices.Clone(s.x)
	s.f.solve(s.x)
	minus2 += s.f.logDet
	for i := range b {
		minus2 -= b[i] * s.x[i]
	}
	s.py = make([]float64, len(e.rec.Y))
	res := make([]float64, t)
	for i, of := range e.of {
		for k := range t {
			res[k] = e.rec.Y[i*t+k]
			if math.IsNaN(res[k]) {
				res[k] = 0
				continue
			}
		}
		y := slices.Clone(res)
		for _, at := range of {
			addTo(res, -1, s.x[int(at)*t:int(at)*t+t])
		}
		p := s.py[i*t : i*t+t]
		addApply(p, 1, e.weight[i], y, t)
		for k := range t {
			minus2 += y[k] * p[k]
		}
		clear(p)
		addApply(p, 1, e.weight[i], res, t)
	}
	s.logLik = -minus2 / 2
	return s, nil
}

// additive returns the number of Mendelian sampling terms, whose covariance is G times d.
func (f *fitting) additive() int {
	n := 0
	for i := range int32(f.e.ped.Len()) {
		if _, ok := f.e.mendel(i); ok {
			n++
		}
	}
	if f.e.absorb != nil {
		n += f.e.absorb.rows
	}
	return n
}

// members returns the number of plant effects.
func (f *fitting) members() int { return f.e.nodes - f.e.first - f.e.ped.Len() }
