package selection

import (
	"math"

	"hueward/colorimg/cie"
	"hueward/selection/classes"
	"hueward/selection/draws"
	"hueward/selection/space"
)

// Offspring is the predicted distribution of the breeding values of one pair's offspring.
// What bed, weather and camera add to one flower is not part of it.
type Offspring struct {
	Mean cie.Lab
	// Between is the covariance of the error of Mean, which all offspring share; Within is
	// the covariance of the offspring around their true mean.
	Between, Within [3][3]float64
	// Axes are the columns of a root of Within: Within = Axes·Axesᵀ. ScaleCV is the coefficient of variation of the
	// estimated variance along each axis. Zero Axes: the Cholesky root of Within.
	Axes    [3][3]float64
	ScaleCV [3]float64
	// Kinds are the colour classes that strong genes part the offspring into; their variance is
	// not part of Within. nil: no strong genes were found.
	Kinds []OffspringKind
	genes *kinds
	base  space.Vector // Mean without strong genes
	// other is the distribution under the second likeliest model of strong genes, of chance otherShare; nil: none.
	other      *Offspring
	otherShare float64
}

// withGenes adds the effects of strong genes to offspring whose Mean is without them.
func (o *Offspring) withGenes(k *kinds) {
	o.genes, o.base = k, space.Of(o.Mean)
	mean := k.mean(k.share)
	o.Mean = space.Lab(space.Plus(o.base, mean))
	for i, p := range k.share {
		if p > 1e-3 {
			o.Kinds = append(o.Kinds, OffspringKind{p, space.Minus(k.effects[i], mean)})
		}
	}
}

// Whole returns the covariance of one offspring around Mean, the error of Mean included.
func (o Offspring) Whole() [3][3]float64 {
	m := space.Add(o.Between, o.Within)
	for _, k := range o.Kinds {
		m = space.Add(m, space.Scale(k.Share, space.Outer(k.Shift)))
	}
	return m
}

// Predicted sums up what a pair's offspring are expected to be.
type Predicted struct {
	ChanceWithin float64 // chance that one offspring is within the target's tolerance, 0 to 1
	Distance     float64 // expected Delta E 2000 of one offspring to the target
	// Best is the expected Delta E 2000 of the nearest of N offspring.
	Best float64
	N    int
	// GrowFor95 is how many seeds to sow for a chance of 95 % that at least Wanted offspring within the tolerance come
	// up; 0: more than [classes.MostSeeds], or no number is enough because the parents are too uncertain.
	GrowFor95 int
	Wanted    int
	// NextWithin is the chance that one of the grandchildren is within the tolerance, when the offspring mate at random
	// with each other: what is hidden in the offspring shows there. NaN: no strong genes.
	NextWithin float64
}

// PredictOptions says what to predict of a pair. The zero value, like nil, is the usual case.
type PredictOptions struct {
	N           int     // number of offspring whose nearest one Best is; 0: 10
	Wanted      int     // number of offspring within the tolerance that GrowFor95 is for; 0: 1
	Germination float64 // share of seeds that make a plant; 0: all
}

// Predict works out what offspring are expected to be, over their whole distribution. Errors that all offspring share
// (of the parents' values and of the additive variance) are kept apart from differences between the offspring, so that
// more seeds do not make up for a parent whose value is mistaken.
//
// Source: the distribution is the infinitesimal model's: Fisher 1918; Bulmer 1980,
// The Mathematical Theory of Quantitative Genetics. The chance is integrated over
// fixed points; TestPredictSampled compares it with plain sampling.
func (o Offspring) Predict(t Target, opt *PredictOptions) Predicted {
	out, chances := o.predict(t, opt)
	var weights []float64
	if o.other != nil {
		q, more := o.other.predict(t, opt)
		w := o.otherShare
		mix := func(x *float64, y float64) { *x += w * (y - *x) }
		if math.IsNaN(q.NextWithin) {
			q.NextWithin = q.ChanceWithin
		}
		mix(&out.ChanceWithin, q.ChanceWithin)
		mix(&out.Distance, q.Distance)
		mix(&out.Best, q.Best)
		mix(&out.NextWithin, q.NextWithin)
		for range chances {
			weights = append(weights, 1-w)
		}
		for range more {
			weights = append(weights, w)
		}
		chances = append(chances, more...)
	}
	g := 1.0
	if opt != nil && opt.Germination > 0 && opt.Germination < 1 {
		g = opt.Germination
	}
	out.GrowFor95 = classes.SeedsFor(chances, weights, g, out.Wanted, 0.95)
	return out
}

// predict is [Offspring.Predict] under one model of strong genes, without GrowFor95. It also returns the chance that an offspring is
// within the tolerance at each outer point: each case of the errors that all offspring share.
func (o *Offspring) predict(t Target, opt *PredictOptions) (Predicted, []float64) {
	if opt == nil {
		opt = &PredictOptions{}
	}
	if t.Within == 0 {
		t.Within = DefaultWithin
	}
	out := Predicted{N: opt.N, Wanted: opt.Wanted}
	if out.N <= 0 {
		out.N = 10
	}
	if out.Wanted <= 0 {
		out.Wanted = 1
	}
	grid := draws.Grid()
	shared, own := space.Root(space.Semidefinite(o.Between)), space.Matrix(o.Axes)
	if own == (space.Matrix{}) {
		own = space.Root(space.Semidefinite(o.Within))
	}
	chances := make([]float64, draws.OuterPoints)
	out.NextWithin = math.NaN()
	if o.genes != nil {
		out.NextWithin = 0
	}
	var width space.Vector
	for k, cv := range o.ScaleCV {
		width[k] = math.Sqrt(math.Log1p(cv * cv))
	}
	var near []draws.Weighed // the offspring at one outer point, each with its share
	var at [draws.InnerPoints]cie.Lab
	var away [draws.InnerPoints]float64
	weights, distance := draws.WeightsOf(out.N), cie.NearnessTo(t.Lab)
	for j, z := range grid.Outer {
		e := space.Apply(shared, space.Vector{z[0], z[1], z[2]})
		var l space.Matrix
		for k, w := range width { // the variance along each axis is scaled by a log-normal factor of median 1
			size := math.Exp(w * z[3+k] / 2)
			for i := range l {
				l[i][k] = size * own[i][k]
			}
		}
		if o.genes == nil { // the usual case by itself, which is several times faster
			m := space.Plus(space.Of(o.Mean), e)
			for i := range grid.Inner {
				z := &grid.Inner[i]
				at[i] = cie.Lab{L: m[0] + l[0][0]*z[0] + l[0][1]*z[1] + l[0][2]*z[2],
					A: m[1] + l[1][0]*z[0] + l[1][1]*z[1] + l[1][2]*z[2], B: m[2] + l[2][0]*z[0] + l[2][1]*z[1] + l[2][2]*z[2]}
			}
			distance.Of(away[:], at[:])
			draws.Sort(&away)
			sum, best, within := 0.0, 0.0, 0
			for i, d := range away {
				sum += d
				best += weights[i] * d
				if d <= t.Within {
					within++
				}
			}
			out.Distance += sum / (draws.InnerPoints * draws.OuterPoints)
			out.Best += best / draws.OuterPoints
			chances[j] = float64(within) / draws.InnerPoints
			out.ChanceWithin = min(out.ChanceWithin+chances[j]/draws.OuterPoints, 1) // sums of shares round
			continue
		}
		near = o.sample(near[:0], j, e, l, distance)
		for _, d := range near {
			out.Distance += d.Share * d.Away / draws.OuterPoints
			if d.Away <= t.Within {
				chances[j] = min(chances[j]+d.Share, 1)
				out.NextWithin = min(out.NextWithin+d.Next/draws.OuterPoints, 1)
			}
		}
		out.Best += draws.NearestOf(near, out.N) / draws.OuterPoints
		out.ChanceWithin = min(out.ChanceWithin+chances[j]/draws.OuterPoints, 1) // sums of shares round
	}
	return out, chances
}

// sample appends the offspring at outer point j where there are strong genes: for each kind, those at half the inner points.
func (o *Offspring) sample(near []draws.Weighed, j int, shared space.Vector, own space.Matrix, distance *cie.Nearness) []draws.Weighed {
	// Each case of the parents' genotypes gets its share of the outer points, by the golden ratio sequence.
	_, u := math.Modf(0.5 + float64(j+1)*(math.Sqrt(5)-1)/2)
	c := 0
	for c < len(o.genes.cases)-1 && u >= o.genes.cases[c].chance {
		u -= o.genes.cases[c].chance
		c++
	}
	share := o.genes.cases[c].share
	grid := draws.Grid()
	for k, e := range o.genes.effects {
		next := o.genes.next[k]
		if share[k] < 1e-6 && next < 1e-6 {
			continue
		}
		m := space.Plus(space.Plus(space.Plus(o.base, e), shared), o.genes.cases[c].shift)
		for d, move := range o.genes.moves {
			m = space.Plus(m, space.Times(grid.More[j][d], move[k]))
		}
		const some = draws.InnerPoints / 2
		var at [some]cie.Lab
		var away [some]float64
		for i := range some {
			z := &grid.Inner[(i+j%2*some)%draws.InnerPoints]
			at[i] = cie.Lab{L: m[0] + (own[0][0]*z[0] + own[0][1]*z[1] + own[0][2]*z[2]),
				A: m[1] + (own[1][0]*z[0] + own[1][1]*z[1] + own[1][2]*z[2]), B: m[2] + (own[2][0]*z[0] + own[2][1]*z[1] + own[2][2]*z[2])}
		}
		distance.Of(away[:], at[:])
		for _, d := range away {
			near = append(near, draws.Weighed{Away: d, Share: share[k] / some, Next: next / some})
		}
	}
	return near
}

// distance returns the expected Delta E 2000 of one offspring to the target, roughly: as
// the mean at the points z, of Between and Within together.
func (o *Offspring) distance(near *cie.Nearness, z []space.Vector) float64 {
	l := space.Root(space.Add(o.Between, o.Within))
	var room [64]cie.Lab // as many as there are of [draws.Few]
	var far [64]float64
	at, away := room[:len(z)], far[:len(z)]
	from := func(m space.Vector) float64 {
		for i, z := range z {
			at[i] = space.Lab(space.Plus(m, space.Apply(l, z)))
		}
		near.Of(away, at)
		sum := 0.0
		for _, d := range away {
			sum += d
		}
		return sum / float64(len(z))
	}
	if o.genes == nil {
		return from(space.Of(o.Mean))
	}
	of := make([]float64, len(o.genes.effects))
	for k, e := range o.genes.effects {
		if o.genes.share[k] > 1e-6 || o.genes.next[k] > 1e-6 {
			of[k] = from(space.Plus(o.base, e))
		}
	}
	return o.genes.merit(of)
}
