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

func mustPedigree(t testing.TB, plants []Parents) *Pedigree {
	t.Helper()
	p, err := NewPedigree(plants)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func (p *Pedigree) at(t testing.TB, id string) int32 {
	t.Helper()
	at, ok := p.Place(id)
	if !ok {
		t.Fatalf("plant %q is not in the pedigree", id)
	}
	return at
}

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %v, want %v ± %v", what, got, want, tolerance)
	}
}

// Wright 1921, Genetics 6:111: 1/2, 3/4, 7/8, 15/16 under repeated selfing.
func TestInbreedingSelfing(t *testing.T) {
	t.Parallel()
	plants := []Parents{{ID: "0"}}
	for g := 1; g <= 10; g++ {
		plants = append(plants, Parents{ID: fmt.Sprint(g), Seed: fmt.Sprint(g - 1), Pollen: fmt.Sprint(g - 1)})
	}
	p := mustPedigree(t, plants)
	for g := range 11 {
		want := 1 - math.Pow(0.5, float64(g))
		near(t, fmt.Sprintf("inbreeding of S%d", g), p.Inbreeding(p.at(t, fmt.Sprint(g))), want, 1e-15)
		if g > 0 { // half of what is still heterozygous in the parent
			near(t, fmt.Sprintf("Mendelian variance of S%d", g), p.Mendelian(p.at(t, fmt.Sprint(g))), math.Pow(0.5, float64(g)), 1e-15)
		}
	}
}

// Falconer and Mackay 1996, Introduction to Quantitative Genetics, chapter 5.
func TestCoancestryOfRelatives(t *testing.T) {
	t.Parallel()
	p := mustPedigree(t, []Parents{
		{ID: "full 1", Seed: "a", Pollen: "b"}, {ID: "full 2", Seed: "a", Pollen: "b"}, {ID: "half", Seed: "a", Pollen: "c"},
		{ID: "open", Seed: "a"}, {ID: "a"}, {ID: "b"}, {ID: "c"}, {ID: "cousin", Seed: "full 1", Pollen: "d"},
		{ID: "other cousin", Seed: "full 2", Pollen: "e"},
	})
	for _, c := range []struct {
		x, y string
		want float64
	}{
		{"full 1", "full 2", 1. / 4}, {"full 1", "half", 1. / 8}, {"a", "full 1", 1. / 4}, {"a", "b", 0}, {"a", "a", 1. / 2},
		{"open", "half", 1. / 8}, {"open", "open", 1. / 2}, {"cousin", "other cousin", 1. / 16}, {"a", "cousin", 1. / 8},
	} {
		near(t, c.x+" and "+c.y, p.Coancestry(p.at(t, c.x), p.at(t, c.y)), c.want, 0)
	}
}

// Inbred founders: two plants of a pure variety are alike, their cross with
// another variety is not inbred, and its selfs segregate in full; as Falconer and
// Mackay have it for crosses of inbred lines.
func TestFounderGroups(t *testing.T) {
	t.Parallel()
	p := mustPedigree(t, []Parents{
		{ID: "o1", Group: "Orange", Inbreeding: 1}, {ID: "o2", Group: "orange", Inbreeding: 1}, {ID: "c1", Group: "cream", Inbreeding: 0.5},
		{ID: "c2", Group: "cream", Inbreeding: 0.5}, {ID: "x", Seed: "o1", Pollen: "c1"}, {ID: "y", Seed: "o2", Pollen: "c2"},
		{ID: "f2", Seed: "x", Pollen: "x"},
		{ID: "o3", Seed: "o1", Pollen: "o2"},
	})
	if p.Groups() != 2 {
		t.Fatalf("%d groups, want 2: the letters' case does not matter", p.Groups())
	}
	for _, c := range []struct {
		x, y string
		want float64
	}{{"o1", "o2", 1}, {"c1", "c2", 0.5}, {"o1", "c1", 0}, {"c1", "c1", 0.75}, {"x", "y", 0.25 + 0.125}} {
		near(t, c.x+" and "+c.y, p.Coancestry(p.at(t, c.x), p.at(t, c.y)), c.want, 1e-15)
	}
	for id, want := range map[string][2]float64{"o1": {1, 0}, "c1": {0.5, 0.5}, "x": {0, 0.125}, "f2": {0.5, 0.5}, "o3": {1, 0}} {
		near(t, "inbreeding of "+id, p.Inbreeding(p.at(t, id)), want[0], 1e-15)
		near(t, "Mendelian variance of "+id, p.Mendelian(p.at(t, id)), want[1], 1e-15)
	}
}

func TestNewPedigreeRefuses(t *testing.T) {
	t.Parallel()
	for name, plants := range map[string][]Parents{
		"itself":       {{ID: "a", Seed: "a"}},
		"a ring":       {{ID: "x", Seed: "a", Pollen: "c"}, {ID: "a", Seed: "b"}, {ID: "b", Pollen: "d"}, {ID: "d", Seed: "a", Pollen: "e"}},
		"twice":        {{ID: "a"}, {ID: "a"}},
		"no name":      {{}},
		"too inbred":   {{ID: "a", Inbreeding: 1.5}},
		"no number":    {{ID: "a", Inbreeding: math.NaN()}},
		"below nought": {{ID: "a", Inbreeding: -0.1}},
	} {
		p, err := NewPedigree(plants)
		if err == nil || p != nil {
			t.Errorf("%s: no error", name)
		}
		if ring := name == "itself" || name == "a ring"; ring != errors.Is(err, ErrOwnAncestor) {
			t.Errorf("%s: %v", name, err)
		}
		if name == "a ring" && err.Error()[:9] == `plant "x"` {
			t.Errorf("%v: x is not in the ring", err)
		}
	}
}

// randomPedigree is of n plants with selfs, sibs, unknown parents, groups and
// inbred founders.
func randomPedigree(rnd *rand.Rand, n int) []Parents {
	plants := make([]Parents, n)
	parent := func(i int) string {
		if i == 0 || rnd.IntN(6) == 0 {
			return ""
		}
		return fmt.Sprint(rnd.IntN(i))
	}
	for i := range plants {
		plants[i] = Parents{ID: fmt.Sprint(i), Seed: parent(i), Pollen: parent(i)}
		switch {
		case plants[i].Seed != "" && rnd.IntN(4) == 0:
			plants[i].Pollen = plants[i].Seed
		case plants[i].Seed == "" && plants[i].Pollen == "":
			g := rnd.IntN(4)
			plants[i].Group, plants[i].Inbreeding = []string{"", "a", "b", "c"}[g], []float64{0, 0, 0.5, 0.9}[g]
		}
	}
	return plants
}

// relationship is the additive relationship of all places by the tabular method,
// from the youngest's parents' rows: Emik and Terrill 1949, J. Hered. 40:51.
func relationship(p *Pedigree) *mat.SymDense {
	n := p.Len()
	a := mat.NewSymDense(n, nil)
	get := func(i, j int32) float64 {
		if i == Unknown || j == Unknown {
			return 0
		}
		return a.At(int(i), int(j))
	}
	for i := range int32(n) {
		for j := range i {
			a.SetSym(int(i), int(j), (get(p.seed[i], j)+get(p.pollen[i], j))/2)
		}
		own := 1 + get(p.seed[i], p.pollen[i])/2
		if i < int32(p.groups) {
			own = p.d[i]
		}
		a.SetSym(int(i), int(i), own)
	}
	return a
}

// Against the tabular method, on pedigrees of all kinds, listed in any order.
func TestPedigreeTabular(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		rnd := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		plants := randomPedigree(rnd, rapid.IntRange(1, 60).Draw(t, "plants"))
		rnd.Shuffle(len(plants), func(i, j int) { plants[i], plants[j] = plants[j], plants[i] })
		p, err := NewPedigree(plants)
		if err != nil {
			t.Fatal(err)
		}
		a := relationship(p)
		var all []int32
		for i := range int32(p.Len()) {
			all = append(all, i)
		}
		table := p.Coancestries(all, all)
		for i := range all {
			if i >= p.groups && math.Abs(1+p.f[i]-a.At(i, i)) > 1e-12 {
				t.Fatalf("1 + F of %s = %v, by the table %v", p.ID(int32(i)), 1+p.f[i], a.At(i, i))
			}
			for j := range all {
				if math.Abs(2*table[i][j]-a.At(i, j)) > 1e-12 || math.Abs(2*p.Coancestry(int32(i), int32(j))-a.At(i, j)) > 1e-12 {
					t.Fatalf("relationship of %d and %d: %v and %v, by the table %v", i, j, 2*table[i][j], 2*p.Coancestry(int32(i), int32(j)), a.At(i, j))
				}
			}
		}
	})
}
