package net

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// Tiles add up to the very bits of blas32, of any number of rows and pixels, and touch nothing else.
func TestTilesEqualBLAS(t *testing.T) {
	if !hasTiles {
		t.Log("this processor has no AVX2: both are blas32")
	}
	rnd := rand.New(rand.NewPCG(1, 2))
	numbers := func(n int) []float32 {
		v := make([]float32, n)
		for i := range v {
			v[i] = float32(rnd.NormFloat64())
		}
		return v
	}
	for _, s := range [][3]int{{16, 20, 35}, {4, 1, 16}, {5, 7, 17}, {3, 4, 64}, {8, 3, 15}, {40, 120, 1040}, {6, 2, 513}} {
		c := &conv{out: s[0], w: numbers(s[0] * s[1])}
		x, out := numbers(s[1]*s[2]), numbers(s[0]*s[2])
		want := slices.Clone(out)
		multiply(c, x, out, s[2])
		was := hasTiles
		hasTiles = false
		multiply(c, x, want, s[2])
		hasTiles = was
		if !slices.Equal(out, want) {
			t.Errorf("%d × %d weights, %d pixels: the tiles' sums are others", s[0], s[1], s[2])
		}
	}
}
