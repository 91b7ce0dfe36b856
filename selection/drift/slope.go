package drift

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"hueward/selection/space"
)

// Line is a line's mean colour in every season.
type Line struct {
	Time  []float64     // each season's time, in seasons
	Color [][3]float64  // each season's mean
	N     []float64     // each season's number of plants, above 0
	Cov   [3][3]float64 // covariance between plants
	DF    float64       // degrees of freedom of Cov
}

// ToldBy says how a line's movement was separated from weather.
type ToldBy string

const (
	ByNothing ToldBy = ""        // not at all
	ByKin     ToldBy = "entries" // by entries grown in several seasons beside it
	BySeasons ToldBy = "seasons" // by the scatter of the seasons around a straight line
)

// Slope is how fast a line moves.
type Slope struct {
	PerSeason [3]float64
	Cov       [3][3]float64 // of the error of PerSeason, weather included
	DF        float64       // degrees of freedom of Cov
	Risk      float64       // p-value: the chance of a slope as steep if the line does not move; NaN: cannot be told
	By        ToldBy
}

// Slope fits a straight line to the means of a line's seasons. Where entries connect seasons over at least half of the
// time, the slope is estimated relative to them, whatever the weather. Else it is tested against the scatter of the
// line's own seasons, which takes three seasons and is seldom significant before the sixth. With fewer seasons, its error
// is that of the plants alone, and Risk is NaN.
//
// Source: Hotelling 1931, Ann. Math. Statist. 2:360, for the slope as a vector. Where line and entries scatter more than
// sampling explains, the slope is tested against that scatter, too. By seasons alone, each of L*, a*, b* has the t test
// of a regression, and the risk is three times the smallest p-value (Bonferroni).
func (w *Weather) Slope(l *Line) Slope {
	if s, ok := w.beside(l); ok {
		return s
	}
	return alone(l)
}

// beside returns the slope relative to the entries, by least squares with weather w as a fixed effect: w is eliminated from
// Σ n (x - t b - w)² + w'Kw - 2 w'k.
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
	// solve returns (N + K)⁻¹ v.
	solve := func(v []float64) []float64 {
		x := mat.NewVecDense(n, nil)
		_ = chol.SolveVecTo(x, mat.NewVecDense(n, v)) // an error only says that the matrix is nearly singular
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
	// The line's means have the weights m = N t - N (N+K)⁻¹ N t.
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
	// The scatter of line and entries around this slope, where it exceeds that of samples.
	rest, df := w.rest(l, out.PerSeason, mid, solve, inv)
	if df >= 1 && rest > 3*df {
		out.Risk = max(out.Risk, distuv.F{D1: 3, D2: 3 * df}.Survival(t2/3/(rest/(3*df))))
		out.Cov = space.Scale(rest/(3*df), out.Cov)
		out.DF = 3 * df
	}
	return out, true
}

// span returns how much time some seasons cover; in nil: all seasons.
func span(time []float64, in []int) float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for s, t := range time {
		if in == nil || slices.Contains(in, s) {
			low, high = min(low, t), max(high, t)
		}
	}
	return high - low
}

// rest returns the sum of squares of all means around the slope, in units of the covariance
// between plants, and its degrees of freedom for each of the three traits.
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

// alone returns the slope by the line's own seasons.
func alone(l *Line) Slope {
	out := Slope{Risk: math.NaN()}
	n := len(l.Time)
	if n < 2 {
		return out
	}
	plants := 0.0 // mean of 1/N
	for s := range n {
		plants += 1 / l.N[s] / float64(n)
	}
	mid, sxx := 0.0, spread(l.Time)
	for _, t := range l.Time {
		mid += t / float64(n)
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
	for i := range 3 { // seasons cannot scatter less than sampling makes them
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

// HotellingRisk returns the p-value of Hotelling's T² = t2 for three traits
// and a covariance with df degrees of freedom; NaN where df is below 3.
func HotellingRisk(t2, df float64) float64 {
	const p = 3
	if df-p+1 < 1 {
		return math.NaN()
	}
	return distuv.F{D1: p, D2: df - p + 1}.Survival(t2 * (df - p + 1) / (p * df))
}
