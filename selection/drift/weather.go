package drift

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Means are the mean colours of one entry, such as a check variety, in some seasons.
// All three slices have the same length.
type Means struct {
	Season []int        // ascending
	Color  [][3]float64 // the mean in each of them
	N      []float64    // the number of plants behind each mean, above 0
}

// Weather is the effects of seasons on colours, as far as entries grown in several seasons tell them.
type Weather struct {
	seasons int
	entries []Means
	// With each entry's level eliminated, the entries' sum of squares is, but for a
	// constant, w'Kw - 2 w'k, where w are the season effects.
	k         *mat.SymDense // K, seasons × seasons, in numbers of plants
	right     [][3]float64  // k, for each season
	inverse   *mat.SymDense // the pseudo-inverse of K
	component []int         // seasons that entries connect have the same number
}

// NewWeather estimates the effects of a number of seasons from entries. An entry of a single season
// tells nothing; there may be no entries at all.
func NewWeather(seasons int, entries []Means) *Weather {
	w := &Weather{seasons: seasons, k: mat.NewSymDense(seasons, nil), right: make([][3]float64, seasons), component: make([]int, seasons)}
	for s := range w.component {
		w.component[s] = s
	}
	for _, e := range entries {
		if len(e.Season) < 2 {
			continue
		}
		w.entries = append(w.entries, e)
		total, level := 0.0, [3]float64{}
		for c, n := range e.N {
			total += n
			for i := range level {
				level[i] += n * e.Color[c][i]
			}
		}
		for c, s := range e.Season {
			w.join(s, e.Season[0])
			for i := range level {
				w.right[s][i] += e.N[c] * (e.Color[c][i] - level[i]/total)
			}
			for d, q := range e.Season[:c+1] {
				v := -e.N[c] * e.N[d] / total
				if c == d {
					v += e.N[c]
				}
				w.k.SetSym(s, q, w.k.At(s, q)+v)
			}
		}
	}
	w.inverse = pseudoInverse(w.k)
	return w
}

// join puts seasons s and q, and all connected to them, into one component.
func (w *Weather) join(s, q int) {
	from, to := w.component[s], w.component[q]
	for i, c := range w.component {
		if c == from {
			w.component[i] = to
		}
	}
}

// pseudoInverse returns the pseudo-inverse of a positive semidefinite matrix.
func pseudoInverse(k *mat.SymDense) *mat.SymDense {
	n := k.SymmetricDim()
	out := mat.NewSymDense(n, nil)
	var e mat.EigenSym
	if n == 0 || !e.Factorize(k, true) {
		return out
	}
	var q mat.Dense
	e.VectorsTo(&q)
	values := e.Values(nil)
	for v, l := range values {
		if l <= 1e-9*values[n-1] {
			continue
		}
		out.SymRankOne(out, 1/l, q.ColView(v))
	}
	return out
}

// Joined reports whether entries connect two seasons, so that the difference of their effects can be estimated.
func (w *Weather) Joined(s, q int) bool { return w.component[s] == w.component[q] }

// Shift returns the effect of season s less that of season q, and the variance of its error
// relative to the covariance between plants. ok is false where the seasons are not joined.
func (w *Weather) Shift(s, q int) (shift [3]float64, variance float64, ok bool) {
	if !w.Joined(s, q) {
		return shift, math.NaN(), false
	}
	for j := range w.seasons {
		d := w.inverse.At(s, j) - w.inverse.At(q, j)
		for i := range shift {
			shift[i] += d * w.right[j][i]
		}
	}
	return shift, w.inverse.At(s, s) + w.inverse.At(q, q) - 2*w.inverse.At(s, q), true
}

// largest returns the seasons of the component with the most seasons.
func (w *Weather) largest() []int {
	var best []int
	for c := range w.seasons {
		var in []int
		for s, d := range w.component {
			if d == c {
				in = append(in, s)
			}
		}
		if len(in) > len(best) {
			best = in
		}
	}
	return best
}

// Scatter returns the variance of the season effects in L*, a*, b* as entries show it, which
// includes the errors of the effects, and its degrees of freedom; 0 where no entry connects seasons.
func (w *Weather) Scatter() (variance [3]float64, df float64) {
	in := w.largest()
	n := float64(len(in))
	if n < 2 {
		return variance, 0
	}
	for i := range variance {
		sum, squares := 0.0, 0.0
		for _, s := range in {
			shift, _, _ := w.Shift(s, in[0])
			sum += shift[i]
			squares += shift[i] * shift[i]
		}
		variance[i] = (squares - sum*sum/n) / (n - 1)
	}
	return variance, n - 1
}
