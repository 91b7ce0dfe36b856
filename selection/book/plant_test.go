package book_test

import (
	"context"
	"errors"
	"strings"
	"testing"

	"hueward/colorimg/must"
	. "hueward/selection/book"
	"hueward/selection/book/booktest"
)

func TestPlants(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.New(t)
	half := 0.5
	plants := []Plant{
		{ID: "M-10", Line: "marigold", Season: "2026", Note: "by the gate", FounderGroup: "bought 2025", FounderInbreeding: &half},
		{ID: "M-9", Line: "marigold", Season: "2026"},
		{ID: "C-1", Line: "cosmos", Season: "2025", Status: Lost},
		{ID: "M-11", Line: "Marigold", Season: "2027", SeedParent: "m-9", PollenParent: "M-10"},
	}
	for _, p := range plants {
		if err := b.AddPlant(ctx, p); err != nil {
			t.Fatalf("AddPlant(%s): %v", p.ID, err)
		}
	}
	ids := func(f PlantFilter) (out []string) {
		ps := must.Have(b.Plants(ctx, f))(t)
		for _, p := range ps {
			out = append(out, p.ID)
		}
		return out
	}
	for _, c := range []struct {
		f    PlantFilter
		want string
	}{
		{PlantFilter{}, "C-1 M-9 M-10 M-11"},
		{PlantFilter{Line: "MARIGOLD"}, "M-9 M-10 M-11"},
		{PlantFilter{Line: "marigold", Season: "2026"}, "M-9 M-10"},
		{PlantFilter{Status: Lost}, "C-1"},
		{PlantFilter{IDs: []string{"m-9", "c-1", "X-1"}}, "C-1 M-9"},
		{PlantFilter{Line: "dahlia"}, ""},
	} {
		if got := strings.Join(ids(c.f), " "); got != c.want {
			t.Errorf("Plants(%+v) = %q, want %q", c.f, got, c.want)
		}
	}
	got := must.Have(b.Plant(ctx, "m-11"))(t)
	want := &Plant{ID: "M-11", Line: "marigold", Season: "2027", Status: Growing, SeedParent: "M-9", PollenParent: "M-10",
		AddedAt: booktest.Noon}
	booktest.Same(t, "Plant", want, got)
	if p, _ := b.Plant(ctx, "M-10"); p == nil || p.FounderInbreeding == nil || *p.FounderInbreeding != 0.5 || p.FounderGroup != "bought 2025" {
		t.Errorf("founder = %+v, want inbreeding 0.5", p)
	}

	if err := b.SetStatus(ctx, Kept, "M-9", "M-10", "X-1"); !errors.Is(err, ErrNotFound) {
		t.Errorf("SetStatus with an unknown plant = %v, want ErrNotFound", err)
	}
	if got := ids(PlantFilter{Status: Kept}); got != nil {
		t.Errorf("a refused SetStatus changed %q", got)
	}
	must.OK(t, b.SetStatus(ctx, Kept, "m-9", "M-10"))
	if got := strings.Join(ids(PlantFilter{Status: Kept}), " "); got != "M-9 M-10" {
		t.Errorf("kept = %q, want M-9 M-10", got)
	}
	must.OK(t, b.SetNote(ctx, "m-9", "fine form"))
	if p, _ := b.Plant(ctx, "M-9"); p.Note != "fine form" {
		t.Errorf("note = %q", p.Note)
	}
}

func TestPlantErrors(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.New(t)
	must.OK(t, b.AddPlant(ctx, Plant{ID: "M-1", Line: "marigold", Season: "2026"}))
	two := 2.0
	for name, p := range map[string]Plant{
		"same id, other case": {ID: "m-1", Line: "marigold", Season: "2026"},
		"path":                {ID: "../M-2", Line: "marigold", Season: "2026"},
		"no line":             {ID: "M-2", Season: "2026"},
		"no season":           {ID: "M-2", Line: "marigold"},
		"unknown parent":      {ID: "M-2", Line: "other", Season: "2030", SeedParent: "X"},
		"own parent":          {ID: "M-2", Line: "marigold", Season: "2026", SeedParent: "M-2"},
		"unknown status":      {ID: "M-2", Line: "marigold", Season: "2026", Status: "happy"},
		"inbreeding 2":        {ID: "M-2", Line: "marigold", Season: "2026", FounderInbreeding: &two},
	} {
		if err := b.AddPlant(ctx, p); err == nil {
			t.Errorf("%s: AddPlant succeeds", name)
		}
	}
	if n := [3]int{booktest.Count(t, b, "plant"), booktest.Count(t, b, "line"), booktest.Count(t, b, "season")}; n != [3]int{1, 1, 1} {
		t.Errorf("%v plants, lines and seasons after refused ones, want 1 each", n)
	}
	if err := b.SetStatus(ctx, "happy", "M-1"); err == nil {
		t.Error("SetStatus(happy) succeeds")
	}
	if err := b.SetNote(ctx, "X", ""); !errors.Is(err, ErrNotFound) {
		t.Errorf("SetNote of an unknown plant = %v, want ErrNotFound", err)
	}
}
