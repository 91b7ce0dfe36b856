package choose

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/selection/book"
	"hueward/selection/book/booktest"
)

// An F2 of 40 plants with a recessive pale form 3 standard deviations away, and an F3 of it: the F2's colours
// alone do not part it, the line's do, near to three to one; and that is said.
func TestRatiosByGenes(t *testing.T) {
	t.Parallel()
	ctx, b, rnd := context.Background(), booktest.New(t), rand.New(rand.NewPCG(9, 5))
	copies, pure := map[string]int{"P": 0, "Q": 2}, 1.0
	pale := map[string]bool{}
	add := func(p book.Plant) {
		t.Helper()
		p.Line = "marigold"
		if p.SeedParent != "" {
			copies[p.ID] = 0
			for _, parent := range [2]string{p.SeedParent, p.PollenParent} {
				if 2*rnd.Float64() < float64(copies[parent]) {
					copies[p.ID]++
				}
			}
		} else {
			p.FounderGroup, p.FounderInbreeding = p.ID, &pure
		}
		lab := cie.Lab{L: 68 + 2.6*rnd.NormFloat64(), A: 30 + 2.6*rnd.NormFloat64(), B: 50 + 2.6*rnd.NormFloat64()}
		if copies[p.ID] == 2 {
			pale[p.ID] = true
			lab.L, lab.A, lab.B = lab.L+4.05, lab.A-2.7, lab.B-6.1
		}
		must.OK(t, b.AddPlant(ctx, p))
		r := book.InstrumentReading{Plant: p.ID, Season: p.Season, Source: "colorimeter", Lab: lab}
		must.OK(t, b.AddInstrumentReading(ctx, r))
	}
	add(book.Plant{ID: "P", Season: "2021"})
	add(book.Plant{ID: "Q", Season: "2021"})
	add(book.Plant{ID: "F1", Season: "2022", SeedParent: "P", PollenParent: "Q"})
	for i := range 40 {
		add(book.Plant{ID: fmt.Sprintf("F2-%d", i), Season: "2023", SeedParent: "F1", PollenParent: "F1"})
	}
	for i := range 40 {
		of := fmt.Sprintf("F2-%d", rnd.IntN(40))
		add(book.Plant{ID: fmt.Sprintf("F3-%d", i), Season: "2024", SeedParent: of, PollenParent: of})
	}
	f := must.Have(familyOf(ctx, b, nil, &ratiosOptions{of: []string{"F1"}, want: 1, sure: 95, germination: 100}))(t)
	if !f.genes || len(f.classes) != 2 {
		t.Fatalf("%d classes, told by genes %v", len(f.classes), f.genes)
	}
	light, wrong := f.classes[0], 0
	for _, id := range slices.Concat(light.plants, f.classes[1].plants) {
		if pale[id] != slices.Contains(light.plants, id) {
			wrong++
		}
	}
	if wrong > 5 || math.Abs(light.expect-0.25) > 0.02 || len(f.results) == 0 {
		t.Errorf("%d of 40 plants are in the wrong class; %.2f are expected to be pale; %d ratios", wrong, light.expect, len(f.results))
	}
	if j, err := json.Marshal(f.json()); err != nil || !strings.Contains(string(j), fmt.Sprintf(`"expected_share":%v`, light.expect)) {
		t.Errorf("as JSON %s, %v", j, err)
	}
	// Colours alone, with the number asked for, are not told by genes.
	f, err := familyOf(ctx, b, nil, &ratiosOptions{of: []string{"F1"}, classes: 1, want: 1, sure: 95, germination: 100})
	if err != nil || f.genes {
		t.Errorf("one class asked for: by genes %v, %v", f.genes, err)
	}
}
