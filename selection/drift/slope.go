package drift

import (
	"hueward/selection/space"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Line is a line's mean colour in every season.
type Line struct {
	Time  []float64 // of each season
	Color [][3]float64
	N     []float64     // plants, above 0
	Cov   [3][3]float64 // between plants
	DF    float64       // that Cov rests on
}

// ToldBy says what tells a line's movement from weather.
type ToldBy string

const (
	ByNothing ToldBy = ""        // nothing does
	ByKin     ToldBy = "entries" // what was grown in several seasons beside it
	BySeasons ToldBy = "seasons" // how the seasons scatter around a straight course
)

// Slope is how a line moves.
type Slope struct {
	PerSeason [3]float64
	Cov       [3][3]float64 // of the error of PerSeason, weather included
	DF        float64       // that Cov rests on
	Risk      float64       // the chance of a slope as steep if the line stood; NaN: cannot be told
	By        ToldBy
}

// Slope fits a straight course to a line's seasons. Where entries join seasons over at least half of the time, it is
// judged beside them, whatever the weather; else by how the line's seasons scatter around it, which takes three seasons
// and is seldom sure before the sixth. With fewer the slope's error is that of the plants alone, and Risk is NaN.
//
// Source: Hotelling 1931, Ann. Math. Statist. 2:360, for the slope as one vector. Where line and entries part by more
// than samples do, that scatter must make the slope unlikely, too. By seasons alone, each of L*, a*, b* has the t test
// of a regression, and the risk is three times the smallest (Bonferroni).
func (w *Weather) Slope(l *Line) Slope {
	if s, ok := w.beside(l); ok {
		return s
	}
	return alone(l)
}

// beside is the slope by least squares with the weather free: w is taken out of Σ n (x - t b - w)² + w'Kw - 2 w'k.
func (w *Weather) beside(l *Line) (out Slope, ok bool) {
	n := w.seasons
	in := w.largest()
	if n < 2 || len(in) < 2 || 2*(span(l.Time, in)) < span(l.Time, nil) {
		return out, false
	}
	a := mat.NewSymDense(n, nil)
	a.CopySym(w.k)
	for s := range n {
		a.SetSym(s, s, a.At(s, s)+l.N[s])
	}
	var chol mat.Cholesky
	if !chol.Factorize(a) {
		return out, false
	}
	// solve is (N + K)⁻¹ v.
	solve := func(v []float64) []float64 {
		x := mat.NewVecDense(n, nil)
		if err := chol.SolveVecTo(x, mat.NewVecDense(n, v)); err != nil { // badly conditioned: still the best there is
			return x.RawVector().Data
		}
		return x.RawVector().Data
	}
	nt := make([]float64, n)
	mid := 0.0
	for s := range n {
		mid += l.Time[s] / float64(n)
	}
	for s := range n {
		nt[s] = l.N[s] * (l.Time[s] - mid)
	}
	at := solve(nt)
	// The line's means count by m = N t - N (N+K)⁻¹ N t.
	m := make([]float64, n)
	information, all := 0.0, 0.0
	for s := range n {
		m[s] = nt[s] - l.N[s]*at[s]
		information += m[s] * (l.Time[s] - mid)
		all += nt[s] * (l.Time[s] - mid)
	}
	if !(information > 1e-9*all) {
		return out, false
	}
	for i := range 3 {
		for s := range n {
			out.PerSeason[i] += (m[s]*l.Color[s][i] - at[s]*w.right[s][i]) / information
		}
	}
	out.By, out.DF = ByKin, l.DF
	out.Cov = space.Scale(1/information, l.Cov)
	inv, ok := inverted(l.Cov)
	if !ok {
		return out, false
	}
	t2 := information * space.Quadratic(inv, out.PerSeason)
	out.Risk = HotellingRisk(t2, l.DF)
	// How line and entries part from this course, over what samples do.
	rest, df := w.rest(l, out.PerSeason, mid, solve, inv)
	if df >= 1 && rest > 3*df {
		out.Risk = max(out.Risk, distuv.F{D1: 3, D2: 3 * df}.Survival(t2/3/(rest/(3*df))))
		out.Cov = space.Scale(rest/(3*df), out.Cov)
		out.DF = 3 * df
	}
	return out, true
}

// span is how much time some seasons cover; nil: all.
func span(time []float64, in []int) float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for s, t := range time {
		if in == nil || contains(in, s) {
			low, high = min(low, t), max(high, t)
		}
	}
	return high - low
}

func contains(in []int, s int) bool {
	for _, q := range in {
		if q == s {
			return true
		}
	}
	return false
}

// rest is the sum of squares of all means around the course, in units of the covariance
// between plants, and for each of three traits its degrees of freedom.
func (w *Weather) rest(l *Line, slope [3]float64, mid float64, solve func([]float64) []float64, inv [3][3]float64) (sum, df float64) {
	n := w.seasons
	shift := make([][3]float64, n)
	for i := range 3 {
		v := make([]float64, n)
		for s := range n {
			v[s] = l.N[s]*(l.Color[s][i]-slope[i]*(l.Time[s]-mid)) + w.right[s][i]
		}
		for s, x := range solve(v) {
			shift[s][i] = x
		}
	}
	for s := range n {
		var d [3]float64
		for i := range d {
			d[i] = l.Color[s][i] - slope[i]*(l.Time[s]-mid) - shift[s][i]
		}
		sum += l.N[s] * space.Quadratic(inv, d)
	}
	df = -1
	for _, e := range w.entries {
		var level [3]float64
		total := 0.0
		for c, s := range e.Season {
			total += e.N[c]
			for i := range level {
				level[i] += e.N[c] * (e.Color[c][i] - shift[s][i])
			}
		}
		for c, s := range e.Season {
			var d [3]float64
			for i := range d {
				d[i] = e.Color[c][i] - shift[s][i] - level[i]/total
			}
			sum += e.N[c] * space.Quadratic(inv, d)
		}
		df += float64(len(e.Season) - 1)
	}
	return sum, df
}

// alone is the slope by the line's own seasons.
func alone(l *Line) Slope {
	out := Slope{Risk: math.NaN()}
	n := len(l.Time)
	if n < 2 {
		return out
	}
	plants := 0.0 // 1/n of a typical season
	for s := range n {
		plants += 1 / l.N[s] / float64(n)
	}
	mid, sxx := 0.0, 0.0
	for _, t := range l.Time {
		mid += t / float64(n)
	}
	for _, t := range l.Time {
		sxx += (t - mid) * (t - mid)
	}
	if !(sxx > 0) {
		return out
	}
	rest := make([][3]float64, n)
	var mean [3]float64
	for s := range n {
		for i := range 3 {
			out.PerSeason[i] += (l.Time[s] - mid) * l.Color[s][i] / sxx
			mean[i] += l.Color[s][i] / float64(n)
		}
	}
	var v [3][3]float64
	for s := range n {
		for i := range 3 {
			rest[s][i] = l.Color[s][i] - mean[i] - out.PerSeason[i]*(l.Time[s]-mid)
		}
		for i := range 3 {
			for j := range 3 {
				v[i][j] += rest[s][i] * rest[s][j]
			}
		}
	}
	out.DF = float64(n - 2)
	if out.DF < 1 {
		out.Cov, out.DF = space.Scale(plants/sxx, l.Cov), l.DF
		return out
	}
	v = space.Scale(1/out.DF, v)
	for i := range 3 { // seasons never scatter less than samples do
		v[i][i] = max(v[i][i], plants*l.Cov[i][i])
	}
	out.By, out.Cov, out.Risk = BySeasons, space.Scale(1/sxx, v), 1
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: out.DF}
	for i := range 3 {
		if out.Cov[i][i] > 0 {
			out.Risk = min(out.Risk, 3*2*t.Survival(math.Abs(out.PerSeason[i])/math.Sqrt(out.Cov[i][i])))
		}
	}
	return out
}

// HotellingRisk is the chance of a T² as large as t2 by chance alone, for three traits
// and a covariance with df degrees of freedom; NaN with fewer than three.
func HotellingRisk(t2, df float64) float64 {
	const p = 3
	if df-p+1 < 1 {
		return math.NaN()
	}
	return distuv.F{D1: p, D2: df - p + 1}.Survival(t2 * (df - p + 1) / (p * df))
}
