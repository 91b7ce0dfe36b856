package selection

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"hueward/colorimg/cie"
)

// OffType is a plant that does not look like its line.
type OffType struct {
	Plant     string
	Lab       cie.Lab
	DeltaE    float64 // from the line's middle
	Direction string  // from there, in words
	Distance  float64 // the same in the line's own spread: Mahalanobis distance
	Risk      float64 // the chance of a plant so far out among the line's own
}

// Chart is an EWMA chart of the season means of L*, a*, b*.
type Chart struct {
	Lambda    float64
	Seasons   []string
	Centre    cie.Lab // the target
	Values    []cie.Lab
	Low, High cie.Lab // limits
	Out       bool    // the last value is outside
}

// leastPlants is with how many plants off-types are looked for.
const leastPlants = 8

// hold looks for off-types in the last season, and for drift.
func (f *trending) hold() {
	r := f.r
	last := len(f.own) - 1
	if len(f.own[last]) >= leastPlants {
		r.OffTypes = offTypes(f.own[last])
	} else {
		r.Warnings = append(r.Warnings, "off-types are looked for among 8 plants and more: fewer do not show the line's own spread")
	}
	if last < 1 {
		return
	}
	c := &Chart{Lambda: 0.3, Seasons: f.names, Centre: r.Target.Lab}
	centre, low, high := vec(r.Target.Lab), v3{}, v3{}
	values := make([]v3, len(f.own))
	for i := range 3 {
		var x []float64
		variance := 0.0
		for s := range f.own {
			m, cov := f.corrected(s)
			x = append(x, m[i])
			variance += cov[i][i] / float64(len(f.own))
		}
		z, l, h := EWMA(x, centre[i], math.Sqrt(variance), c.Lambda)
		low[i], high[i] = l, h
		for s := range z {
			values[s][i] = z[s]
		}
		c.Out = c.Out || z[last] < l || z[last] > h
	}
	for _, v := range values {
		c.Values = append(c.Values, lab(v))
	}
	c.Low, c.High = lab(low), lab(high)
	r.EWMA = c
}

// EWMA is the exponentially weighted moving average of x, begun at centre, and its
// limits of three standard deviations in the long run; sd is that of one x.
//
// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4, whose example
// TestEWMA checks.
func EWMA(x []float64, centre, sd, lambda float64) (z []float64, low, high float64) {
	at := centre
	for _, v := range x {
		at = lambda*v + (1-lambda)*at
		z = append(z, at)
	}
	width := 3 * sd * math.Sqrt(lambda/(2-lambda))
	return z, centre - width, centre + width
}

// offTypes are the plants that lie outside the spread of the others, at a risk of 5 %
// that any plant of a line without off-types is named, farthest first.
//
// Source: Mahalanobis 1936; the middle and spread of the inner three quarters, by steps of
// concentration: Rousseeuw and Van Driessen 1999, Technometrics 41:212; each plant is
// then judged against the others that are not far out, by the F distribution of a new
// observation; Holm 1979, Scand. J. Statist. 6:65, for the many plants.
func offTypes(plants []Grown) []OffType {
	n := len(plants)
	in := make([]bool, n)
	for range 20 { // concentration
		m, cov, _ := spreadOf(plants, in)
		order := byDistance(plants, m, cov)
		next := make([]bool, n)
		for _, i := range order[:(3*n+3)/4] {
			next[i] = true
		}
		if slices.Equal(next, in) {
			break
		}
		in = next
	}
	// Let in again who is not far out, by the spread of those inside, until it settles.
	// The inner part is narrower than the whole, so that is done twice and more.
	for range 10 {
		next := make([]bool, n)
		for i := range plants {
			next[i] = riskOf(plants, in, i) > 0.01/float64(n)
		}
		if slices.Equal(next, in) {
			break
		}
		in = next
	}
	var out []OffType
	for i := range plants {
		risk := riskOf(plants, in, i)
		m, cov, _ := spreadOf(plants, without(in, i))
		d := minus(vec(plants[i].Lab), m)
		out = append(out, OffType{
			Plant: plants[i].Plant, Lab: plants[i].Lab, Risk: risk, Direction: Direction(plants[i].Lab, lab(m)),
			DeltaE: cie.DeltaE2000(plants[i].Lab, lab(m)), Distance: math.Sqrt(max(dot(d, apply(inverse(cov), d)), 0)),
		})
	}
	slices.SortStableFunc(out, func(a, b OffType) int { return cmp.Compare(a.Risk, b.Risk) })
	for k, o := range out {
		if o.Risk > movingRisk/float64(n-k) {
			return out[:k]
		}
	}
	return out
}

func without(in []bool, i int) []bool {
	out := slices.Clone(in)
	out[i] = false
	return out
}

// spreadOf is the middle and the covariance of the plants that are in, and how many
// they are; of none, the medians and a round spread.
func spreadOf(plants []Grown, in []bool) (m v3, cov m3, n int) {
	var some []Grown
	for i, p := range plants {
		if in[i] {
			some = append(some, p)
		}
	}
	if len(some) < 5 {
		for i := range 3 {
			var v []float64
			for _, p := range plants {
				v = append(v, vec(p.Lab)[i])
			}
			m[i] = median(v)
			for k := range v {
				v[k] = math.Abs(v[k] - m[i])
			}
			s := max(1.4826*median(v), 0.1)
			cov[i][i] = s * s
		}
		return m, cov, len(some)
	}
	m, ss := meanOf(some)
	cov = scale(1/float64(len(some)-1), ss)
	for i := range 3 {
		cov[i][i] += 0.01 // what cannot be seen is no difference
	}
	return m, cov, len(some)
}

func median(v []float64) float64 {
	v = slices.Clone(v)
	slices.Sort(v)
	return (v[(len(v)-1)/2] + v[len(v)/2]) / 2
}

func byDistance(plants []Grown, m v3, cov m3) []int {
	inv := inverse(cov)
	d, order := make([]float64, len(plants)), make([]int, len(plants))
	for i, p := range plants {
		x := minus(vec(p.Lab), m)
		d[i], order[i] = dot(x, apply(inv, x)), i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(d[a], d[b]) })
	return order
}

// riskOf is the chance of a plant as far out as i from the others that are in.
func riskOf(plants []Grown, in []bool, i int) float64 {
	m, cov, n := spreadOf(plants, without(in, i))
	const p = 3
	if n < p+2 {
		return 1
	}
	x := minus(vec(plants[i].Lab), m)
	d2 := dot(x, apply(inverse(cov), x))
	f := distuv.F{D1: p, D2: float64(n - p)}
	return f.Survival(d2 * float64(n) / float64(n+1) * float64(n-p) / float64(p*(n-1)))
}
