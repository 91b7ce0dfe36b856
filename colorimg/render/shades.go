package render

import (
	"math"

	"hueward/colorimg/cie"
)

// Shades are the petal colours that tests and demo go through, with the trade's rough names. All
// lie well within sRGB, so that a photo can hold them.
var Shades = []struct {
	Name string
	Lab  cie.Lab
}{
	{"white", cie.Lab{L: 92, A: -1, B: 4}},
	{"orange", cie.Lab{L: 66, A: 37, B: 60}},
	{"pink", cie.Lab{L: 70, A: 32, B: -2}},
	{"yellow", cie.Lab{L: 83, A: 3, B: 66}},
	{"deep red", cie.Lab{L: 30, A: 42, B: 22}},
	{"lilac", cie.Lab{L: 67, A: 20, B: -20}},
	{"cream", cie.Lab{L: 88, A: 1, B: 19}},
	{"magenta", cie.Lab{L: 45, A: 60, B: -14}},
	{"apricot", cie.Lab{L: 76, A: 18, B: 42}},
	{"violet", cie.Lab{L: 40, A: 37, B: -40}},
	{"bronze", cie.Lab{L: 52, A: 26, B: 38}},
	{"pale green", cie.Lab{L: 80, A: -15, B: 33}},
	{"red", cie.Lab{L: 46, A: 52, B: 31}},
	{"blue-violet", cie.Lab{L: 42, A: 22, B: -46}},
	{"salmon", cie.Lab{L: 68, A: 36, B: 28}},
	{"brownish", cie.Lab{L: 38, A: 20, B: 21}},
	{"near-black", cie.Lab{L: 19, A: 20, B: 4}},
}

// HighestEV returns the exposure up to which hardly a petal is clipped: the petals' brightest channel in the scene's
// light, with a third to spare for shading and noise. Tip, Eye and Gradient are not reckoned with.
func (s Scene) HighestEV() float64 {
	s = s.with()
	c, g := linear(s.Petal), Gains(s.Kelvin, s.Tint)
	top := 1e-9
	for i, v := range c {
		top = max(top, float64(v)*g[i])
	}
	return math.Log2(1 / (1.33 * top))
}

// Fit takes chroma from c until the colours around it lie within sRGB too.
func Fit(c cie.Lab) cie.Lab {
	for range 100 {
		if v := linear(c); min(v[0], v[1], v[2]) >= 0.016*max(v[0], v[1], v[2])+0.004 {
			break
		}
		c.A, c.B = c.A*0.98, c.B*0.98
	}
	return c
}
