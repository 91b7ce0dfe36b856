package drift

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Chart is an EWMA chart of a line's seasons around a target, as "trend --json" prints it.
type Chart struct {
	Lambda float64      `json:"lambda"`
	Values [][3]float64 `json:"values"`
	Low    [3]float64   `json:"low"` // limits of the last value
	High   [3]float64   `json:"high"`
	Out    bool         `json:"out"` // the last value is outside the limits
}

// outside is the risk that one of L*, a*, b* lies outside its limits by chance: that of three standard deviations. Of
// lines that do not move, at most 5 in 100 are ever called out over eight seasons.
const outside = 0.0027

// Chart returns an EWMA chart of a line's seasons around a target, corrected for the weather as far as entries tell it.
// Season effects are random around an ordinary season, for which the target holds. The limits include the error of the
// season effects; with ownSeason, also the effect of the season in which the target was measured. nil where there are no
// entries and fewer than three seasons, as the variance of season effects cannot be estimated.
//
// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4; season effects by best linear unbiased prediction,
// Henderson 1975, Biometrics 31:423. The limits add the squares of two parts, of weather and of plants, each with its own
// Student's t, so that they are not too narrow where the variance of few seasons is small by chance.
func (w *Weather) Chart(l *Line, target [3]float64, ownSeason bool) *Chart {
	const lambda = 0.3
	n := w.seasons
	scatter, df := w.Scatter()
	if df < 1 {
		s := alone(l)
		if s.By != BySeasons {
			return nil
		}
		sxx := spread(l.Time)
		df = s.DF
		for i := range 3 {
			scatter[i] = s.Cov[i][i] * sxx
		}
	}
	c := &Chart{Lambda: lambda, Values: make([][3]float64, n)}
	weight := make([]float64, n) // of each season in the last value
	rest := 1.0
	for s := n - 1; s >= 0; s-- {
		weight[s] = lambda * rest
		rest *= 1 - lambda
	}
	for i := range 3 {
		v := max(scatter[i], 1e-6)
		plants := l.Cov[i][i]
		// The season effects' error covariance is (K/plants + I/v)⁻¹.
		info := mat.NewSymDense(n, nil)
		info.ScaleSym(1/plants, w.k)
		right := mat.NewVecDense(n, nil)
		for s := range n {
			info.SetSym(s, s, info.At(s, s)+1/v)
			right.SetVec(s, w.right[s][i]/plants)
		}
		var chol mat.Cholesky
		shift, of := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
		if !chol.Factorize(info) || chol.SolveVecTo(shift, right) != nil || chol.SolveVecTo(of, mat.NewVecDense(n, weight)) != nil {
			return nil
		}
		x := make([]float64, n)
		byWeather, byPlants := 0.0, 0.0
		for s := range n {
			x[s] = l.Color[s][i] - shift.AtVec(s)
			byWeather += weight[s] * of.AtVec(s)
			byPlants += weight[s] * weight[s] * plants / l.N[s]
		}
		if ownSeason {
			byWeather += (1 - rest) * (1 - rest) * v
		}
		width := math.Sqrt(square(limit(df))*byWeather + square(limit(max(l.DF, 1)))*byPlants)
		z := EWMA(x, target[i], lambda)
		for s := range z {
			c.Values[s][i] = z[s]
		}
		c.Low[i], c.High[i] = target[i]-width, target[i]+width
		c.Out = c.Out || math.Abs(z[n-1]-target[i]) > width
	}
	return c
}

// limit returns how many standard deviations the limits are wide, where these are estimated with df degrees of freedom.
func limit(df float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile(1 - outside/2)
}

func square(x float64) float64 { return x * x }

// spread returns the sum of squares of times around their mean.
func spread(time []float64) float64 {
	mid, sum := 0.0, 0.0
	for _, t := range time {
		mid += t / float64(len(time))
	}
	for _, t := range time {
		sum += (t - mid) * (t - mid)
	}
	return sum
}

// EWMA returns the exponentially weighted moving average of x, starting from centre.
//
// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4, whose example TestEWMA checks.
func EWMA(x []float64, centre, lambda float64) []float64 {
	var z []float64
	at := centre
	for _, v := range x {
		at = lambda*v + (1-lambda)*at
		z = append(z, at)
	}
	return z
}
