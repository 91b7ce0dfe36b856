package petal

import (
	"math"
	"math/rand/v2"
	"testing"

	"hueward/colorimg/cie"
)

// TestRootOf compares colours read off the table of roots with those of
// package cie, which is held to published values.
func TestRootOf(t *testing.T) {
	rnd := rand.New(rand.NewPCG(11, 4))
	gains := [3]float64{1.9, 1.1, 0.8}
	s := &scene{toXYZ: corrected(gains)}
	for range 100_000 {
		at := func() float32 { return float32(math.Pow(rnd.Float64(), 3))*1.3 - 0.02 }
		r, g, b := at(), at(), at()
		got := s.labOf(r, g, b)
		want := cie.SRGB.XYZ(cie.RGB{float64(r) * gains[0], float64(g) * gains[1], float64(b) * gains[2]}).Lab()
		want.L = min(max(want.L, 0), 130)
		if math.Abs(got.L-want.L) > 0.005 || math.Abs(got.A-want.A) > 0.02 || math.Abs(got.B-want.B) > 0.02 {
			t.Fatalf("labOf(%v, %v, %v) = %v, want %v ± 0.005 in L*, 0.02 in a* and b*", r, g, b, got, want)
		}
	}
}
