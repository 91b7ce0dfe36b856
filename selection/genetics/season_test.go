package genetics

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"
)

// colorG is an additive covariance of L*, a*, b* for simulated lines: darker flowers
// are redder and yellower.
var colorG = []float64{16, -6, -4, -6, 12, 5, -4, 5, 25}

// seasons simulates five seasons of a line of 200 plants: the infinitesimal model with
// colorG; the 40 plants that measure highest on the third trait are mated at
// random, one in five of the crosses a self. True values come back too.
func seasons(t testing.TB, rnd *rand.Rand, h2 float64) (*Pedigree, *Records, []float64, *Components) {
	const plants, parents = 200, 40
	r := slices.Clone(colorG)
	for i := range r {
		r[i] *= (1 - h2) / h2
		if i%4 != 0 {
			r[i] *= 0.3 // what plants meet in the bed need not act as genes do
		}
	}
	par := &Components{Additive: colorG, Residual: r}
	lg, lr := lower(colorG, 3), lower(r, 3)
	var all []Parents
	values := map[string][]float64{}
	measured := map[string][]float64{}
	inbred := map[string]float64{}
	var chosen []string
	for s := range 5 {
		var now []string
		for i := range plants {
			id := fmt.Sprintf("%d-%d", s, i)
			p := Parents{ID: id}
			u, d := make([]float64, 3), 1.0
			if s > 0 {
				p.Seed, p.Pollen = chosen[rnd.IntN(parents)], chosen[rnd.IntN(parents)]
				if rnd.IntN(5) == 0 {
					p.Pollen = p.Seed
				}
				addTo(u, 0.5, values[p.Seed])
				addTo(u, 0.5, values[p.Pollen])
				d = 0.5 - (inbred[p.Seed]+inbred[p.Pollen])/4
			}
			addApply(u, math.Sqrt(d), lg, normals(rnd, 3), 3)
			y := slices.Clone(u)
			addApply(y, 1, lr, normals(rnd, 3), 3)
			values[id], measured[id] = u, y
			all, now = append(all, p), append(now, id)
		}
		ped := mustPedigree(t, all)
		for _, id := range now {
			inbred[id] = ped.Inbreeding(ped.at(t, id))
		}
		slices.SortFunc(now, func(x, y string) int { return cmp.Compare(measured[y][2], measured[x][2]) })
		chosen = now[:parents]
	}
	ped := mustPedigree(t, all)
	rec := &Records{Traits: 3}
	truth := make([]float64, ped.Len()*3)
	for _, p := range all {
		at := ped.at(t, p.ID)
		rec.Plant, rec.Y = append(rec.Plant, at), append(rec.Y, measured[p.ID]...)
		copy(truth[int(at)*3:], values[p.ID])
	}
	rec.Effects = []Effect{{Level: make([]int32, len(rec.Plant)), Levels: 1}}
	return ped, rec, truth, par
}

// Simulated truth: values from estimated components are as near to the true ones as
// values from the true components, nearly; and estimates lie within two standard
// errors as often as they should.
func TestSeasonsTruth(t *testing.T) {
	t.Parallel()
	runs := 2
	if os.Getenv("HUEWARD_FULL") == "1" {
		runs = 16
	}
	for _, h2 := range []float64{0.3, 0.5, 0.8} {
		rnd := rand.New(rand.NewPCG(7, uint64(100*h2)))
		within, of, worst := 0, 0, 1.0
		for range runs {
			ped, rec, truth, par := seasons(t, rnd, h2)
			f, err := FitComponents(ped, rec, nil)
			if err != nil {
				t.Fatal(err)
			}
			if !f.Converged {
				t.Fatalf("not converged after %d iterations", f.Iterations)
			}
			var accuracy [2][3]float64
			for c, par := range []*Components{&f.Components, par} {
				v, err := Evaluate(ped, rec, par, nil)
				if err != nil {
					t.Fatal(err)
				}
				for k := range 3 {
					var x, y []float64
					for i := ped.groups; i < ped.Len(); i++ {
						x, y = append(x, v.Values[i*3+k]), append(y, truth[i*3+k])
					}
					accuracy[c][k] = stat.Correlation(x, y, nil)
				}
			}
			for k := range 3 {
				worst = min(worst, accuracy[0][k]/accuracy[1][k])
				for l := k; l < 3; l++ {
					for m, v := range [][]float64{par.Additive, par.Residual} {
						got := [][]float64{f.Additive, f.Residual}[m]
						of++
						if math.Abs(got[k*3+l]-v[k*3+l]) <= 2*f.SE(m, k, l) {
							within++
						}
					}
				}
			}
		}
		share := float64(within) / float64(of)
		t.Logf("heritability %.1f, %d runs: accuracy at least %.4f of what the true components give; %.3f of %d estimates within two standard "+
			"errors", h2, runs, worst, share, of)
		if !(worst >= 0.9) {
			t.Errorf("heritability %.1f: accuracy %.3f of what the true components give, want at least 0.9", h2, worst)
		}
		// 95.4 of 100 by the normal distribution; a run's twelve estimates hang together.
		if least := 0.95 - 1.3/math.Sqrt(float64(12*runs)); !(share >= least) {
			t.Errorf("heritability %.1f: %.3f of %d estimates within two standard errors, want at least %.3f", h2, share, of, least)
		}
	}
}
