package camera

import "math"

// terms appends the root-polynomial terms of a colour to t: the three channels for degree 1 (a plain matrix), six terms
// for degree 2 and thirteen for 3. Each scales with the colour, so exposure does not matter. Roots of channels below 0
// are taken as 0.
//
// Source: Finlayson, Mackiewicz, Hurlbert 2015, IEEE Trans. Image Processing 24(5):1460-1470, the expansions of section
// III; TestTerms checks both degrees against another program's values.
func terms(t []float64, v [3]float64, degree int) []float64 {
	t = append(t, v[0], v[1], v[2])
	if degree < 2 {
		return t
	}
	r, g, b := max(v[0], 0), max(v[1], 0), max(v[2], 0)
	t = append(t, math.Sqrt(r*g), math.Sqrt(g*b), math.Sqrt(r*b))
	if degree < 3 {
		return t
	}
	return append(t, math.Cbrt(r*g*g), math.Cbrt(g*b*b), math.Cbrt(r*b*b),
		math.Cbrt(g*r*r), math.Cbrt(b*g*g), math.Cbrt(b*r*r), math.Cbrt(r*g*b))
}

// termCount returns the number of terms of a degree; 0 for degree 0.
func termCount(degree int) int { return [...]int{0, 3, 6, 13}[degree] }

// correct returns, for each channel c, v[c] + Σ coef[c][k] (term k − v[c]). All coefficients 0 change nothing, and
// whatever they are a grey stays that grey, as all terms of a grey are equal.
func correct(coef [3][]float64, degree int, v [3]float64) [3]float64 {
	var room [13]float64
	t := terms(room[:0], v, degree)
	out := v
	for c := range out {
		for k, a := range coef[c] {
			out[c] += a * (t[k] - v[c])
		}
	}
	return out
}
