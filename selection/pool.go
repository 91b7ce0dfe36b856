package selection

import (
	"gonum.org/v1/gonum/stat/distuv"

	"hueward/colorimg/cie"
	"hueward/selection/drift"
	"hueward/selection/sample"
	"hueward/selection/space"
)

// priorSD is the standard deviation between photos of one plant in L*, a* and b*. A guess, used as
// a prior, which the plants' own scatter outweighs as photos come in.
var priorSD = space.Vector{1.5, 1.2, 1.5}

const (
	priorPhotos = 4.0  // degrees of freedom that priorSD counts for; a guess
	flaggedK    = 4.0  // variance of a flagged photo over that of a sound one, so twice the scatter; a guess
	noCardK     = 16.0 // the same for a photo without a card: four times the scatter; a guess
)

// photo is one observation inside its plant.
type photo struct {
	Observation
	y    space.Vector
	s    space.Vector // squared within-photo standard errors
	k    float64      // factor on the variance between photos
	odd  bool         // disagrees with the plant's other photos
	away float64      // its distance from their middle, Delta E 2000
}

// group is one plant's photos, in an order that does not depend on the input's.
type group struct {
	id      string
	photos  []photo
	flagged int
	refused int
	reason  string // why one was refused

	mean  space.Vector
	cov   space.Matrix // of the error of mean
	apart float64      // largest Delta E between two photos, where they disagree more than chance explains; else 0
}

// variance returns the covariance of photo p around its plant's true colour, where w is that between photos.
func (p *photo) variance(w space.Matrix) space.Matrix {
	return space.Add(space.Scale(p.k, w), space.Diag(p.s))
}

// pool estimates the covariance w between photos of one plant, marks the photos that disagree with their plant's
// others, and fills in each plant's mean and covariance. df are the degrees of freedom of w, without those of the prior.
func pool(groups []*group) (w space.Matrix, df float64) {
	downweight(groups, startVariance(groups))
	w, df = momentEstimate(groups)
	for _, g := range groups {
		g.average(w)
	}
	return w, df
}

// momentEstimate returns the method-of-moments estimate of the covariance between photos, with weights 1/k, negative
// eigenvalues set to 0, and the prior added as priorPhotos further degrees of freedom. With those weights
//
//	E Σ (y-ȳ)(y-ȳ)'/k = (n-1) W + Σ (1/k)(1 - (1/k)/Σ(1/k)) S
//
// for each plant, so nothing needs iterating.
//
// Source: DerSimonian and Laird 1986, Control. Clin. Trials 7:177, in the general form of DerSimonian and Kacker 2007,
// Contemp. Clin. Trials 28:105, with fixed weights, and matrices for variances.
func momentEstimate(groups []*group) (w space.Matrix, df float64) {
	var q, within space.Matrix
	for _, g := range groups {
		if len(g.photos) < 2 {
			continue
		}
		var m space.Vector
		total := 0.0
		for _, p := range g.photos {
			total += 1 / p.k
			for i := range 3 {
				m[i] += p.y[i] / p.k
			}
		}
		m = space.Times(1/total, m)
		for _, p := range g.photos {
			q = space.Add(q, space.Scale(1/p.k, space.Outer(space.Minus(p.y, m))))
			within = space.Add(within, space.Scale(1/p.k*(1-1/p.k/total), space.Diag(p.s)))
		}
		df += float64(len(g.photos) - 1)
	}
	w = space.Semidefinite(space.Sub(q, within))
	prior := space.Diag(space.Vector{priorSD[0] * priorSD[0], priorSD[1] * priorSD[1], priorSD[2] * priorSD[2]})
	return space.Scale(1/(priorPhotos+df), space.Add(w, space.Scale(priorPhotos, prior))), df
}

// startVariance returns a first, robust variance of one sound photo around its plant, for each of L*, a*, b*: that of the
// median plant, with the prior added. A single bad photo of a plant with three or more does not change it much.
func startVariance(groups []*group) space.Vector {
	var out space.Vector
	for i := range 3 {
		var scales []float64
		df := 0.0
		for _, g := range groups {
			if n := len(g.photos); n > 1 {
				y, k := make([]float64, n), make([]float64, n)
				for j, p := range g.photos {
					y[j], k[j] = p.y[i], p.k
				}
				scales = append(scales, sample.PairScale(y, k))
				df += float64(n - 1)
			}
		}
		out[i] = priorSD[i] * priorSD[i]
		if df > 0 {
			m := drift.Middle(scales)
			out[i] = (priorPhotos*out[i] + df*m*m) / (priorPhotos + df)
		}
	}
	return out
}

// downweight marks as odd each photo that lies beyond the 99.9 % point from the middle of a plant with three photos or
// more, and raises its k in proportion, as Huber's estimator does.
//
// Source: Huber 1964, Ann. Math. Statist. 35:73; the middle is the median of each of L*, a*, b*.
func downweight(groups []*group, start space.Vector) {
	limit := distuv.ChiSquared{K: 3}.Quantile(0.999)
	for _, g := range groups {
		if len(g.photos) < 3 {
			continue
		}
		var mid space.Vector
		for i := range 3 {
			v := make([]float64, len(g.photos))
			for j, p := range g.photos {
				v[j] = p.y[i]
			}
			mid[i] = drift.Middle(v)
		}
		for j := range g.photos {
			p := &g.photos[j]
			d2 := 0.0
			for i := range 3 {
				d := p.y[i] - mid[i]
				// start includes an ordinary photo's own error.
				d2 += d * d / (start[i] * p.k)
			}
			if d2 > limit {
				p.k *= d2 / limit
				p.odd, p.away = true, cie.DeltaE2000(p.Lab, space.Lab(mid))
			}
		}
	}
}

// average fills in the weighted mean and its covariance. Where the photos scatter beyond the 99 % point of what w
// allows, the covariance is scaled up by the excess (the squared Birge ratio: Birge 1932, Phys. Rev. 40:207).
func (g *group) average(w space.Matrix) {
	if len(g.photos) == 1 {
		g.mean, g.cov = g.photos[0].y, g.photos[0].variance(w)
		return
	}
	var total space.Matrix
	var sum space.Vector
	for i := range g.photos {
		inv := space.Inverse(g.photos[i].variance(w))
		total = space.Add(total, inv)
		sum = space.Plus(sum, space.Apply(inv, g.photos[i].y))
	}
	g.cov = space.Inverse(total)
	g.mean = space.Apply(g.cov, sum)
	q := 0.0
	for i := range g.photos {
		r := space.Minus(g.photos[i].y, g.mean)
		q += space.Dot(r, space.Apply(space.Inverse(g.photos[i].variance(w)), r))
	}
	df := float64(3 * (len(g.photos) - 1))
	if q > (distuv.ChiSquared{K: df}).Quantile(0.99) {
		g.cov = space.Scale(q/df, g.cov)
		for i := range g.photos {
			for j := range i {
				g.apart = max(g.apart, cie.DeltaE2000(g.photos[i].Lab, g.photos[j].Lab))
			}
		}
	}
}
