package scenes

import (
	"math"
	"math/rand/v2"

	"hueward/colorimg/cie"
	"hueward/colorimg/render"
)

// Varied returns the i-th of a set of scenes that goes through all petal colours, forms, grounds, lights (4000 to 10
// 000 K), exposures (-1 to +0.3 stops, less where petals would clip), and sizes and places of card (5 to 20 % of the
// width) and bloom (25 to 70 % of the shorter side). Even i are on a plain board. A scene depends on i and seed alone.
func Varied(i int, seed int64) render.Scene {
	r := rand.New(rand.NewPCG(uint64(seed), uint64(i)+1000))
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	sh := render.Shades[i%len(render.Shades)].Lab
	s := render.Scene{
		Petal:    render.Fit(cie.Lab{L: sh.L + between(-3, 3), A: sh.A + between(-3, 3), B: sh.B + between(-3, 3)}),
		Form:     render.Forms[(i/2+i/len(render.Shades))%len(render.Forms)],
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
		s.Ground = []render.Ground{render.Soil, render.Leaves}[i/2%2]
		if r.IntN(3) == 0 {
			s.Blooms = 1 + r.IntN(2)
		}
	}
	if r.IntN(5) == 0 {
		c := s.Petal
		c.L, c.A, c.B = c.L*0.82, c.A*1.05+2, c.B*0.95
		s.Eye = &c
	}
	s.Card = render.CardSpec{Width: between(0.05, 0.20), Aspect: between(0.62, 1), Angle: between(0, 360),
		Tilt: between(0, 0.06), Border: render.Border(r.IntN(3))}

	// The bloom lies wholly in the frame, toward one end of it when it leaves little room for the card.
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

func petalsOf(f render.Form, r *rand.Rand) int {
	switch f {
	case render.Single:
		return []int{8, 8, 13, 18}[r.IntN(4)]
	case render.SemiDouble:
		return 15 + r.IntN(8)
	case render.Double:
		return 70 + r.IntN(50)
	case render.Ball:
		return 120 + r.IntN(60)
	}
	return 20 + r.IntN(10)
}

// contrasting is a board that a grower would lay behind the petal colour.
func contrasting(petal cie.Lab, r *rand.Rand) render.Ground {
	for {
		g := render.Grounds[r.IntN(4)]
		if cie.DeltaE2000(g.Usual(), petal) > 22 {
			return g
		}
	}
}
