package genetics

import (
	"errors"
	"fmt"
	"math"
)

// Records are measurements of plants in several traits, which breeding values and other effects explain. A record may
// lack traits, and a plant may have several records or none.
type Records struct {
	Traits int
	Plant  []int32   // each record's plant, as its place in the pedigree
	Y      []float64 // records × traits; NaN: not measured
	// Error is the known covariance of each record's own error, records × traits × traits;
	// it is added to [Components].Residual. nil: none.
	Error   []float64
	Effects []Effect // other than the plants': season, bed, observer
}

// Effect sorts records into levels, such as seasons, whose records have a common effect.
type Effect struct {
	Level  []int32 // each record's level, 0 to Levels-1; -1: none
	Levels int
	// Var is the covariance of the levels of a random effect, traits × traits. nil: a
	// fixed effect.
	Var []float64
}

// Components are variance components: covariances of the traits, traits × traits, in squared units of the traits.
type Components struct {
	Additive []float64 // of breeding values, in founders that are not inbred
	Plant    []float64 // permanent environmental: common to a plant's records, but not heritable; nil: none
	Residual []float64 // of single records
	// Group is the covariance of founder groups' means around the effects' estimates. nil: groups have a mean of 0.
	Group []float64
}

// ErrNoRecords is returned where no record has a value.
var ErrNoRecords = errors.New("no plant has a record")

// check returns an error where sizes or numbers of r are wrong.
func (r *Records) check(ped *Pedigree) error {
	n, t := len(r.Plant), r.Traits
	if t < 1 || len(r.Y) != n*t || r.Error != nil && len(r.Error) != n*t*t {
		return fmt.Errorf("%d records of %d traits with %d values and %d of errors", n, t, len(r.Y), len(r.Error))
	}
	for _, e := range r.Effects {
		if len(e.Level) != n || e.Var != nil && len(e.Var) != t*t {
			return fmt.Errorf("an effect of %d levels for %d records", len(e.Level), n)
		}
		for i, l := range e.Level {
			if l < -1 || int(l) >= e.Levels {
				return fmt.Errorf("record %d has level %d of %d", i, l, e.Levels)
			}
		}
	}
	some := false
	for i, at := range r.Plant {
		if at < int32(ped.groups) || int(at) >= ped.Len() {
			return fmt.Errorf("record %d is of a plant that is not in the pedigree", i)
		}
		for k := range t {
			v := r.Y[i*t+k]
			some = some || !math.IsNaN(v)
			if math.IsInf(v, 0) {
				return fmt.Errorf("record %d of plant %q is infinite; correct it or leave it out", i, ped.ID(at))
			}
		}
	}
	if !some {
		return ErrNoRecords
	}
	return nil
}

// least is the smallest Mendelian sampling variance that is used, as a share of the additive variance. Plants of a pure
// line have none; with a thousandth, the equations stay positive definite.
const least = 1e-3

// equations are Henderson's mixed model equations for a model and its records. A node is t unknowns, one for each trait.
// The nodes are the effects' levels, then the pedigree's places, then the plants with records where Components.Plant is set.
//
// Source: Henderson 1984, Applications of Linear Models in Animal Breeding.
type equations struct {
	ped    *Pedigree
	rec    *Records
	par    *Components
	t      int
	first  int              // node of the pedigree's place 0
	nodes  int              // number of nodes
	of     [][]int32        // each record's nodes
	member []int32          // each place's node for its plant effect; -1: none
	weight [][]float64      // each record's inverse residual covariance, 0 for traits that were not measured
	logR   float64          // sum of the log determinants of the residual covariances
	absorb *absorbed        // ancestors that the equations do without; nil: none
	seen   map[uint64]*seen // weights so far, by the set of traits measured
}

// seen is a weight that all records with the same traits share, unless records have errors of their own.
type seen struct {
	weight []float64
	logDet float64 // of the residual covariance
}

// term is one square of the pedigree's quadratic form u'A⁻¹u: (Σ weight·u)²/d, over the first n of node.
type term struct {
	node   [3]int32
	weight [3]float64
	d      float64
	n      int
}

// mendel returns the term of place i, its Mendelian sampling term: its breeding value less the mean of its parents'.
// ok is false for an absorbed place or one of the boundary, and for a group whose value is 0 or has Components.Group as its covariance.
func (e *equations) mendel(i int32) (m term, ok bool) {
	p := e.ped
	if e.absorb != nil && (e.absorb.gone[i] || e.absorb.boundary[i]) {
		return m, false
	}
	if int(i) < p.groups && (e.par.Group != nil || p.d[i] == 0) {
		return m, false
	}
	m.node[0], m.weight[0], m.n = i+int32(e.first), 1, 1
	m.d = p.d[i]
	for _, parent := range [2]int32{p.seed[i], p.pollen[i]} {
		switch {
		case parent == Unknown:
			continue
		case int(parent) < p.groups && e.par.Group == nil && p.d[parent] == 0: // a group whose value is 0
			continue
		case m.n == 2 && m.node[1] == parent+int32(e.first):
			m.weight[1] = -1
			continue
		}
		m.node[m.n], m.weight[m.n] = parent+int32(e.first), -0.5
		m.n++
	}
	m.d = max(m.d, least)
	return m, true
}

func newEquations(ped *Pedigree, rec *Records) (*equations, error) {
	if err := rec.check(ped); err != nil {
		return nil, err
	}
	e := &equations{ped: ped, rec: rec, t: rec.Traits, weight: make([][]float64, len(rec.Plant))}
	for _, f := range rec.Effects {
		e.first += f.Levels
	}
	return e, nil
}

// set puts new components in; it returns an error when a residual covariance is not positive definite.
func (e *equations) set(par *Components) error {
	fresh := e.par == nil || (e.par.Plant == nil) != (par.Plant == nil)
	e.par = par
	if fresh {
		e.lay()
	}
	t := e.t
	e.seen, e.logR = map[uint64]*seen{}, 0
	for i := range e.rec.Plant {
		var mask uint64
		for k := range t {
			if !math.IsNaN(e.rec.Y[i*t+k]) {
				mask |= 1 << k
			}
		}
		w, ok := e.seen[mask]
		if !ok || e.rec.Error != nil {
			var err error
			if w, err = e.weigh(i, mask); err != nil {
				return err
			}
			e.seen[mask] = w
		}
		e.weight[i] = w.weight
		e.logR += w.logDet
	}
	return nil
}

// weigh returns the weight of record i, whose measured traits are in mask.
func (e *equations) weigh(i int, mask uint64) (*seen, error) {
	t := e.t
	var at []int
	for k := range t {
		if mask>>k&1 == 1 {
			at = append(at, k)
		}
	}
	r := make([]float64, len(at)*len(at))
	for a, k := range at {
		for b, l := range at {
			r[a*len(at)+b] = e.par.Residual[k*t+l]
			if e.rec.Error != nil {
				r[a*len(at)+b] += e.rec.Error[i*t*t+k*t+l]
			}
		}
	}
	inv, logDet, ok := invert(r, len(at))
	if !ok {
		return nil, fmt.Errorf("the residual covariance of plant %q is not positive definite", e.ped.ID(e.rec.Plant[i]))
	}
	out := &seen{make([]float64, t*t), logDet}
	for a, k := range at {
		for b, l := range at {
			out.weight[k*t+l] = inv[a*len(at)+b]
		}
	}
	return out, nil
}

// lay numbers the nodes.
func (e *equations) lay() {
	e.nodes = e.first + e.ped.Len()
	e.member = make([]int32, e.ped.Len())
	for i := range e.member {
		e.member[i] = -1
	}
	e.of = make([][]int32, len(e.rec.Plant))
	for i, at := range e.rec.Plant {
		start := int32(0)
		var of []int32
		for _, f := range e.rec.Effects {
			if l := f.Level[i]; l >= 0 {
				of = append(of, start+l)
			}
			start += int32(f.Levels)
		}
		of = append(of, int32(e.first)+at)
		if e.par.Plant != nil {
			if e.member[at] < 0 {
				e.member[at] = int32(e.nodes)
				e.nodes++
			}
			of = append(of, e.member[at])
		}
		e.of[i] = of
	}
}

// priors calls f with every block of the equations that does not come from records: inverse covariances
// of random effects, groups and plant effects, and G⁻¹ times each term of the pedigree.
func (e *equations) priors(f func(i, j int32, s float64, x []float64)) error {
	t := e.t
	inverseOf := func(x []float64, what string) ([]float64, error) {
		inv, _, ok := invert(x, t)
		if !ok {
			return nil, fmt.Errorf("the %s covariance is not positive definite", what)
		}
		return inv, nil
	}
	node := int32(0)
	for _, effect := range e.rec.Effects {
		if effect.Var != nil {
			inv, err := inverseOf(effect.Var, "effect's")
			if err != nil {
				return err
			}
			for l := range int32(effect.Levels) {
				f(node+l, node+l, 1, inv)
			}
		}
		node += int32(effect.Levels)
	}
	g, err := inverseOf(e.par.Additive, "additive")
	if err != nil {
		return err
	}
	group := make([]float64, t*t) // for groups whose value is 0: log det 0, so that it does not change the likelihood
	for k := range t {
		group[k*t+k] = 1
	}
	if e.par.Group != nil {
		if group, err = inverseOf(e.par.Group, "groups'"); err != nil {
			return err
		}
	}
	for i := range int32(e.ped.Len()) {
		m, ok := e.mendel(i)
		if !ok {
			if at := i + int32(e.first); e.absorb == nil || !e.absorb.boundary[i] {
				f(at, at, 1, group)
			}
			continue
		}
		for a := range m.n {
			for b := range a + 1 {
				f(m.node[a], m.node[b], m.weight[a]*m.weight[b]/m.d, g)
			}
		}
	}
	if a := e.absorb; a != nil {
		for i, at := range a.nodes {
			for j, other := range a.nodes[:i+1] {
				f(at+int32(e.first), other+int32(e.first), a.m.At(i, j), g)
			}
		}
	}
	if e.par.Plant != nil {
		p, err := inverseOf(e.par.Plant, "plants'")
		if err != nil {
			return err
		}
		for _, at := range e.member {
			if at >= 0 {
				f(at, at, 1, p)
			}
		}
	}
	return nil
}

// rhs returns the right-hand side.
func (e *equations) rhs() []float64 {
	t := e.t
	b, y, wy := make([]float64, e.nodes*t), make([]float64, t), make([]float64, t)
	for i, of := range e.of {
		for k := range t {
			y[k] = e.rec.Y[i*t+k]
			if math.IsNaN(y[k]) {
				y[k] = 0 // with a weight of 0
			}
		}
		clear(wy)
		addApply(wy, 1, e.weight[i], y, t)
		for _, at := range of {
			addTo(b[int(at)*t:int(at)*t+t], 1, wy)
		}
	}
	return b
}

// graph returns the graph of the equations; effects' levels and groups neighbour nearly all nodes.
func (e *equations) graph() *graph {
	g := newGraph(e.nodes)
	for i := range e.first + e.ped.groups {
		g.last[i] = true
	}
	for _, of := range e.of {
		for a := range of {
			for b := range a {
				g.join(of[a], of[b])
			}
		}
	}
	for i := range int32(e.ped.Len()) {
		if m, ok := e.mendel(i); ok {
			for a := range m.n {
				for b := range a {
					g.join(m.node[a], m.node[b])
				}
			}
		}
	}
	if e.absorb != nil {
		for i, at := range e.absorb.nodes {
			for _, other := range e.absorb.nodes[:i] {
				g.join(at+int32(e.first), other+int32(e.first))
			}
		}
	}
	return g
}

// factor returns the equations' matrix, factored.
func (e *equations) factor(p *plan) (*factor, error) {
	f := newFactor(p, e.t)
	if err := e.priors(f.add); err != nil {
		return nil, err
	}
	for i, of := range e.of {
		for a := range of {
			for b := range a + 1 {
				f.add(of[a], of[b], 1, e.weight[i])
			}
		}
	}
	return f, f.factorize()
}
