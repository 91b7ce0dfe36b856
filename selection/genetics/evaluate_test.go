package genetics

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// mrode is the pedigree of examples 3.1 and 5.1 of Mrode, Linear Models for the
// Prediction of Animal Breeding Values, with its records' sexes as a fixed effect
// (from memory, recomputed).
func mrode(t testing.TB, traits ...[]float64) (*Pedigree, *Records) {
	ped := mustPedigree(t, []Parents{
		{ID: "1"}, {ID: "2"}, {ID: "3"}, {ID: "4", Seed: "1"}, {ID: "5", Seed: "3", Pollen: "2"},
		{ID: "6", Seed: "1", Pollen: "2"}, {ID: "7", Seed: "4", Pollen: "5"}, {ID: "8", Seed: "3", Pollen: "6"},
	})
	rec := &Records{Traits: len(traits), Effects: []Effect{{Level: []int32{0, 1, 1, 0, 0}, Levels: 2}}}
	for i := range 5 {
		rec.Plant = append(rec.Plant, ped.at(t, fmt.Sprint(4+i)))
		for _, y := range traits {
			rec.Y = append(rec.Y, y[i])
		}
	}
	return ped, rec
}

var (
	mrodeFirst  = []float64{4.5, 2.9, 3.9, 3.5, 5.0}
	mrodeSecond = []float64{6.8, 5.0, 6.8, 6.0, 7.5}
)

func TestEvaluateMrode(t *testing.T) {
	t.Parallel()
	for _, opt := range []*EvaluateOptions{nil, {ValuesOnly: true, Tolerance: 1e-12}} {
		// Example 3.1: variance ratio 2.
		ped, rec := mrode(t, mrodeFirst)
		v, err := Evaluate(ped, rec, &Components{Additive: []float64{20}, Residual: []float64{40}}, opt)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "sex 1", v.Levels[0][0], 4.359, 6e-4)
		near(t, "sex 2", v.Levels[0][1], 3.404, 6e-4)
		reliability := []float64{0.058, 0.016, 0.087, 0.145, 0.144, 0.115, 0.116, 0.155}
		for i, want := range []float64{0.098, -0.019, -0.041, -0.009, -0.186, 0.177, -0.249, 0.183} {
			at := ped.at(t, fmt.Sprint(i+1))
			near(t, fmt.Sprintf("value of %d", i+1), v.Value(at)[0], want, 6e-4)
			if opt == nil {
				near(t, fmt.Sprintf("reliability of %d", i+1), v.Reliability(at, 0), reliability[i], 6e-4)
			} else if !math.IsNaN(v.Reliability(at, 0)) {
				t.Error("a reliability of values alone")
			}
		}
		// Example 5.1: two traits.
		ped, rec = mrode(t, mrodeFirst, mrodeSecond)
		v, err = Evaluate(ped, rec, &Components{Additive: []float64{20, 18, 18, 40}, Residual: []float64{40, 11, 11, 30}}, opt)
		if err != nil {
			t.Fatal(err)
		}
		for i, want := range [][2]float64{{4.361, 6.800}, {3.397, 5.880}} {
			near(t, "sex, trait 1", v.Levels[0][2*i], want[0], 6e-4)
			near(t, "sex, trait 2", v.Levels[0][2*i+1], want[1], 6e-4)
		}
		for i, want := range [][2]float64{
			{0.151, 0.280}, {-0.015, -0.008}, {-0.078, -0.170}, {-0.010, -0.013}, {-0.270, -0.478}, {0.276, 0.517}, {-0.316, -0.479}, {0.244, 0.392},
		} {
			got := v.Value(ped.at(t, fmt.Sprint(i+1)))
			near(t, fmt.Sprintf("trait 1 of %d", i+1), got[0], want[0], 6e-4)
			near(t, fmt.Sprintf("trait 2 of %d", i+1), got[1], want[1], 6e-4)
		}
	}
}

// Against a dense solution that inverts the relationship matrix of the tabular
// method, on random pedigrees with selfs, groups, inbred founders, missing traits,
// repeated records, random and fixed effects, and records' own errors; solved
// both ways.
func TestEvaluateDense(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		rnd := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 3))
		tr := rapid.IntRange(1, 3).Draw(t, "traits")
		ped, err := NewPedigree(randomPedigree(rnd, rapid.IntRange(2, 30).Draw(t, "plants")))
		if err != nil {
			t.Fatal(err)
		}
		for i := range ped.d { // pure lines are taken to differ by a little
			if i >= ped.groups {
				ped.d[i] = max(ped.d[i], least)
			}
		}
		n := rapid.IntRange(2, 40).Draw(t, "records")
		rec := &Records{Traits: tr, Effects: []Effect{{Level: make([]int32, n), Levels: 1},
			{Level: make([]int32, n), Levels: 3, Var: spd(rnd, tr)}}}
		ownErrors := rapid.Bool().Draw(t, "own errors")
		for i := range n {
			rec.Plant = append(rec.Plant, int32(ped.groups+rnd.IntN(ped.Len()-ped.groups)))
			rec.Effects[1].Level[i] = rnd.Int32N(4) - 1
			for k := range tr {
				y := rnd.NormFloat64()
				if k > 0 && i > 0 && rnd.IntN(8) == 0 {
					y = math.NaN()
				}
				rec.Y = append(rec.Y, y)
			}
			if ownErrors {
				rec.Error = append(rec.Error, spd(rnd, tr)...)
			}
		}
		par := &Components{Additive: spd(rnd, tr), Residual: spd(rnd, tr)}
		if rapid.Bool().Draw(t, "plant effects") {
			par.Plant = spd(rnd, tr)
		}
		if rapid.Bool().Draw(t, "groups") {
			par.Group = spd(rnd, tr)
		}
		want, wantVar := denseEvaluation(t, ped, rec, par)
		got, err := Evaluate(ped, rec, par, nil)
		if err != nil {
			t.Fatal(err)
		}
		steps, err := Evaluate(ped, rec, par, &EvaluateOptions{ValuesOnly: true, Tolerance: 1e-13})
		if err != nil {
			t.Fatal(err)
		}
		for i := int32(ped.groups); int(i) < ped.Len(); i++ {
			for k := range tr {
				w := want[int(i)*tr+k]
				if math.Abs(got.Value(i)[k]-w) > 1e-6*(1+math.Abs(w)) || math.Abs(steps.Value(i)[k]-w) > 1e-5*(1+math.Abs(w)) {
					t.Fatalf("value of %s, trait %d: %v, by iteration %v, dense %v", ped.ID(i), k, got.Value(i)[k], steps.Value(i)[k], w)
				}
				for l := range tr {
					w, g := wantVar.At(int(i)*tr+k, int(i)*tr+l), got.ErrorVar[int(i)*tr*tr+k*tr+l]
					if math.Abs(g-w) > 1e-5*(1+math.Abs(w)) {
						t.Fatalf("error variance of %s: %v, dense %v", ped.ID(i), g, w)
					}
				}
			}
		}
	})
}

// spd is a random symmetric positive definite matrix.
func spd(rnd *rand.Rand, t int) []float64 {
	x := make([]float64, t*t)
	for i := range x {
		x[i] = rnd.NormFloat64()
	}
	p := product(x, mat.DenseCopyOf(mat.NewDense(t, t, x).T()).RawMatrix().Data, t)
	for i := range t {
		p[i*t+i] += 0.3
	}
	return p
}

// denseEvaluation is best linear unbiased prediction from the variance of the
// records, V, without mixed model equations: Henderson 1963.
func denseEvaluation(t fataler, ped *Pedigree, rec *Records, par *Components) (values []float64, errorVar *mat.Dense) {
	tr, n, places := rec.Traits, len(rec.Plant), ped.Len()
	// The breeding values' own covariance: the relationship without groups, or with
	// groups added as what they contribute.
	var a *mat.SymDense
	contribution := mat.NewDense(places, places, nil) // of groups to places
	if par.Group == nil {
		a = relationship(ped)
	} else {
		bare := *ped
		bare.d = append([]float64{}, ped.d...)
		for g := range ped.groups {
			bare.d[g] = 0
		}
		a = mat.NewSymDense(places, nil) // Σ over Mendelian terms, by their shares
		share := mat.NewDense(places, places, nil)
		for i := range int32(places) {
			for _, parent := range [2]int32{ped.seed[i], ped.pollen[i]} {
				if parent != Unknown {
					for k := range places {
						share.Set(int(i), k, share.At(int(i), k)+share.At(int(parent), k)/2)
					}
				}
			}
			share.Set(int(i), int(i), 1)
		}
		for i := range places {
			for j := i; j < places; j++ {
				s := 0.0
				for k := ped.groups; k < places; k++ {
					s += share.At(i, k) * share.At(j, k) * bare.d[k]
				}
				a.SetSym(i, j, s)
			}
			for g := range ped.groups {
				contribution.Set(i, g, share.At(i, g))
			}
		}
	}
	cov := func(i, j int32, k, l int) float64 { // of breeding values
		c := a.At(int(i), int(j)) * par.Additive[k*tr+l]
		if par.Group != nil {
			for g := range ped.groups {
				c += contribution.At(int(i), g) * contribution.At(int(j), g) * par.Group[k*tr+l]
			}
		}
		return c
	}
	type one struct{ r, k int }
	var obs []one
	for r := range n {
		for k := range tr {
			if !math.IsNaN(rec.Y[r*tr+k]) {
				obs = append(obs, one{r, k})
			}
		}
	}
	m := len(obs)
	v, x, y, c := mat.NewDense(m, m, nil), mat.NewDense(m, tr, nil), mat.NewDense(m, 1, nil), mat.NewDense(m, places*tr, nil)
	for i, o := range obs {
		y.Set(i, 0, rec.Y[o.r*tr+o.k])
		x.Set(i, o.k, 1) // the fixed effect has one level
		for j, q := range obs {
			s := cov(rec.Plant[o.r], rec.Plant[q.r], o.k, q.k)
			if lo, lq := rec.Effects[1].Level[o.r], rec.Effects[1].Level[q.r]; lo >= 0 && lo == lq {
				s += rec.Effects[1].Var[o.k*tr+q.k]
			}
			if par.Plant != nil && rec.Plant[o.r] == rec.Plant[q.r] {
				s += par.Plant[o.k*tr+q.k]
			}
			if o.r == q.r {
				s += par.Residual[o.k*tr+q.k]
				if rec.Error != nil {
					s += rec.Error[o.r*tr*tr+o.k*tr+q.k]
				}
			}
			v.Set(i, j, s)
		}
		for p := range places {
			for l := range tr {
				c.Set(i, p*tr+l, cov(rec.Plant[o.r], int32(p), o.k, l))
			}
		}
	}
	var vi, vx, xvx, xvxi, b, res, vr, u mat.Dense
	if err := vi.Inverse(v); err != nil {
		t.Fatal(err)
	}
	vx.Mul(&vi, x)
	xvx.Mul(x.T(), &vx)
	if err := xvxi.Inverse(&xvx); err != nil {
		t.Fatal(err)
	}
	var xvy mat.Dense
	xvy.Mul(vx.T(), y)
	b.Mul(&xvxi, &xvy)
	res.Mul(x, &b)
	res.Sub(y, &res)
	vr.Mul(&vi, &res)
	u.Mul(c.T(), &vr)
	// Var(u - û) = G - c'Vi c + c'Vi x (x'Vi x)⁻¹ x'Vi c
	var vc, cvc, xvc, tmp, pev mat.Dense
	vc.Mul(&vi, c)
	cvc.Mul(c.T(), &vc)
	xvc.Mul(vx.T(), c)
	tmp.Mul(&xvxi, &xvc)
	pev.Mul(xvc.T(), &tmp)
	pev.Sub(&pev, &cvc)
	for i := range places {
		for j := range places {
			for k := range tr {
				for l := range tr {
					pev.Set(i*tr+k, j*tr+l, pev.At(i*tr+k, j*tr+l)+cov(int32(i), int32(j), k, l))
				}
			}
		}
	}
	return u.RawMatrix().Data, &pev
}

type fataler interface{ Fatal(...any) }

func TestEvaluateRefuses(t *testing.T) {
	t.Parallel()
	ped, _ := mrode(t, mrodeFirst)
	good := Components{Additive: []float64{20}, Residual: []float64{40}}
	for name, c := range map[string]struct {
		change func(*Records, *Components)
		want   error
	}{
		"no additive variance": {func(_ *Records, c *Components) { c.Additive = []float64{0} }, nil},
		"no residual variance": {func(_ *Records, c *Components) { c.Residual = []float64{-1} }, nil},
		"infinite record":      {func(r *Records, _ *Components) { r.Y[0] = math.Inf(1) }, nil},
		"nothing measured": {func(r *Records, _ *Components) {
			r.Y = []float64{math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN()}
		}, ErrNoRecords},
		"too few values":   {func(r *Records, _ *Components) { r.Y = r.Y[:3] }, nil},
		"a level too many": {func(r *Records, _ *Components) { r.Effects[0].Level[1] = 2 }, nil},
		"no such plant":    {func(r *Records, _ *Components) { r.Plant[0] = 99 }, nil},
		"an effect twice":  {func(r *Records, _ *Components) { r.Effects = append(r.Effects, r.Effects[0]) }, nil},
	} {
		_, r := mrode(t, mrodeFirst)
		par := good
		c.change(r, &par)
		if _, err := Evaluate(ped, r, &par, nil); err == nil || c.want != nil && !errors.Is(err, c.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
