package classes

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// along returns the colours' positions on their first principal axis, in standard deviations: classes that
// lie apart stretch the scatter along that axis.
func along(x [][3]float64) []float64 {
	n := float64(len(x))
	var m [3]float64
	for _, c := range x {
		for a := range m {
			m[a] += c[a] / n
		}
	}
	s := mat.NewSymDense(3, nil)
	for _, c := range x {
		for a := range 3 {
			for b := a; b < 3; b++ {
				s.SetSym(a, b, s.At(a, b)+(c[a]-m[a])*(c[b]-m[b])/n)
			}
		}
	}
	out := make([]float64, len(x))
	var e mat.EigenSym
	if !e.Factorize(s, true) {
		return out
	}
	var v mat.Dense
	e.VectorsTo(&v)
	sd := math.Sqrt(e.Values(nil)[2] + floorSD*floorSD)
	for i, c := range x {
		for a := range 3 {
			out[i] += (c[a] - m[a]) * v.At(a, 2) / sd
		}
	}
	return out
}

// parted compares two normal classes of one variance with a single class, for numbers z of mean 0 and
// a variance of about 1. It returns the rise of twice the log likelihood, and each number's chance of belonging to the
// upper class. It starts from about a dozen places to part them, with at least two numbers on either side.
//
// Source: expectation maximisation, Dempster, Laird, Rubin 1977.
func parted(z []float64) (rise float64, upper []float64) {
	n := len(z)
	order := slices.Clone(z)
	slices.Sort(order)
	v0 := 0.0
	for _, x := range z {
		v0 += x * x / float64(n)
	}
	floor := 0.05 * v0
	one := -0.5 * float64(n) * (math.Log(v0+1e-12) + 1)
	rise = 0
	upper = make([]float64, n)
	p := make([]float64, n)
	for step, cut := max(1, n/12), max(2, n/20); cut <= n-2; cut += step {
		at := (order[cut-1] + order[cut]) / 2
		for i, x := range z {
			p[i] = 0
			if x > at {
				p[i] = 1
			}
		}
		was, log := math.Inf(-1), 0.0
		for range 200 {
			var w, m [2]float64
			for i, x := range z {
				w[1] += p[i]
				m[1] += p[i] * x
				m[0] += (1 - p[i]) * x
			}
			w[0] = float64(n) - w[1]
			if w[0] < 1 || w[1] < 1 {
				log = math.Inf(-1)
				break
			}
			m[0], m[1] = m[0]/w[0], m[1]/w[1]
			v := 0.0
			for i, x := range z {
				v += (p[i]*(x-m[1])*(x-m[1]) + (1-p[i])*(x-m[0])*(x-m[0])) / float64(n)
			}
			v = max(v, floor)
			log = 0
			for i, x := range z {
				a := math.Log(w[0]/float64(n)) - (x-m[0])*(x-m[0])/(2*v)
				b := math.Log(w[1]/float64(n)) - (x-m[1])*(x-m[1])/(2*v)
				top := max(a, b)
				sum := math.Exp(a-top) + math.Exp(b-top)
				p[i] = math.Exp(b-top) / sum
				log += top + math.Log(sum) - 0.5*math.Log(v)
			}
			if log-was < 1e-6 {
				break
			}
			was = log
		}
		if r := 2 * (log - one); r > rise {
			rise = r
			copy(upper, p)
		}
	}
	return rise, upper
}
