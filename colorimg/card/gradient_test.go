package card_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"hueward/colorimg/card"
)

// TestSlope: the light's slope over a card with grain, a dark border inside the
// outline that was found and a thumb on one corner is found to within
// the error that is stated. The slopes are drawn here, and so are known.
func TestSlope(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	const n = 60
	var square, off [2]float64
	for range n {
		q := turned(100+rng.Float64(), 90+rng.Float64(), 70, 54, 50*rng.Float64()-25)
		g := [2]float64{0.001 * rng.NormFloat64(), 0.001 * rng.NormFloat64()}
		im := field(200, 180, [3]float32{0.05, 0.05, 0.05}) // the ground, and the border
		cover(im, q.Shrunk(0.93), [3]float32{0.18, 0.18, 0.18})
		cover(im, turned(q[2][0], q[2][1], 24, 24, 10), [3]float32{0.3, 0.2, 0.15})
		for y := range im.H {
			for x := range im.W {
				light := 1 + g[0]*(float64(x)-100) + g[1]*(float64(y)-90)
				for c := range 3 {
					im.Pix[3*(y*im.W+x)+c] *= float32(light * (1 + 0.03*rng.NormFloat64()))
				}
			}
		}
		p := card.Read(im, q, 0)
		for i := range 2 {
			e := p.Grad[i] - g[i]
			square[i] += e * e / n
			off[i] += e * e / (p.GradSE[i] * p.GradSE[i]) / n
		}
	}
	for i := range 2 {
		rms, z := math.Sqrt(square[i]), math.Sqrt(off[i])
		if !(rms < 0.0001) { // of 0.0010 that are drawn
			t.Errorf("slope is off by %.5f a pixel, want less than 0.0001", rms)
		}
		if !(z > 0.6 && z < 1.3) {
			t.Errorf("slope is off by %.2f stated errors in the root mean square, want about 1", z)
		}
	}
}
