package trend

import (
	"math"

	"hueward/selection"
	"hueward/selection/space"
)

// ParentOffspring returns the heritability of L*, a* and b* as the regression of offspring on the mid-parent value, each
// as a deviation from its own season's mean: a cross-check of the animal model, which uses more of the data. Only families
// with a colour of both parents count, with weights that grow with their size up to a limit. n is the number of families;
// with fewer than two, or equal parents, the estimates are NaN; with fewer than three, the errors are.
//
// Source: Falconer and Mackay 1996, chapter 10; weights for families of unequal size:
// Kempthorne and Tandon 1953, Biometrics 9:90, taken at a heritability of one half.
func ParentOffspring(plants []Grown) (h2 [3]selection.Estimate, n int) {
	season := map[string][]Grown{}
	by := map[string]Grown{}
	for _, p := range plants {
		season[p.Season] = append(season[p.Season], p)
		by[p.Plant] = p
	}
	mean := map[string]space.Vector{}
	for s, of := range season {
		mean[s], _ = meanOf(of)
	}
	type family struct {
		x, y space.Vector // sum of y
		n    float64
	}
	families := map[[3]string]*family{}
	var order [][3]string
	for _, p := range plants {
		seed, ok1 := by[p.Seed]
		pollen, ok2 := by[p.Pollen]
		if !ok1 || !ok2 || p.Seed == p.Plant {
			continue
		}
		k := [3]string{p.Seed, p.Pollen, p.Season}
		if families[k] == nil {
			a, b := space.Minus(space.Of(seed.Lab), mean[seed.Season]), space.Minus(space.Of(pollen.Lab), mean[pollen.Season])
			families[k] = &family{x: space.Vector{(a[0] + b[0]) / 2, (a[1] + b[1]) / 2, (a[2] + b[2]) / 2}}
			order = append(order, k)
		}
		f := families[k]
		f.y = space.Plus(f.y, space.Minus(space.Of(p.Lab), mean[p.Season]))
		f.n++
	}
	for i := range 3 {
		var w, sx, sy, sxx, sxy float64
		for _, k := range order {
			f := families[k]
			// Variance of a mean of n full sibs: with a heritability of one half, a quarter of the
			// variance is between families, and three quarters are within.
			g := 1 / (0.25 + 0.75/f.n)
			x, y := f.x[i], f.y[i]/f.n
			w, sx, sy = w+g, sx+g*x, sy+g*y
			sxx, sxy = sxx+g*x*x, sxy+g*x*y
		}
		sxx, sxy = sxx-sx*sx/w, sxy-sx*sy/w
		if len(order) < 2 || !(sxx > 1e-9) {
			h2[i] = selection.Estimate{Value: math.NaN(), SE: math.NaN()}
			continue
		}
		b := sxy / sxx
		rest := 0.0
		for _, k := range order {
			f := families[k]
			g := 1 / (0.25 + 0.75/f.n)
			d := f.y[i]/f.n - sy/w - b*(f.x[i]-sx/w)
			rest += g * d * d
		}
		h2[i] = selection.Estimate{Value: b, SE: math.NaN()}
		if len(order) > 2 {
			h2[i].SE = math.Sqrt(rest / float64(len(order)-2) / sxx)
		}
	}
	return h2, len(order)
}
