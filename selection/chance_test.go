package selection

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"hueward/colorimg/cie"
	"hueward/selection/space"
)

// Fast against slow: the chances, drawn in each plant's own metric, against
// draws that are measured by CIEDE2000 itself.
func TestChancesExact(t *testing.T) {
	t.Parallel()
	for s, shade := range shades {
		rnd := rand.New(rand.NewPCG(uint64(s), 3))
		var plants []posterior
		for range 30 {
			var p posterior
			p.mean = space.Plus(space.Of(shade.lab), space.Vector{6 * rnd.NormFloat64(), 6 * rnd.NormFloat64(), 6 * rnd.NormFloat64()})
			p.cov = space.Diag(space.Vector{1 + rnd.Float64(), 1 + rnd.Float64(), 1 + rnd.Float64()})
			p.cov[0][1], p.cov[1][0] = 0.5, 0.5
			plants = append(plants, p)
		}
		const keep, draws = 8, 6000 // errors of either chance by draws: at most 0.0065
		roots := make([]space.Matrix, len(plants))
		for i, p := range plants {
			roots[i] = space.Root(p.cov)
		}
		fast := chances(plants, make([]float64, len(plants)), shade.lab, keep, draws, 1)
		slow := make([]float64, len(plants))
		d := make([]float64, len(plants))
		for range draws {
			for i, p := range plants {
				z := space.Vector{rnd.NormFloat64(), rnd.NormFloat64(), rnd.NormFloat64()}
				d[i] = cie.DeltaE2000(space.Lab(space.Plus(p.mean, space.Apply(roots[i], z))), shade.lab)
			}
			cut := slices.Sorted(slices.Values(d))[keep-1]
			for i := range d {
				if d[i] <= cut {
					slow[i] += 1.0 / draws
				}
			}
		}
		for i := range plants {
			if math.Abs(fast[i]-slow[i]) > 0.06 {
				t.Errorf("%s, plant %d: chance %.3f, by CIEDE2000 %.3f, want within 0.06", shade.name, i, fast[i], slow[i])
			}
		}
	}
}

// Two plants, one keeper: the chance that the nearer-looking is nearer is the
// normal probability of their difference. Source: P(X < Y) = Φ((y-x)/√(s²+t²)).
func TestChancesTwoPlants(t *testing.T) {
	t.Parallel()
	// Along L* near 50 one Delta E is one unit of L*, within 3 % here.
	target := cie.Lab{L: 50}
	tiny := 1e-6
	plants := []posterior{
		{mean: space.Vector{53, 0, 0}, cov: space.Diag(space.Vector{0.16, tiny, tiny})},
		{mean: space.Vector{53.5, 0, 0}, cov: space.Diag(space.Vector{0.09, tiny, tiny})},
	}
	got := chances(plants, make([]float64, 2), target, 1, 20000, 1)
	want := 0.5 * math.Erfc(-0.5/0.5/math.Sqrt2) // Φ(1) = 0.8413
	if math.Abs(got[0]-want) > 0.015 || math.Abs(got[0]+got[1]-1) > 1e-12 {
		t.Errorf("chances of two plants = %.4f, want %.4f ± 0.015 and the rest", got, want)
	}
}
