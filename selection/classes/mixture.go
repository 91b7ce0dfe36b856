package classes

import (
	"cmp"
	"errors"
	"math"
	"math/rand/v2"
	"slices"

	"hueward/colorimg/cie"
	"hueward/selection/space"
)

// Class is a group of plants around one colour.
type Class struct {
	Mean    cie.Lab
	Cov     [3][3]float64
	Share   float64
	Members []int     // indices of the colours given
	Sure    []float64 // each member's chance of belonging to this class
}

// Classes are the colour classes of a family, the lightest first.
type Classes struct {
	Classes []Class
	// BIC is the Bayesian information criterion of 1, 2, … classes, lower is better; NaN where that many were not fitted.
	BIC []float64
	// Rise is how much higher twice the log likelihood is with these classes than with one; where one class
	// was found, with the best two. Chance is the approximate chance that plants of a single class
	// are parted into two as well as these. Both are 0 where two classes were not looked for.
	Rise, Chance float64
}

// ErrNoColors is returned where there is nothing to sort.
var ErrNoColors = errors.New("no plant has a colour")

const (
	mostClasses = 6
	// floorSD is the least standard deviation within a class in L*, a*, b*: smaller differences are
	// not seen, and the likelihood of a class of equal plants must not become infinite.
	floorSD = 1.0
	starts  = 8 // random starts of a fit
)

// Find sorts colours into classes: a mixture of normal distributions with one covariance for all.
// want is the number of classes; 0: Find chooses it. It then finds more than one class only if a single class would be
// parted as well in fewer than one of 20 families, and more than two only if the BIC agrees. It never parts equal
// colours, and looks for no more classes than there are plants divided by 4. ErrNoColors: there are no colours.
//
// Source: expectation maximisation, Dempster, Laird, Rubin 1977; number by BIC, Schwarz
// 1978, Ann. Statist. 6:461, as Fraley and Raftery 2002, JASA 97:611, use it.
func Find(colors []cie.Lab, want int) (*Classes, error) {
	n := len(colors)
	if n == 0 {
		return nil, ErrNoColors
	}
	x := make([][3]float64, n)
	distinct := map[[3]float64]bool{}
	for i, c := range colors {
		x[i] = [3]float64{c.L, c.A, c.B}
		for _, v := range x[i] {
			if !(math.Abs(v) <= 1000) {
				return nil, errors.New("a colour is not made of ordinary numbers")
			}
		}
		distinct[x[i]] = true
	}
	most := min(mostClasses, max(1, n/4), len(distinct))
	if want > 0 {
		most = min(want, len(distinct), mostClasses)
	}
	out := &Classes{}
	var best *mixture
	one := math.NaN() // log likelihood of one class
	for k := 1; k <= most; k++ {
		if want > 0 && k != most {
			out.BIC = append(out.BIC, math.NaN())
			continue
		}
		m := fit(x, k)
		if m == nil {
			out.BIC = append(out.BIC, math.NaN())
			continue
		}
		out.BIC = append(out.BIC, m.bic)
		switch {
		case best == nil || want > 0:
			best = m
		case k == 2:
			rise, upper := parted(along(x))
			if a := from(x, upper); a != nil && a.logLik > m.logLik-2 {
				m = a // prefer the classes along the principal axis, unless they fit worse
			}
			out.Rise, out.Chance = 2*(m.logLik-one), chanceOf(rise, n)
			if rise > riseAlong(n) || out.Rise > riseAnywhere {
				best = m
			}
		case m.bic < best.bic && 2*(m.logLik-best.logLik) > riseTo(len(best.mean), k):
			best = m
		}
		if k > 1 && want == 0 {
			out.Rise = max(out.Rise, 2*(best.logLik-one))
		}
		if k == 1 {
			one = m.logLik
		}
	}
	out.Classes = best.classes(x)
	return out, nil
}

// How much twice the log likelihood must rise before classes are parted: a single one along the principal axis of the
// colours (riseAlong) or in any direction (riseAnywhere), and two or more by one further class (riseMore). A single normal
// class is then parted in about one of 25 (along) and one of 100 (anywhere) families of 8 plants and more, in
// simulations of 3000 families of each size, with round and elongated scatter.
const (
	riseAnywhere = 18.0
	riseMore     = 14.0
)

// riseTo returns the rise that is needed from from classes to k.
func riseTo(from, k int) float64 {
	rise := riseMore * float64(k-from)
	if from == 1 {
		rise += riseAnywhere - riseMore
	}
	return rise
}

// riseAlong returns the rise that is needed along the principal axis for n plants; fitted to the simulations.
func riseAlong(n int) float64 { return 7.4 + 16/float64(n) }

// chanceOf returns the approximate chance that a single class of n plants rises as much along the principal axis, by the
// same simulations: 0.04 at riseAlong, and a tenth of that for each further 3.9.
func chanceOf(rise float64, n int) float64 {
	return min(1, 0.04*math.Pow(10, (riseAlong(n)-rise)/3.9))
}

// from fits a mixture of two classes, starting from each plant's chance of the upper one.
func from(x [][3]float64, upper []float64) *mixture {
	m := &mixture{share: make([]float64, 2), mean: make([][3]float64, 2), belong: make([][]float64, len(x))}
	for i, p := range upper {
		m.belong[i] = []float64{1 - p, p}
	}
	if !m.maximise(x) || !m.run(x) {
		return nil
	}
	m.bic = -2*m.logLik + 13*math.Log(float64(len(x))) // 13 parameters: see fit
	return m
}

// mixture is one fit.
type mixture struct {
	share  []float64
	mean   [][3]float64
	cov    [3][3]float64 // positive definite, thanks to floorSD
	belong [][]float64   // plants × classes: chance of belonging
	logLik float64
	bic    float64
}

// fit returns the best fit of k classes from several starts; nil when each start loses a class on the way.
func fit(x [][3]float64, k int) *mixture {
	rnd := rand.New(rand.NewPCG(uint64(k), 7))
	order := sorted(x)
	var best *mixture
	for s := range starts {
		if k == 1 && s > 0 {
			break
		}
		m := &mixture{share: make([]float64, k), mean: make([][3]float64, k)}
		m.start(x, order, rnd)
		if m.run(x) && (best == nil || m.logLik > best.logLik+1e-9) {
			best = m
		}
	}
	if best != nil {
		free := float64(k-1) + 3*float64(k) + 6 // parameters: shares, means and the covariance
		best.bic = -2*best.logLik + free*math.Log(float64(len(x)))
	}
	return best
}

// sorted returns the plants in an order that depends on their colours alone, so that their order in the input does not matter.
func sorted(x [][3]float64) []int {
	order := make([]int, len(x))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return slices.Compare(x[a][:], x[b][:]) })
	return order
}

// start chooses first means far from each other, by k-means++: Arthur and Vassilvitskii 2007, SODA, 1027.
func (m *mixture) start(x [][3]float64, order []int, rnd *rand.Rand) {
	m.mean[0] = x[order[rnd.IntN(len(order))]]
	d := make([]float64, len(x))
	for k := 1; k < len(m.mean); k++ {
		total := 0.0
		for _, i := range order {
			d[i] = math.Inf(1)
			for _, c := range m.mean[:k] {
				s := 0.0
				for a := range 3 {
					s += (x[i][a] - c[a]) * (x[i][a] - c[a])
				}
				d[i] = min(d[i], s)
			}
			total += d[i]
		}
		u := rnd.Float64() * total
		m.mean[k] = x[order[len(order)-1]]
		for _, i := range order {
			if u -= d[i]; u <= 0 {
				m.mean[k] = x[i]
				break
			}
		}
	}
	for k := range m.share {
		m.share[k] = 1 / float64(len(m.share))
	}
	m.cov = [3][3]float64{{9, 0, 0}, {0, 9, 0}, {0, 0, 9}}
	m.belong = make([][]float64, len(x))
	for i := range m.belong {
		m.belong[i] = make([]float64, len(m.mean))
	}
}

// run iterates expectation maximisation until the likelihood settles; false when a class dies out.
func (m *mixture) run(x [][3]float64) bool {
	was := math.Inf(-1)
	for range 500 {
		inv, logDet := space.InverseLog(m.cov)
		m.logLik = 0
		for i := range x {
			top := math.Inf(-1)
			for k := range m.mean {
				d2 := 0.0
				for a := range 3 {
					for b := range 3 {
						d2 += (x[i][a] - m.mean[k][a]) * inv[a][b] * (x[i][b] - m.mean[k][b])
					}
				}
				m.belong[i][k] = math.Log(m.share[k]) - 0.5*(d2+logDet+3*math.Log(2*math.Pi))
				top = max(top, m.belong[i][k])
			}
			sum := 0.0
			for k := range m.mean {
				m.belong[i][k] = math.Exp(m.belong[i][k] - top)
				sum += m.belong[i][k]
			}
			for k := range m.mean {
				m.belong[i][k] /= sum
			}
			m.logLik += top + math.Log(sum)
		}
		if !m.maximise(x) {
			return false
		}
		if m.logLik-was < 1e-7 {
			return true
		}
		was = m.logLik
	}
	return true
}

// maximise is the M step; false when a class has less than about one plant.
func (m *mixture) maximise(x [][3]float64) bool {
	n := float64(len(x))
	var cov [3][3]float64
	for k := range m.mean {
		w := 0.0
		var mean [3]float64
		for i := range x {
			w += m.belong[i][k]
			for a := range 3 {
				mean[a] += m.belong[i][k] * x[i][a]
			}
		}
		if w < 0.9 {
			return false
		}
		for a := range 3 {
			mean[a] /= w
		}
		m.mean[k], m.share[k] = mean, w/n
		for i := range x {
			for a := range 3 {
				for b := range 3 {
					cov[a][b] += m.belong[i][k] * (x[i][a] - mean[a]) * (x[i][b] - mean[b]) / n
				}
			}
		}
	}
	for a := range 3 {
		cov[a][a] += floorSD * floorSD
	}
	m.cov = cov
	return true
}

// classes assigns each plant to its likeliest class.
func (m *mixture) classes(x [][3]float64) []Class {
	out := make([]Class, len(m.mean))
	for k := range out {
		out[k] = Class{Mean: cie.Lab{L: m.mean[k][0], A: m.mean[k][1], B: m.mean[k][2]}, Share: m.share[k], Cov: m.cov}
	}
	for i := range x {
		best := 0
		for k, p := range m.belong[i] {
			if p > m.belong[i][best] {
				best = k
			}
		}
		out[best].Members = append(out[best].Members, i)
		out[best].Sure = append(out[best].Sure, m.belong[i][best])
	}
	out = slices.DeleteFunc(out, func(c Class) bool { return len(c.Members) == 0 })
	slices.SortStableFunc(out, func(a, b Class) int {
		return cmp.Or(cmp.Compare(b.Mean.L, a.Mean.L), cmp.Compare(a.Mean.A, b.Mean.A), cmp.Compare(a.Mean.B, b.Mean.B))
	})
	return out
}
