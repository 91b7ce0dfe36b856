package scenes

import (
	"math"
	"math/rand/v2"

	"hueward/colorimg/cie"
	"hueward/colorimg/render"
)

// Hard returns the i-th of a set of scenes that a grower would rather not have taken, yet has: it goes through all
// petal colours, leaf green among them, all forms and grounds (white on a pale board and near-black on soil included),
// with daylight of 3800 to 11 000 K, a fall-off of 20 % (a gradient from the middle to either edge, lost corners, or
// half of each), the tone curve of a phone (Contrast 0.05 to 0.20, its saturation left alone), a shadow in every photo
// but one in seven, and in one of twelve petals too bright for the file. The shadow has a hard or a soft edge, straight
// or wavy, or is a round patch; it takes 25 to 70 % of the light, and lies over all of card and bloom, beside them,
// over a part of the bloom, half of it, part of the card, or over one of the two: [render.Truth.Measurable] tells which
// can be measured. Odd i have a white-grey-black strip for a card, even i one grey patch. A scene depends on i and seed
// alone.
func Hard(i int, seed int64) render.Scene {
	r := rand.New(rand.NewPCG(uint64(seed), uint64(i)+5000))
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	n := len(render.Shades) + 1
	c := cie.Lab{L: 62, A: -24, B: 42} // leaf green
	if k := i % n; k < len(render.Shades) {
		c = render.Shades[k].Lab
	}
	s := render.Scene{
		Petal:    render.Fit(cie.Lab{L: c.L + between(-3, 3), A: c.A + between(-3, 3), B: c.B + between(-3, 3)}),
		Form:     render.AllForms[(i+i/(n*len(render.AllForms)))%len(render.AllForms)],
		Seed:     seed*1_000_003 + 500_009 + int64(i),
		Diameter: between(0.25, 0.65),
		Kelvin:   1e6 / between(1e6/11000, 1e6/3800), // even in reciprocal colour temperature
		Tint:     math.Exp2(0.03 * r.NormFloat64()),
		EV:       between(-1, 0.2),
		Noise:    between(0.6, 1.6),
		Blur:     between(0.6, 1.4),
		Phone:    &render.Phone{Contrast: between(0.05, 0.20)},
	}
	if s.Form == render.Button {
		s.Diameter *= 0.6
	}
	for k := range render.Grounds { // the next one, where the petals could not be seen at all
		s.Ground = render.Grounds[(i+i/n+k)%len(render.Grounds)]
		if cie.DeltaE2000(s.Ground.Usual(), s.Petal) > 6 {
			break
		}
	}
	if !s.Ground.Plain() && r.IntN(3) == 0 {
		s.Blooms = 1 + r.IntN(2)
	}
	switch i / 2 % 3 {
	case 0:
		s.Gradient = 0.2
	case 1:
		s.Vignette = 0.2
	case 2:
		s.Gradient, s.Vignette = 0.1, 0.1
	}
	s.EV = min(s.EV, s.HighestEV()-math.Log2(1+s.Gradient))
	if i%12 == 5 {
		s.EV = s.HighestEV() + between(0.6, 0.9)
	}
	s.Card = render.CardSpec{Width: between(0.07, 0.20), Aspect: between(0.62, 1), Angle: between(0, 360),
		Tilt: between(0, 0.08), Border: render.Border(r.IntN(3))}
	if i%2 == 1 {
		s.Card.Strip, s.Card.Width, s.Card.Aspect = true, between(0.15, 0.28), between(0.3, 0.5)
	}
	layOut(&s, r)
	castHard(&s, r)
	return s
}

// Scenes are laid out on a frame of this size; the places are shares of it.
const hardW, hardH = 1600.0, 1200.0

// layOut chooses where bloom and card lie, both wholly in the frame.
func layOut(s *render.Scene, r *rand.Rand) {
	radius := s.Diameter * hardH / 2 * 1.05
	for range 200 {
		x := radius + (hardW-2*radius)*r.Float64()
		y := radius + (hardH-2*radius)*r.Float64()
		t := *s
		t.Width, t.Height = hardW, hardH
		if q, ok := render.PlaceCard(t, r, x, y, radius*1.04); ok {
			s.At = [2]float64{x / hardW, y / hardH}
			s.Card.At = &[2]float64{(q[0][0] + q[1][0] + q[2][0] + q[3][0]) / 4 / hardW,
				(q[0][1] + q[1][1] + q[2][1] + q[3][1]) / 4 / hardH}
			// The card may have been made smaller: its lower side tells.
			s.Card.Width = math.Hypot(q[2][0]-q[3][0], q[2][1]-q[3][1]) / hardW
			return
		}
	}
}

// castHard lays the shadow.
func castHard(s *render.Scene, r *rand.Rand) {
	if s.Card.At == nil {
		return
	}
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	bx, by := s.At[0]*hardW, s.At[1]*hardH
	cx, cy := s.Card.At[0]*hardW, s.Card.At[1]*hardH
	radius := s.Diameter * hardH / 2
	half := s.Card.Width * hardW / 2 * math.Hypot(1, s.Card.Aspect)
	depth := between(0.25, 0.70)
	e := &render.EdgeShadow{Depth: depth, Soft: []float64{0, 0.01, 0.04, 0.12}[r.IntN(4)], Wavy: []float64{0, 0, 0.02, 0.05}[r.IntN(4)],
		Kelvin: 1e6 / (1e6/s.Kelvin - between(0, 40))}
	if e.Kelvin > 12000 {
		e.Kelvin = 12000
	}
	e.Angle = between(0, 360)
	wide := (e.Soft/2 + e.Wavy) * hardH
	// along is how far the edge lies from the bloom's middle, toward the shadow.
	put := func(angle, x, y, along float64) {
		sin, cos := math.Sincos(angle * math.Pi / 180)
		e.Angle = angle
		e.At = [2]float64{(x + along*cos) / hardW, (y + along*sin) / hardH}
		s.Edge = e
	}
	to := math.Atan2(cy-by, cx-bx) * 180 / math.Pi // from the bloom to the card
	across := func(angle float64) float64 {        // how far the card lies toward the angle
		sin, cos := math.Sincos(angle * math.Pi / 180)
		return (cx-bx)*cos + (cy-by)*sin
	}
	switch k := r.IntN(14); k {
	case 0, 1: // no shadow but what the light's fall-off makes
	case 2, 3, 4: // over both
		put(e.Angle, bx, by, min(-radius, across(e.Angle)-half)-wide-between(0, 0.1)*hardH)
	case 5, 6: // beside both
		put(e.Angle, bx, by, max(radius, across(e.Angle)+half)+wide+between(0, 0.1)*hardH)
	case 7, 8: // over a part of the bloom, away from the card
		put(to+180+between(-50, 50), bx, by, between(0.62, 0.95)*radius)
	case 9: // half of the bloom
		put(to+180+between(-60, 60), bx, by, between(-0.35, 0.35)*radius)
	case 10, 11: // part of the card
		put(to+between(-50, 50), cx, cy, between(-0.3, 0.3)*half)
	case 12: // over one of the two
		put(to+180*float64(r.IntN(2)), (bx+cx)/2, (by+cy)/2, between(-0.1, 0.1)*radius)
	case 13: // a patch
		s.Shadow = depth
		s.ShadowAt = s.At
		if r.IntN(2) == 0 {
			s.ShadowAt = *s.Card.At
		}
	}
}
