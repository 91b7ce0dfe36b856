package genetics

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// TestGenerations holds the names against those that any handbook of plant
// breeding gives them. Common practice; from memory.
func TestGenerations(t *testing.T) {
	t.Parallel()
	plants := []Parents{
		{ID: "A", Group: "Orange"}, {ID: "A2", Group: "orange"}, {ID: "B"}, {ID: "C"}, {ID: "D"},
		{ID: "F1", Seed: "A", Pollen: "B"}, {ID: "F1b", Seed: "B", Pollen: "A"},
		{ID: "F2", Seed: "F1", Pollen: "F1"}, {ID: "F2sib", Seed: "F1", Pollen: "F1b"}, {ID: "F3", Seed: "F2", Pollen: "F2sib"},
		{ID: "S1", Seed: "A", Pollen: "A"}, {ID: "S2", Seed: "S1", Pollen: "S1"},
		{ID: "sib", Seed: "A", Pollen: "A2"}, {ID: "sib2", Seed: "sib", Pollen: "A"},
		{ID: "inbred F1", Seed: "S2", Pollen: "B"},
		{ID: "BC1", Seed: "F1", Pollen: "A"}, {ID: "BC1 by its group", Seed: "A2", Pollen: "F1"},
		{ID: "BC2", Seed: "A", Pollen: "BC1"}, {ID: "BC1F2", Seed: "BC1", Pollen: "BC1"}, {ID: "BC1F3", Seed: "BC1F2", Pollen: "BC1F2"},
		{ID: "BC2F2", Seed: "BC2", Pollen: "BC2"}, {ID: "both ways", Seed: "BC1", Pollen: "B"},
		{ID: "3-way", Seed: "F1", Pollen: "C"}, {ID: "CD", Seed: "C", Pollen: "D"}, {ID: "4-way", Seed: "F1", Pollen: "CD"},
		{ID: "4-way F2", Seed: "4-way", Pollen: "4-way"}, {ID: "shared", Seed: "3-way", Pollen: "CD"},
		{ID: "after shared", Seed: "shared", Pollen: "B"},
		{ID: "OP", Seed: "A"}, {ID: "OP2", Seed: "OP"}, {ID: "OP of F1", Pollen: "F1"}, {ID: "unlisted", Seed: "X", Pollen: "X"},
		{ID: "own", Seed: "own", Pollen: "A"}, {ID: "ring1", Seed: "ring2", Pollen: "A"}, {ID: "ring2", Seed: "ring1", Pollen: "A"},
		{ID: "of a ring", Seed: "ring1", Pollen: "A"},
	}
	want := map[string]string{
		"A": "founder", "A2": "founder", "B": "founder", "C": "founder", "D": "founder",
		"F1": "F1", "F1b": "F1", "F2": "F2", "F2sib": "F2", "F3": "F3", "S1": "S1", "S2": "S2", "sib": "Sib1", "sib2": "Sib2", "inbred F1": "F1",
		"BC1": "BC1", "BC1 by its group": "BC1", "BC2": "BC2", "BC1F2": "BC1F2", "BC1F3": "BC1F3", "BC2F2": "BC2F2", "both ways": "cross",
		"3-way": "F1 of 3", "CD": "F1", "4-way": "F1 of 4", "4-way F2": "F2 of 4", "shared": "cross", "after shared": "cross",
		"OP": "OP1", "OP2": "OP2", "OP of F1": "OP1", "unlisted": "S1", "own": "", "ring1": "", "ring2": "", "of a ring": "",
	}
	if d := cmp.Diff(want, Generations(plants)); d != "" {
		t.Errorf("Generations (-want +got):\n%s", d)
	}
}

// TestGenerationsOrder holds that the order of the plants does not matter.
func TestGenerationsOrder(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(t, "plants")
		plants := make([]Parents, n)
		for i := range plants {
			plants[i].ID = fmt.Sprint("p", i)
			parent := func(label string) string { // older, or none
				if k := rapid.IntRange(-1, i-1).Draw(t, label); k >= 0 {
					return plants[k].ID
				}
				return ""
			}
			plants[i].Seed, plants[i].Pollen = parent("seed"), parent("pollen")
		}
		want := Generations(plants)
		for _, p := range plants {
			if want[p.ID] == "" {
				t.Fatalf("plant %s of a pedigree without a ring has no generation", p.ID)
			}
		}
		mixed := slices.Clone(plants)
		rand.New(rand.NewPCG(uint64(n), 1)).Shuffle(n, func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
		if got := Generations(mixed); !maps.Equal(got, want) {
			t.Fatalf("another order gives other generations: %s", cmp.Diff(want, got))
		}
	})
}

// TestGenerationsDeep holds that a long line of descent does not matter.
func TestGenerationsDeep(t *testing.T) {
	t.Parallel()
	const n = 30_000
	plants := make([]Parents, n)
	for i := range plants {
		plants[i] = Parents{ID: fmt.Sprint(i)}
		if i > 0 {
			plants[i].Seed = fmt.Sprint(i - 1)
			plants[i].Pollen = plants[i].Seed
		}
	}
	slices.Reverse(plants)
	if got, want := Generations(plants)[fmt.Sprint(n-1)], fmt.Sprint("S", n-1); got != want {
		t.Errorf("the last of %d selfed plants is %q, want %q", n, got, want)
	}
}
