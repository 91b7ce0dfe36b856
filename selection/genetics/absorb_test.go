package genetics

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// Components are the same whether ancestors without records are absorbed or solved for,
// with founder groups, selfs, unknown parents and plants grown on.
func TestAbsorbSame(t *testing.T) {
	rnd := rand.New(rand.NewPCG(61, 61))
	var plants []Parents
	name := func(s, i int) string { return fmt.Sprintf("%d-%d", s, i) }
	for i := range 24 {
		plants = append(plants, Parents{ID: name(0, i), Group: []string{"a", "b", ""}[i%3], Inbreeding: []float64{0.5, 0, 0}[i%3]})
	}
	value := map[string]float64{}
	for _, p := range plants {
		value[p.ID] = 2*rnd.NormFloat64() + 5*float64(len(p.Group))
	}
	for s := 1; s <= 4; s++ {
		for i := range 40 {
			p := Parents{ID: name(s, i), Seed: name(s-1, rnd.IntN(12)), Pollen: name(s-1, rnd.IntN(12))}
			if i%9 == 0 {
				p.Pollen = p.Seed
			}
			if i%11 == 0 {
				p.Seed = name(max(s-2, 0), rnd.IntN(6))
			}
			v := (value[p.Seed]+value[p.Pollen])/2 + 1.4*rnd.NormFloat64()
			if i%13 == 0 {
				p.Pollen = ""
			}
			value[p.ID] = v
			plants = append(plants, p)
		}
	}
	ped, err := NewPedigree(plants)
	if err != nil {
		t.Fatal(err)
	}
	rec := &Records{Traits: 2}
	season := Effect{Levels: 2, Var: []float64{1, 0, 0, 1}}
	for s := 3; s <= 4; s++ {
		for i := range 40 {
			at, _ := ped.Place(name(s, i))
			rec.Plant = append(rec.Plant, at)
			v := value[name(s, i)]
			rec.Y = append(rec.Y, v+2*rnd.NormFloat64(), 0.5*v+rnd.NormFloat64())
			rec.Error = append(rec.Error, 0.1*float64(1+i%3), 0, 0, 0.1)
			season.Level = append(season.Level, int32(s-3))
		}
	}
	rec.Effects = []Effect{season}
	opt := FitOptions{Group: []float64{2500, 0, 0, 2500}, Prior: &Components{Additive: []float64{2, 0, 0, 2},
		Residual: []float64{2, 0, 0, 2}}, PriorWeight: 8}
	a := absorb(ped, rec)
	if a == nil || a.rows < 10 {
		t.Fatalf("nothing is absorbed: %+v", a)
	}
	fast, err := FitComponents(ped, rec, &opt)
	if err != nil {
		t.Fatal(err)
	}
	opt.whole = true
	slow, err := FitComponents(ped, rec, &opt)
	if err != nil {
		t.Fatal(err)
	}
	for i := range 4 {
		if math.Abs(fast.Additive[i]-slow.Additive[i]) > 1e-4 || math.Abs(fast.Residual[i]-slow.Residual[i]) > 1e-4 {
			t.Fatalf("additive %v and residual %v, without absorbing %v and %v", fast.Additive, fast.Residual, slow.Additive, slow.Residual)
		}
	}
	for k := range 2 {
		h, se := fast.Heritability(k)
		g, sg := slow.Heritability(k)
		if math.Abs(h-g) > 1e-4 || math.Abs(se-sg) > 1e-3 {
			t.Errorf("heritability %v ± %v, without absorbing %v ± %v", h, se, g, sg)
		}
	}
}

// Plants that neither have a record nor offspring, as many as they are, do not stop a fit.
func TestAbsorbLeaves(t *testing.T) {
	rnd := rand.New(rand.NewPCG(62, 62))
	var plants []Parents
	for i := range 60 {
		plants = append(plants, Parents{ID: fmt.Sprint(i)})
	}
	ped, err := NewPedigree(plants)
	if err != nil {
		t.Fatal(err)
	}
	rec := &Records{Traits: 1}
	for i := range 20 {
		at, _ := ped.Place(fmt.Sprint(i))
		rec.Plant, rec.Y, rec.Error = append(rec.Plant, at), append(rec.Y, rnd.NormFloat64()), append(rec.Error, 0)
	}
	one := []float64{1}
	f, err := FitComponents(ped, rec, &FitOptions{Prior: &Components{Additive: one, Residual: one}, PriorWeight: 8})
	if err != nil || !(f.Additive[0] > 0) {
		t.Errorf("fit %+v, error %v", f, err)
	}
}
