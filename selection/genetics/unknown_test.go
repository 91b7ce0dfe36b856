package genetics

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// Plants with one known parent and founders in every generation, selfs, and two groups, against a
// dense solution that knows neither groups' places nor Mendelian terms: every unknown
// parent is written out as a plant of its group, the relationship matrix is built by the
// tabular method (Emik and Terrill 1949, J. Hered. 40:51), and values are Cov(u,y) V⁻¹ y.
func TestUnknownParentDense(t *testing.T) {
	t.Parallel()
	for seed := range uint64(20) {
		rnd := rand.New(rand.NewPCG(seed, 63))
		group := func() string { return []string{"", "a", "b"}[rnd.IntN(3)] }
		var plants []Parents
		var before []string
		for g := range 5 {
			var now []string
			for i := range 12 {
				p := Parents{ID: fmt.Sprintf("%d-%d", g, i)}
				pick := func() string { return before[rnd.IntN(len(before))] }
				switch k := rnd.IntN(6); {
				case g == 0 || k == 0:
					p.Group = group()
				case k == 1:
					p.Seed, p.Group = pick(), group()
				case k == 2:
					p.Pollen, p.Group = pick(), group()
				case k == 3:
					p.Seed = pick()
					p.Pollen = p.Seed
				default:
					p.Seed, p.Pollen = pick(), pick()
				}
				plants, now = append(plants, p), append(now, p.ID)
			}
			before = now
		}
		ped := mustPedigree(t, plants)
		const va, ve, vg, vs, mean = 4.0, 5.0, 900.0, 1.0, 70.0
		rec := &Records{Traits: 1, Effects: []Effect{{Levels: 5, Var: []float64{vs}}}}
		var y []float64
		for i, p := range plants {
			y = append(y, mean+10*rnd.NormFloat64())
			rec.Plant, rec.Y = append(rec.Plant, ped.at(t, p.ID)), append(rec.Y, y[i])
			rec.Effects[0].Level = append(rec.Effects[0].Level, int32(i/12))
		}
		got, err := Evaluate(ped, rec, &Components{Additive: []float64{va}, Residual: []float64{ve}, Group: []float64{vg}}, nil)
		if err != nil {
			t.Fatal(err)
		}
		want := phantomEvaluation(plants, y, va, ve, vg, vs)
		for i, p := range plants {
			at := ped.at(t, p.ID)
			if v := got.Value(at)[0]; math.Abs(v-want[i]) > 1e-8 {
				t.Fatalf("seed %d: value of %s (%+v) is %.6f, want %.6f", seed, p.ID, p, v, want[i])
			}
			if v := got.Value(at)[0]; math.Abs(v-mean) > 40 {
				t.Fatalf("seed %d: value of %s is %.1f where plants scatter around %.0f", seed, p.ID, v, mean)
			}
		}
	}
}

// phantomEvaluation are the values of plants, 12 to a season, in the order given, parents first.
func phantomEvaluation(plants []Parents, y []float64, va, ve, vg, vs float64) []float64 {
	place, groups := map[string]int{}, map[string]int{}
	type row struct {
		seed, pollen int // -1: a founder
		share        [3]float64
	}
	var all []row
	founder := func(group string) int {
		if _, ok := groups[group]; !ok {
			groups[group] = len(groups)
		}
		r := row{seed: -1, pollen: -1}
		r.share[groups[group]] = 1
		all = append(all, r)
		return len(all) - 1
	}
	of := make([]int, len(plants))
	for i, p := range plants {
		if p.Seed == "" && p.Pollen == "" {
			of[i] = founder(p.Group)
			place[p.ID] = of[i]
			continue
		}
		parent := func(id string) int {
			if id == "" {
				return founder(p.Group)
			}
			return place[id]
		}
		r := row{seed: parent(p.Seed), pollen: parent(p.Pollen)}
		for g := range r.share {
			r.share[g] = (all[r.seed].share[g] + all[r.pollen].share[g]) / 2
		}
		all = append(all, r)
		of[i] = len(all) - 1
		place[p.ID] = of[i]
	}
	n := len(all)
	a := mat.NewSymDense(n, nil)
	for i, r := range all {
		a.SetSym(i, i, 1)
		if r.seed < 0 {
			continue
		}
		for j := range i {
			a.SetSym(i, j, (a.At(r.seed, j)+a.At(r.pollen, j))/2)
		}
		a.SetSym(i, i, 1+a.At(r.seed, r.pollen)/2)
	}
	u := mat.NewDense(len(plants), len(plants), nil)
	v := mat.NewSymDense(len(plants), nil)
	for i := range plants {
		for j := range plants {
			c := va * a.At(of[i], of[j])
			for g := range 3 {
				c += vg * all[of[i]].share[g] * all[of[j]].share[g]
			}
			u.Set(i, j, c)
			if i == j {
				c += ve
			}
			if i/12 == j/12 {
				c += vs
			}
			if j >= i {
				v.SetSym(i, j, c)
			}
		}
	}
	var chol mat.Cholesky
	chol.Factorize(v)
	var w, out mat.VecDense
	_ = chol.SolveVecTo(&w, mat.NewVecDense(len(y), y))
	out.MulVec(u, &w)
	return out.RawVector().Data
}
