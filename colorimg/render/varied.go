package render

import (
	"math"
	"math/rand/v2"

	"hueward/colorimg/cie"
)

// Shades are the petal colours of [Varied], with the trade's rough names. All
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

// Varied returns the i-th of a set of scenes that goes through all petal
// colours, forms, grounds, lights (4000 to 10 000 K), exposures (-1 to +0.3
// stops, less where petals would clip), and sizes and places of card (5 to
// 20 % of the width) and bloom (25 to 70 % of the shorter side). Even i are
// on a plain board. A scene depends on i and seed alone.
func Varied(i int, seed int64) Scene {
	r := rand.New(rand.NewPCG(uint64(seed), uint64(i)+1000))
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	sh := Shades[i%len(Shades)].Lab
	s := Scene{
		Petal:    fit(cie.Lab{L: sh.L + between(-3, 3), A: sh.A + between(-3, 3), B: sh.B + between(-3, 3)}),
		Form:     Forms[(i/2+i/len(Shades))%len(Forms)],
		Seed:     seed*1_000_003 + int64(i),
		Diameter: between(0.25, 0.70),
		Kelvin:   1e6 / between(1e6/10000, 1e6/4000), // even in reciprocal colour temperature, as the eye has it
		Tint:     math.Exp2(0.03 * r.NormFloat64()),
		EV:       between(-1, 0.3),
		Gradient: between(0, 0.04),
		Vignette: between(0, 0.04),
		Noise:    between(0.6, 1.4),
		Blur:     between(0.6, 1.1),
	}
	s.Center = [...]cie.Lab{{}, {L: 40, A: 14, B: 28}, {L: 72, A: 8, B: 62}}[r.IntN(3)]
	s.Petals = petalsOf(s.Form, r)
	if i%2 == 0 {
		s.Ground = contrasting(s.Petal, r)
	} else {
		s.Ground = []Ground{Soil, Leaves}[i/2%2]
		if r.IntN(3) == 0 {
			s.Blooms = 1 + r.IntN(2)
		}
	}
	if r.IntN(5) == 0 {
		c := s.Petal
		c.L, c.A, c.B = c.L*0.82, c.A*1.05+2, c.B*0.95
		s.Eye = &c
	}
	s.Card = CardSpec{Width: between(0.05, 0.20), Aspect: between(0.62, 1), Angle: between(0, 360),
		Tilt: between(0, 0.06), Border: Border(r.IntN(3))}

	// The bloom lies wholly in the frame, toward one end of it when it leaves
	// little room for the card.
	w, h := 1600.0, 1200.0
	radius := s.Diameter * h / 2 * 1.05
	x := between(radius/w, 1-radius/w)
	if room := s.Card.Width*w*math.Hypot(1, s.Card.Aspect) + 0.1*radius + 40; 2*radius+room > 0.75*w || r.IntN(2) == 0 {
		x = between(radius/w, max(radius/w, 1-(radius+room)/w))
		if r.IntN(2) == 0 {
			x = 1 - x
		}
	}
	s.At = [2]float64{x, between(radius/h, 1-radius/h)}
	s.EV = min(s.EV, s.HighestEV())
	return s
}

// fit takes chroma from c until the colours around it lie within sRGB too.
func fit(c cie.Lab) cie.Lab {
	for range 100 {
		if v := linear(c); min(v[0], v[1], v[2]) >= 0.016*max(v[0], v[1], v[2])+0.004 {
			break
		}
		c.A, c.B = c.A*0.98, c.B*0.98
	}
	return c
}

func petalsOf(f Form, r *rand.Rand) int {
	switch f {
	case Single:
		return []int{8, 8, 13, 18}[r.IntN(4)]
	case SemiDouble:
		return 15 + r.IntN(8)
	case Double:
		return 70 + r.IntN(50)
	case Ball:
		return 120 + r.IntN(60)
	}
	return 20 + r.IntN(10)
}

// contrasting is a board that a grower would lay behind the petal colour.
func contrasting(petal cie.Lab, r *rand.Rand) Ground {
	for {
		g := Grounds[r.IntN(4)]
		if cie.DeltaE2000(usualGround[g], petal) > 22 {
			return g
		}
	}
}

// HighestEV returns the exposure up to which hardly a petal is clipped: the
// petals' brightest channel in the scene's light, with a third to spare for
// shading and noise. Tip, Eye and
// Gradient are not reckoned with.
func (s Scene) HighestEV() float64 {
	s = s.with()
	c, g := linear(s.Petal), Gains(s.Kelvin, s.Tint)
	top := 1e-9
	for i, v := range c {
		top = max(top, float64(v)*g[i])
	}
	return math.Log2(1 / (1.33 * top))
}
