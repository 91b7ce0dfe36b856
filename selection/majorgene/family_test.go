package majorgene

import (
	"math"
	"math/rand/v2"
	"testing"

	"hueward/selection/space"
)

// Genotypes of a family's plants by all their colours, against enumeration of its parents' genotypes and its own.
func TestFamilyExact(t *testing.T) {
	t.Parallel()
	rnd := rand.New(rand.NewPCG(3, 4))
	for _, loci := range []int{1, 2} {
		for round := range 20 {
			m := &Model{Loci: loci}
			n := m.Genotypes()
			for range n {
				m.Effects = append(m.Effects, [3]float64{8 * rnd.NormFloat64(), 8 * rnd.NormFloat64(), 8 * rnd.NormFloat64()})
			}
			some := func() []float64 {
				p := make([]float64, n)
				for i := range p {
					p[i] = 0.1 + rnd.Float64()
				}
				normalise(p)
				return p
			}
			a, b, self := some(), some(), round%3 == 0
			inv := space.Diag(space.Vector{0.02, 0.03, 0.01})
			mean := space.Vector{50, 10, 20}
			plants := 3 - loci + 1
			colors, got := make([]space.Vector, plants), make([][]float64, plants)
			for i := range colors {
				colors[i] = space.Plus(mean, space.Vector{9 * rnd.NormFloat64(), 9 * rnd.NormFloat64(), 9 * rnd.NormFloat64()})
				got[i] = make([]float64, n)
			}
			f := m.Families()
			f.Again().Tell(got, colors, a, b, self, mean, &inv)
			want := make([][]float64, plants)
			for i := range want {
				want[i] = make([]float64, n)
			}
			mendel := m.space().mendel()
			of := make([]int, plants)
			var each func(i, x, y int, p float64)
			each = func(i, x, y int, p float64) {
				if i == plants {
					for k, g := range of {
						want[k][g] += p
					}
					return
				}
				for g := range n {
					of[i] = g
					r := space.Minus(space.Minus(colors[i], mean), m.Effects[g])
					each(i+1, x, y, p*mendel[(g*n+x)*n+y]*math.Exp(-space.Quadratic(inv, r)/2))
				}
			}
			for x := range n {
				for y := range n {
					switch {
					case !self:
						each(0, x, y, a[x]*b[y])
					case x == y:
						each(0, x, x, a[x])
					}
				}
			}
			for i := range want {
				normalise(want[i])
				for g := range want[i] {
					if math.Abs(got[i][g]-want[i][g]) > 1e-9 {
						t.Fatalf("%d loci, self %v: plant %d has genotype %d with chance %.12f, want %.12f", loci, self, i, g, got[i][g], want[i][g])
					}
				}
			}
		}
	}
}
