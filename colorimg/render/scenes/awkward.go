package scenes

import (
	"math/rand/v2"

	"hueward/colorimg/cie"
	"hueward/colorimg/render"
)

// Awkward returns the i-th of a set of scenes in fair light whose blooms are what growers' blooms are: over all forms,
// grounds and colours of [Hard], with by turns a bee, dew, a hand on the stem, browned tips, faded petals, further
// blooms of the same kind, two colours, and, each eighth time, several of these at once. A scene depends on i and seed
// alone.
func Awkward(i int, seed int64) render.Scene {
	r := rand.New(rand.NewPCG(uint64(seed), uint64(i)+9000))
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	s := Hard(i, seed)
	s.Edge, s.Shadow, s.ShadowAt, s.Phone = nil, 0, [2]float64{}, nil
	s.Gradient, s.Vignette = between(0, 0.04), between(0, 0.04)
	s.Blooms = 0
	s.EV = min(between(-1, 0.3), s.HighestEV())
	add := func(k int) {
		switch k {
		case 0:
			s.Bee = true
		case 1:
			s.Dew = 15 + r.IntN(80)
		case 2:
			s.Hand = true
		case 3:
			s.Browned = between(0.1, 0.6)
		case 4:
			s.Faded = between(0.3, 0.9)
		case 5:
			s.Blooms = 1 + r.IntN(3)
		case 6:
			c := cie.Lab{L: 90, A: 0, B: 10}
			if s.Petal.L > 65 {
				c = cie.Lab{L: 42, A: 50, B: 8}
			}
			if r.IntN(2) == 0 {
				s.Tip = &c
			} else {
				s.Eye = &c
			}
			s.EV = min(s.EV, -0.5)
		}
	}
	if k := i % 8; k < 7 {
		add(k)
		return s
	}
	for k := range 7 {
		if r.IntN(2) == 0 {
			add(k)
		}
	}
	return s
}
