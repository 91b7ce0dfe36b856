package genetics

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// FitOptions says how components are estimated. The zero value, like nil, is the usual case: nothing is assumed, and
// the fit starts from the scatter of the records.
type FitOptions struct {
	// Prior is what is assumed before any record; it counts as much as PriorWeight plants. Nil: nothing is assumed.
	Prior       *Components
	PriorWeight float64
	// Start is where the fit begins; nil: at Prior, or at half the records' scatter each.
	Start *Components
	// Plant estimates the variance of plant effects too, which needs plants with several records.
	Plant bool
	// Group is [Components].Group, which is not estimated.
	Group []float64
	// EffectPrior is for how many levels the variance of a random effect counts that it was given, as the variance is
	// estimated, too, for each trait; it must be diagonal. 0: it is kept.
	EffectPrior float64
	// Iterations at most; 0: 100.
	Iterations int
	whole      bool // absorb no ancestors, to compare
}

// Fit is how an estimation of components ended.
type Fit struct {
	Components
	// Error is the covariance of the estimates' errors, over the upper triangles by
	// rows of Additive, then Plant where there is one, then Residual.
	Error *mat.SymDense
	// LogLikelihood is the restricted log likelihood, without constants, with the prior.
	LogLikelihood float64
	Iterations    int
	Converged     bool
	// AtEdge names the components that were held above 0, where records would have had
	// some combination of traits without any variance.
	AtEdge []string
	// EffectVar is each effect's variance as estimated, or as it was given.
	EffectVar [][]float64
	traits    int
}

// Heritability is the share of the variance of one record, without its own error and what groups and effects differ by,
// that breeding values account for, of one trait; and its standard error by the delta method.
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

// SE is the standard error of one element of Additive (matrix 0), then Plant where there is one, then Residual.
func (f *Fit) SE(matrix, i, j int) float64 {
	at := matrix*f.traits*(f.traits+1)/2 + upper(i, j, f.traits)
	return math.Sqrt(max(f.Error.At(at, at), 0))
}

// upper is the place of i, j in the upper triangle by rows.
func upper(i, j, t int) int {
	i, j = min(i, j), max(i, j)
	return i*t - i*(i-1)/2 + j - i
}

// unit is the matrix that an upper triangle's element k stands for.
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

// edge is the least variance of any combination of traits that a fit allows, as a share of the records' own.
const edge = 1e-5

// ErrNoScatter is returned where all records are equal, or too few.
var ErrNoScatter = errors.New("the records do not differ: no variance can be estimated")

// FitComponents estimates the additive and residual covariances of all traits by restricted maximum likelihood, with a
// prior if one is given. It returns an error as [Evaluate] does, and ErrNoScatter where nothing was assumed and a
// trait's records do not differ. A fit that has not converged after all iterations says so, and is returned.
//
// Source: average information, Johnson and Thompson 1995, J. Dairy Sci. 78:449, and Gilmour, Thompson, Cullis 1995,
// Biometrics 51:1440, with steps of expectation maximisation (Dempster, Laird, Rubin 1977) where that would leave what
// is possible; the prior as a penalty on the likelihood, Meyer 2016, Genetics 203:1885.
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

// fitting is an estimation under way. Its matrices are Additive, then Plant where there is one, then Residual.
type fitting struct {
	e      *equations
	t      int
	plan   *plan
	units  [][]float64
	group  []float64
	prior  [][]float64 // of each matrix; nil: none
	weight float64     // of the prior
	scale  []float64   // of each trait's records, for the edge
	effect *effectVar  // nil: kept
	done   bool        // the last derivatives change no effect
	stride float64     // by what Newton's steps are lengthened
	last   []float64   // the score before the last step
	from   *state      // where that began
}

// state is everything that belongs to one choice of matrices.
type state struct {
	v      [][]float64 // the matrices
	inv    [][]float64
	f      *factor
	x      []float64 // solution
	logLik float64
	py     []float64 // records × t: P y, the residual weighted
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

// scatter is the variance of a trait's records within the levels of the first effect, or of all.
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
		// The levels' variances have settled once they move by less than a hundredth; then
		// they are kept, as their steps are of another kind than those of the components.
		f.done = f.done || f.effect != nil && f.effect.moved < 0.01
		s = next
	}
	f.done = true
	if out.Converged { // the errors are those of the end
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

// learn sets the stride by how the score changed over the last step: where the average
// information is less than the curvature, steps go too far, to and fro.
//
// Source: the secant rule along the step; Dennis and Schnabel 1983, chapter 6.
func (f *fitting) learn(s *state, score []float64) {
	if f.from != nil && f.from != s {
		before, after := 0.0, 0.0
		at := 0
		for m := range s.v {
			for _, u := range f.units {
				for k, one := range u {
					if one != 0 { // both halves of a covariance are one element
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

// errorsOf inverts the information, over its positive directions.
func errorsOf(info *mat.SymDense) *mat.SymDense {
	n := info.SymmetricDim()
	// The elements' scales differ by the traits' units: bring them to 1.
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

// bound raises what is below the edge, and says which matrices it had to.
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

// additive counts the terms that G stands in.
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

func (f *fitting) members() int { return f.e.nodes - f.e.first - f.e.ped.Len() }
