package cie

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Source: DeltaE2000 itself, which is checked against published pairs.
func TestNearness(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 9))
	any := func(far float64) Lab {
		return Lab{L: 130*rnd.Float64() - 10, A: far * (rnd.Float64() - 0.5), B: far * (rnd.Float64() - 0.5)}
	}
	fast := 0
	for _, far := range []float64{0, 0.001, 2, 40, 150, 400} {
		for range 4000 {
			to := any(far)
			x, near := any(far), any(20)
			xs := []Lab{x, {to.L + near.A, to.A + near.A/3, to.B + near.B}, {to.L, to.A, to.B}}
			away := make([]float64, len(xs))
			NearnessTo(to).Of(away, xs)
			for i, x := range xs {
				want := DeltaE2000(x, to)
				if !(math.Abs(away[i]-want) <= 1e-5) {
					t.Fatalf("to %v from %v: %.9f, want %.9f", to, x, away[i], want)
				}
				if away[i] != want {
					fast++
				}
			}
		}
	}
	if fast < 12_000 {
		t.Errorf("%d of 72 000 the fast way", fast)
	}
	x, away := make([]Lab, 2*block+1), make([]float64, 2*block+1)
	for i := range x {
		x[i] = Lab{L: 70, A: float64(i), B: 30}
	}
	x[block].L = math.NaN()
	to := Lab{60, 10, 20}
	NearnessTo(to).Of(away, x)
	for i, d := range away {
		if want := DeltaE2000(x[i], to); i != block && !(math.Abs(d-want) <= 1e-5) || i == block && !math.IsNaN(d) {
			t.Errorf("number %d of many: %v, want %v", i, d, want)
		}
	}
}

func BenchmarkNearness(b *testing.B) {
	x, away := make([]Lab, 192), make([]float64, 192)
	for i := range x {
		x[i] = Lab{L: 70, A: float64(i % 30), B: 30}
	}
	to := Lab{76, 15, 39}
	b.Run("nearness", func(b *testing.B) {
		n := NearnessTo(to)
		for b.Loop() {
			n.Of(away, x)
		}
	})
	b.Run("DeltaE2000", func(b *testing.B) {
		for b.Loop() {
			for i, c := range x {
				away[i] = DeltaE2000(c, to)
			}
		}
	})
}
