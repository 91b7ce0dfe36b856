package main

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
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
	must.OK(t, b.Close())
	type found struct {
		Classes []struct {
			Plants   []string
			Expected *float64 `json:"expected_share"` // nil: not told by genes
		}
		Ratios []any
	}
	ratios := func(args ...string) (f found) {
		t.Helper()
		out, _ := hueward(t, statusDone, append([]string{"ratios", "--of", "F1", "--json", "--book", b.Dir()}, args...)...)
		must.OK(t, json.Unmarshal([]byte(out), &f))
		return f
	}
	f := ratios()
	if len(f.Classes) != 2 || f.Classes[0].Expected == nil {
		t.Fatalf("%+v; want two classes, told by genes", f.Classes)
	}
	light, expect, wrong := f.Classes[0].Plants, *f.Classes[0].Expected, 0
	for _, id := range slices.Concat(light, f.Classes[1].Plants) {
		if pale[id] != slices.Contains(light, id) {
			wrong++
		}
	}
	if wrong > 5 || math.Abs(expect-0.25) > 0.02 || len(f.Ratios) == 0 {
		t.Errorf("%d of 40 plants are in the wrong class; %.2f are expected to be pale; %d ratios", wrong, expect, len(f.Ratios))
	}
	// Colours alone, with the number asked for, are not told by genes.
	if f := ratios("--classes", "1"); len(f.Classes) != 1 || f.Classes[0].Expected != nil {
		t.Errorf("one class asked for: %+v; want one, not told by genes", f.Classes)
	}
}
