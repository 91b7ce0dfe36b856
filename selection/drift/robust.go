package drift

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"hueward/selection/draws"
	"hueward/selection/genetics"
	"hueward/selection/space"
)

// Reading is the colour of one plant and the covariance of its error.
type Reading struct {
	Color [3]float64
	Cov   [3][3]float64 // of the error
}

// leastScatter is a variance too small to be seen, added to covariances so that they are not singular.
const leastScatter = 0.01

// spreading is a robust mean and covariance of readings.
type spreading struct {
	in    []bool        // the reading is not far out
	of    float64       // number of readings precise enough to count
	n     float64       // number of these that are in
	mid   [3]float64    // their mean
	cov   [3][3]float64 // their covariance, with the error of an ordinary reading
	usual [3][3]float64 // the mean of their error covariances
}

// distance returns the squared Mahalanobis distance of a reading, whose error beyond the usual one widens the spread.
func (s *spreading) distance(r *Reading) float64 {
	return distanceFrom(s.mid, s.covOf(r), r.Color)
}

// covOf returns the covariance of a reading with its own error.
func (s *spreading) covOf(r *Reading) [3][3]float64 {
	return space.Add(s.cov, space.Semidefinite(space.Add(r.Cov, space.Scale(-1, s.usual))))
}

// distanceFrom returns the squared Mahalanobis distance of x from mid; 0 where cov is singular.
func distanceFrom(mid [3]float64, cov [3][3]float64, x [3]float64) float64 {
	inv, ok := inverted(cov)
	if !ok {
		return 0
	}
	return max(space.Quadratic(inv, space.Minus(x, mid)), 0)
}

const (
	inner = 0.75  // share of readings in the first estimate, so that up to a quarter may be outliers
	seen  = 0.997 // share of normal readings that the reweighting includes
	most  = 500   // largest number of readings that the search uses
)

// spreadOf returns the robust mean and covariance of readings: from the three quarters that lie
// closest together, then reweighted by all readings that are not far from these. Readings whose error variance is more
// than twice the median one do not count. ok is false where fewer than 5 count.
//
// Source: the minimum covariance determinant, reweighted: Rousseeuw and Van Driessen 1999, Technometrics 41:212;
// consistency factors: Croux and Haesbroeck 1999, J. Multivar. Anal. 71:161.
func spreadOf(readings []Reading) (s spreading, ok bool) {
	s.in = make([]bool, len(readings))
	var error []float64
	for i := range readings {
		error = append(error, space.Trace(readings[i].Cov))
	}
	limit := 2*Middle(error) + 1e-9
	var sure []int
	for i, e := range error {
		if e <= limit {
			sure = append(sure, i)
		}
	}
	if len(sure) < 5 {
		return s, false
	}
	s.of = float64(len(sure))
	some := sure
	if len(some) > most {
		some = make([]int, most)
		for k := range some {
			some[k] = sure[k*len(sure)/most]
		}
	}
	x := make([][3]float64, len(some))
	for k, i := range some {
		x[k] = readings[i].Color
	}
	s.mid, s.cov = closest(x)
	cut := distuv.ChiSquared{K: 3}.Quantile(seen)
	for range 10 {
		next := make([]bool, len(readings))
		var in [][3]float64
		s.usual = [3][3]float64{}
		inv, _ := inverted(s.cov)
		for _, i := range sure {
			if space.Quadratic(inv, space.Minus(readings[i].Color, s.mid)) <= cut {
				next[i] = true
				in = append(in, readings[i].Color)
				s.usual = space.Add(s.usual, readings[i].Cov)
			}
		}
		if len(in) < 5 {
			return s, false
		}
		same := slices.Equal(next, s.in)
		s.in, s.n = next, float64(len(in))
		s.usual = space.Scale(1/s.n, s.usual)
		if same {
			break
		}
		s.mid, s.cov = meanAndCov(in)
		s.cov = space.Scale(consistency(seen), s.cov)
		for i := range 3 {
			s.cov[i][i] += leastScatter
		}
	}
	return s, true
}

// consistency returns the factor that makes the covariance of the inner share of normal readings in three traits consistent.
func consistency(share float64) float64 {
	return share / distuv.ChiSquared{K: 5}.CDF(distuv.ChiSquared{K: 3}.Quantile(share))
}

// closest returns the mean and the covariance, made consistent, of the inner part of x whose covariance has the smallest
// determinant. The search starts from the medians and from 60 random draws of four.
func closest(x [][3]float64) (mid [3]float64, cov [3][3]float64) {
	n := len(x)
	h := max(int(math.Ceil(inner*float64(n))), min(n, 5))
	rnd := rand.New(rand.NewPCG(uint64(n), 3))
	type try struct {
		mid [3]float64
		cov [3][3]float64
		det float64
	}
	step := func(t try) try { // a concentration step
		d, in := make([]float64, n), make([][3]float64, 0, h)
		inv, ok := inverted(t.cov)
		if !ok {
			return try{det: math.Inf(1)}
		}
		for i := range x {
			d[i] = space.Quadratic(inv, space.Minus(x[i], t.mid))
		}
		cut := draws.Smallest(slices.Clone(d), h)
		for i := range x {
			if d[i] < cut {
				in = append(in, x[i])
			}
		}
		for i := range x { // ties on the cut, in order
			if d[i] == cut && len(in) < h {
				in = append(in, x[i])
			}
		}
		var next try
		next.mid, next.cov = meanAndCov(in)
		for i := range 3 {
			next.cov[i][i] += leastScatter
		}
		next.det, _ = space.Determinant(next.cov)
		return next
	}
	var start try
	for i := range 3 {
		var v, away []float64
		for _, c := range x {
			v = append(v, c[i])
		}
		start.mid[i] = Middle(v)
		for _, c := range v {
			away = append(away, math.Abs(c-start.mid[i]))
		}
		s := max(1.4826*Middle(away), 0.1)
		start.cov[i][i] = s * s
	}
	tries := []try{start}
	for range 60 {
		var four [][3]float64
		for range 4 {
			four = append(four, x[rnd.IntN(n)])
		}
		var t try
		t.mid, t.cov = meanAndCov(four)
		for i := range 3 {
			t.cov[i][i] += leastScatter
		}
		tries = append(tries, t)
	}
	genetics.SideBySide(len(tries), func(i int) { tries[i] = step(step(tries[i])) })
	slices.SortStableFunc(tries, func(a, b try) int { return cmp.Compare(a.det, b.det) })
	best := tries[0]
	for k, t := range tries[:min(5, len(tries))] {
		for range 30 {
			next := step(t)
			if !(next.det < t.det*(1-1e-12)) {
				break
			}
			t = next
		}
		if k == 0 || t.det < best.det {
			best = t
		}
	}
	return best.mid, space.Scale(consistency(float64(h)/float64(n)*0.999), best.cov)
}

// meanAndCov returns the mean and the sample covariance of x.
func meanAndCov(x []space.Vector) (space.Vector, space.Matrix) {
	mean, squares := space.Mean(x)
	return mean, space.Scale(1/max(float64(len(x)-1), 1), squares)
}

// inverted returns the inverse of x; ok is false where x is not positive definite.
func inverted(x [3][3]float64) (inv [3][3]float64, ok bool) {
	if _, ok := space.Determinant(x); !ok {
		return inv, false
	}
	return space.Inverse(x), true
}

// Middle returns the median; for an even number of values, the mean of the two middle ones. It leaves v as it is.
func Middle(v []float64) float64 {
	v = slices.Clone(v)
	slices.Sort(v)
	return (v[(len(v)-1)/2] + v[len(v)/2]) / 2
}
