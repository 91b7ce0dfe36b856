package book_test

import (
	"testing"

	"hueward/colorimg/must"
	. "hueward/selection/book"
	"hueward/selection/book/booktest"

	"hueward/selection/genetics"
)

// A founder's inbreeding is its own, else its group's, whatever letters that is
// written in; a plant with a parent has none of its own.
func TestPedigreeInbreeding(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	b := booktest.New(t)
	own, of := 0.1, 0.9
	must.OK(t, b.AddLine(ctx, "apricot", ""))
	must.OK(t, b.SetFounderGroup(ctx, FounderGroup{Name: "Äpfelchen", Inbreeding: &of}))
	for _, p := range []Plant{
		{ID: "A", FounderGroup: "ÄPFELCHEN"},
		{ID: "B", FounderGroup: "Äpfelchen", FounderInbreeding: &own},
		{ID: "C"},
		{ID: "D", SeedParent: "A", FounderGroup: "Äpfelchen"},
	} {
		p.Line, p.Season = "apricot", "2026"
		must.OK(t, b.AddPlant(ctx, p))
	}
	got := must.Have(b.Pedigree(ctx))(t)
	want := map[string]genetics.Parents{"A": {Inbreeding: 0.9}, "B": {Inbreeding: 0.1}, "C": {}, "D": {Seed: "A"}}
	for _, p := range got {
		w := want[p.ID]
		if p.Inbreeding != w.Inbreeding || p.Seed != w.Seed || p.Pollen != w.Pollen {
			t.Errorf("%s: %+v, want %+v", p.ID, p, w)
		}
		delete(want, p.ID)
	}
	if len(want) > 0 {
		t.Errorf("not in the pedigree: %v", want)
	}
	groups, err := b.FounderGroups(ctx)
	if err != nil || len(groups) != 1 || groups[0].Plants != 3 {
		t.Errorf("groups %+v, error %v; want one with three plants", groups, err)
	}
}
