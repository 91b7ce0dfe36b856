package genetics

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"
)

// dyestuff are yields of 6 batches of 5: Davies and Goldsmith 1972, Statistical
// Methods in Research and Production, as in the data set Dyestuff of the R package
// lme4.
var dyestuff = [][]float64{
	{1545, 1440, 1440, 1520, 1580}, {1540, 1555, 1490, 1560, 1495}, {1595, 1550, 1605, 1510, 1560},
	{1445, 1440, 1595, 1465, 1545}, {1595, 1630, 1515, 1635, 1625}, {1520, 1455, 1450, 1480, 1445},
}

// oneWay is a design of unrelated plants with repeated records and a mean.
func oneWay(t testing.TB, y [][]float64) (*Pedigree, *Records) {
	var plants []Parents
	for i := range y {
		plants = append(plants, Parents{ID: fmt.Sprint(i)})
	}
	ped := mustPedigree(t, plants)
	rec := &Records{Traits: 1}
	for i, of := range y {
		for _, v := range of {
			rec.Plant, rec.Y = append(rec.Plant, ped.at(t, fmt.Sprint(i))), append(rec.Y, v)
		}
	}
	rec.Effects = []Effect{{Level: make([]int32, len(rec.Y)), Levels: 1}}
	return ped, rec
}

// REML of a balanced one-way design is its analysis of variance: batch 1764.05,
// residual 2451.25 (Davies and Goldsmith 1972; lme4 gives the same).
func TestFitDyestuff(t *testing.T) {
	t.Parallel()
	ped, rec := oneWay(t, dyestuff)
	f, err := FitComponents(ped, rec, nil)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "batch", f.Additive[0], 1764.05, 0.01)
	near(t, "residual", f.Residual[0], 2451.25, 0.01)
	if !f.Converged || f.AtEdge != nil {
		t.Errorf("converged %v after %d, at the edge %v", f.Converged, f.Iterations, f.AtEdge)
	}
	// Of a balanced design of k batches of n the expected information has the
	// residual's error variance 2σ⁴/(k(n-1)); the average information is that here.
	near(t, "error of the residual", f.SE(1, 0, 0), 2451.25*math.Sqrt(2./24), 1)
}

// Where the batches scatter less than chance would have them, their variance is held
// at the edge, and said to be.
func TestFitNothingBetween(t *testing.T) {
	t.Parallel()
	y := [][]float64{{1, 2, 3, 4}, {2, 1, 4, 3}, {4, 3, 2, 1}, {3, 4, 1, 2}}
	ped, rec := oneWay(t, y)
	f, err := FitComponents(ped, rec, nil)
	if err != nil {
		t.Fatal(err)
	}
	if !(f.Additive[0] > 0 && f.Additive[0] < 1e-3) || !slices.Equal(f.AtEdge, []string{"additive"}) {
		t.Errorf("additive variance %v, at the edge %v", f.Additive[0], f.AtEdge)
	}
	near(t, "residual", f.Residual[0], 20./15, 1e-3) // all of it, on 15 degrees of freedom
}

func TestFitRefuses(t *testing.T) {
	t.Parallel()
	ped, rec := oneWay(t, [][]float64{{5, 5}, {5, 5}})
	if _, err := FitComponents(ped, rec, nil); !errors.Is(err, ErrNoScatter) {
		t.Errorf("all equal: %v", err)
	}
	// With something assumed beforehand, that is what comes out, or less.
	f, err := FitComponents(ped, rec, &FitOptions{Prior: &Components{Additive: []float64{3}, Residual: []float64{2}}, PriorWeight: 5})
	if err != nil {
		t.Fatal(err)
	}
	if h2, _ := f.Heritability(0); !(f.Additive[0] > 0 && f.Additive[0] < 3 && f.Residual[0] > 0 && f.Residual[0] < 2 && h2 > 0.3 &&
		h2 < 0.8) {
		t.Errorf("all equal, with a prior: %v and %v", f.Additive, f.Residual)
	}
}

// Two traits: the likelihood does not depend on the traits' units, and the fit
// follows them.
func TestFitUnits(t *testing.T) {
	t.Parallel()
	rnd := rand.New(rand.NewPCG(4, 4))
	ped, rec, _ := halfSibs(t, rnd, 30, 8, []float64{2, 0.5, 0.5, 1}, []float64{3, -1, -1, 2})
	a, err := FitComponents(ped, rec, nil)
	if err != nil {
		t.Fatal(err)
	}
	other := *rec
	other.Y = slices.Clone(rec.Y)
	for i := range other.Y {
		if i%2 == 1 {
			other.Y[i] *= 100
		}
	}
	b, err := FitComponents(ped, &other, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, s := range []float64{1, 100, 100, 10000} {
		near(t, "additive in other units", b.Additive[i]/s, a.Additive[i], 2e-4)
		near(t, "residual in other units", b.Residual[i]/s, a.Residual[i], 2e-4)
	}
}

// The score is the slope of the likelihood, which comes from the determinants alone.
func TestFitScore(t *testing.T) {
	t.Parallel()
	for c := range 4 {
		plant, group := c&1 == 1, []float64{50, 0, 0, 50}
		if c&2 == 2 {
			group = nil
		}
		rnd := rand.New(rand.NewPCG(5, 5))
		ped, err := NewPedigree(randomPedigree(rnd, 40))
		if err != nil {
			t.Fatal(err)
		}
		rec := &Records{Traits: 2, Effects: []Effect{{Level: make([]int32, 60), Levels: 1}}}
		for range 60 {
			rec.Plant = append(rec.Plant, int32(ped.groups+rnd.IntN(ped.Len()-ped.groups)))
			rec.Y = append(rec.Y, rnd.NormFloat64(), rnd.NormFloat64())
			rec.Error = append(rec.Error, spd(rnd, 2)...)
		}
		rec.Y[7] = math.NaN()
		opt := &FitOptions{Plant: plant, Group: group, PriorWeight: 3, Prior: &Components{Additive: []float64{1, 0, 0, 1},
			Residual: []float64{1, 0, 0, 1}}}
		e, err := newEquations(ped, rec)
		if err != nil {
			t.Fatal(err)
		}
		f, err := newFitting(e, opt)
		if err != nil {
			t.Fatal(err)
		}
		v := f.matrices(&Components{Additive: spd(rnd, 2), Plant: spd(rnd, 2), Residual: spd(rnd, 2)}, plant)
		logLik := func(m, k int, by float64) float64 {
			w := [][]float64{}
			for i := range v {
				w = append(w, slices.Clone(v[i]))
			}
			addTo(w[m], by, f.units[k])
			s, err := f.at(w)
			if err != nil {
				t.Fatal(err)
			}
			return s.logLik
		}
		s, err := f.at(v)
		if err != nil {
			t.Fatal(err)
		}
		score, _, _ := f.derivatives(s)
		for m := range v {
			for k := range f.units {
				const h = 1e-5
				slope := (logLik(m, k, h) - logLik(m, k, -h)) / (2 * h)
				near(t, fmt.Sprintf("score of matrix %d, element %d", m, k), score[m*len(f.units)+k], slope, 1e-5*(1+math.Abs(slope)))
			}
		}
	}
}

// halfSibs are families of one pollen parent each with many seed parents, of which
// only the offspring are measured, and their true breeding values.
func halfSibs(t testing.TB, rnd *rand.Rand, families, size int, g, r []float64) (*Pedigree, *Records, []float64) {
	tr := int(math.Round(math.Sqrt(float64(len(g)))))
	var plants []Parents
	for f := range families {
		for i := range size {
			plants = append(plants, Parents{ID: fmt.Sprintf("%d-%d", f, i), Seed: fmt.Sprintf("s%d-%d", f, i), Pollen: fmt.Sprintf("p%d", f)})
		}
	}
	ped := mustPedigree(t, plants)
	values := trueValues(rnd, ped, g)
	rec := &Records{Traits: tr}
	l := lower(r, tr)
	for _, p := range plants {
		at := ped.at(t, p.ID)
		y := slices.Clone(values[int(at)*tr : int(at)*tr+tr])
		addApply(y, 1, l, normals(rnd, tr), tr)
		rec.Plant, rec.Y = append(rec.Plant, at), append(rec.Y, y...)
	}
	rec.Effects = []Effect{{Level: make([]int32, len(rec.Plant)), Levels: 1}}
	return ped, rec, values
}

// trueValues draws breeding values down a pedigree: the infinitesimal model.
func trueValues(rnd *rand.Rand, ped *Pedigree, g []float64) []float64 {
	tr := int(math.Round(math.Sqrt(float64(len(g)))))
	l := lower(g, tr)
	u := make([]float64, ped.Len()*tr)
	for i := ped.groups; i < ped.Len(); i++ {
		own := u[i*tr : i*tr+tr]
		for _, parent := range [2]int32{ped.seed[i], ped.pollen[i]} {
			if parent != Unknown {
				addTo(own, 0.5, u[int(parent)*tr:int(parent)*tr+tr])
			}
		}
		addApply(own, math.Sqrt(ped.d[i]), l, normals(rnd, tr), tr)
	}
	return u
}

func normals(rnd *rand.Rand, t int) []float64 {
	z := make([]float64, t)
	for i := range z {
		z[i] = rnd.NormFloat64()
	}
	return z
}

// lower is the lower triangular root.
func lower(x []float64, t int) []float64 {
	l := make([]float64, t*t)
	for i := range t {
		for j := range i + 1 {
			s := x[i*t+j]
			for k := range j {
				s -= l[i*t+k] * l[j*t+k]
			}
			if i == j {
				l[i*t+i] = math.Sqrt(s)
			} else {
				l[i*t+j] = s / l[j*t+j]
			}
		}
	}
	return l
}

// Half-sib families of known components: estimates are right on average, and their
// standard errors are what they scatter by.
func TestFitHalfSibs(t *testing.T) {
	t.Parallel()
	g, r := []float64{4, 1, 1, 2}, []float64{6, -1, -1, 2}
	rnd := rand.New(rand.NewPCG(6, 6))
	runs := 25
	if os.Getenv("HUEWARD_FULL") == "1" {
		runs = 120
	}
	n := float64(runs)
	var sum, ss, said [2]float64 // of the additive variances
	for range runs {
		ped, rec, _ := halfSibs(t, rnd, 60, 10, g, r)
		f, err := FitComponents(ped, rec, nil)
		if err != nil {
			t.Fatal(err)
		}
		if !f.Converged {
			t.Fatalf("not converged after %d", f.Iterations)
		}
		for k := range 2 {
			a := f.Additive[3*k]
			sum[k] += a / n
			ss[k] += a * a / n
			said[k] += f.SE(0, k, k) * f.SE(0, k, k) / n
		}
	}
	for k := range 2 {
		sd := math.Sqrt((ss[k] - sum[k]*sum[k]) * n / (n - 1))
		near(t, "mean additive variance", sum[k], g[3*k], 3*sd/math.Sqrt(n))
		// A standard deviation from n runs has a standard error of 1/√(2n-2) of itself: within
		// three of them in 99.7 of 100 cases.
		near(t, "standard error said over found", math.Sqrt(said[k])/sd, 1, 3/math.Sqrt(2*n-2))
	}
}
