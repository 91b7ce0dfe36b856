package petal

import (
	"math"
	"math/rand/v2"
	"testing"

	"hueward/colorimg/cie"
)

// TestMiddleNoLighterThanWhite: L* is 100 for a white that reflects all light (ISO/CIE 11664-4); petals that seem lighter
// stand in more light than the card.
func TestMiddleNoLighterThanWhite(t *testing.T) {
	px := []*sample{{lab: cie.Lab{L: 104, A: 1, B: 2}}, {lab: cie.Lab{L: 106, A: 1, B: 2}}, {lab: cie.Lab{L: 108, A: 1, B: 2}}}
	if got, want := middle(px), (cie.Lab{L: 100, A: 1, B: 2}); got != want {
		t.Errorf("middle = %v, want %v", got, want)
	}
}

// TestSplit: an even run from red to white is one colour, listed as two halves, and the two side by side are two, in
// their shares, whatever light falls on each pixel. Of an even run the halves explain 3/4 of the
// variance: it is 1/12 of the square of its length, that of their means 1/16.
func TestSplit(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	red, white := cie.Lab{L: 50, A: 62, B: 25}.XYZ(), cie.Lab{L: 92, A: 0, B: 4}.XYZ()
	mixed := func(paleness func() float64) (px []*sample) {
		for range 2000 {
			k, light := paleness(), 0.3+0.7*r.Float64()
			mix := func(a, b float64) float64 { return light * (a + k*(b-a)) }
			p := &sample{lab: cie.XYZ{X: mix(red.X, white.X), Y: mix(red.Y, white.Y), Z: mix(red.Z, white.Z)}.Lab()}
			p.u, p.v = flat(p.lab)
			p.u, p.v = p.u+r.NormFloat64(), p.v+r.NormFloat64()
			px = append(px, p)
		}
		return px
	}
	if g := split(mixed(r.Float64), 1); len(g) != 1 {
		t.Errorf("an even run is split into %d, want one colour", len(g))
	}
	c := &Colors{floors: []float64{0}}
	if c.blend(mixed(r.Float64)); !c.Blend || len(c.Shares) != 2 || math.Abs(c.Shares[0].Share-0.5) > 0.15 || len(c.floors) != 2 {
		t.Errorf("an even run from red to white is listed as %.2f, want its halves", c.Shares)
	}
	c = &Colors{floors: []float64{0}}
	if c.blend(mixed(func() float64 { return 0.4 * r.Float64() })); c.Blend || c.Shares != nil {
		t.Errorf("red that pales a little is listed as %.2f, want no second colour", c.Shares)
	}
	g := split(mixed(func() float64 { return math.Floor(r.Float64() + 0.3) }), 1)
	if len(g) != 2 || math.Abs(float64(len(g[1]))/2000-0.3) > 0.04 {
		t.Errorf("seven parts red and three white are split into %d, want 2, with 0.3 ± 0.04 of white", len(g))
	}
	var low, high []*sample
	for i := range 1000 {
		low, high = append(low, &sample{u: float64(i)}), append(high, &sample{u: float64(1000 + i)})
	}
	if got := plateaus(low, high); math.Abs(got-0.75) > 0.001 {
		t.Errorf("halves of an even run explain %.4f, want 0.75", got)
	}
}
