package book_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"hueward/colorimg/must"
	. "hueward/selection/book"
	"hueward/selection/book/booktest"
	"hueward/selection/book/record"
)

// twins is a book in which M-1 and M-2 are one plant that was entered twice, with all
// that may rest on a plant on both.
func twins(t *testing.T) *Book {
	t.Helper()
	ctx := t.Context()
	b := booktest.Filled(t)
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	must(b.AddPlant(ctx, Plant{ID: "M-9", Line: "marigold", Season: "2027"}))
	must(b.SetParents(ctx, "", "M-1", "M-9"))
	for _, c := range []Cross{{SeedParent: "M-1", PollenParent: "M-9"}, {SeedParent: "M-9", PollenParent: "M-1"},
		{SeedParent: "M-1", PollenParent: "M-2"}, {SeedParent: "M-2", Kind: KindOpen}} {
		c.Season = "2026"
		_, _, err := b.AddCross(ctx, c, 2)
		must(err)
	}
	for _, id := range []string{"M-1", "M-2"} {
		must(b.AddPlant(ctx, Plant{ID: "child-of-" + id, Line: "marigold", Season: "2027", SeedParent: id}))
		must(b.SetNote(ctx, id, "note on "+id))
		must(b.SetScores(ctx, Score{Plant: id, Trait: "form", Value: map[string]float64{"M-1": 4, "M-2": 2}[id], On: date(1)}))
		must(b.AddInstrumentReading(ctx, InstrumentReading{Plant: id, Season: "2026", Source: "meter of " + id, Lab: booktest.Buff, SE: 0.1 +
			0.2}))
	}
	return b
}

// Everything of the one goes to the other; the book is sound; taken back it is as it was,
// brought back as it then was.
func TestMergePlants(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	b := twins(t)
	before := booktest.Rows(t, b)
	m := must.Have(b.MergePlants(ctx, "m-1", "M-2"))(t)
	if m.Plant != "M-1" || m.Into != "M-2" || m.Moved != "1 photo, 1 reading by an instrument, 1 plant of its seed, 1 plant of its "+
		"pollen, 2 crosses on it, 1 cross with its pollen, 4 heads, 1 score" {
		t.Errorf("%+v, want what went over", m)
	}
	for _, said := range []string{"doubleness as scored last", "cross X26-003", "is a selfing now"} {
		if !strings.Contains(strings.Join(m.Odd, "; "), said) {
			t.Errorf("%q does not say %q", m.Odd, said)
		}
	}
	if rests, err := b.RestsOn(ctx, "M-2"); err != nil || rests != "2 photos, 3 readings by an instrument, 2 plants of its seed, "+
		"1 plant of its pollen, 3 crosses on it, 2 crosses with its pollen, 6 heads, 2 scores" {
		t.Errorf("on M-2 rests %s, %v", rests, err)
	}
	p, err := b.Plant(ctx, "M-2")
	if err != nil || p.Note != "note on M-2; note on M-1" || p.Status != Kept || p.Photos != 2 {
		t.Errorf("M-2 is %+v, %v; want both notes, and kept as M-1 was", p, err)
	}
	if _, err := b.Plant(ctx, "M-1"); !errors.Is(err, ErrNotFound) {
		t.Errorf("M-1 is still there: %v", err)
	}
	heads, err := b.HeadNames(ctx, []string{"M-2"})
	if want := []string{"M-2-1", "M-2-2", "M-1-1", "M-1-2", "M-1-3", "M-1-4"}; err != nil || !slices.Equal(heads, want) {
		t.Errorf("its heads are %v, %v; want %v", heads, err, want)
	}
	// A new plant of the old name gets heads of names that are on no tag yet.
	after := booktest.Rows(t, b)
	must.OK(t, b.AddPlant(ctx, Plant{ID: "M-1", Line: "marigold", Season: "2026"}))
	if _, heads, err := b.AddCross(ctx, Cross{SeedParent: "M-1", Kind: KindOpen, Season: "2026"}, 1); err != nil || heads[0].Name != "M-1-5" {
		t.Errorf("the first head of a new M-1: %v, %v; want M-1-5", heads, err)
	}
	for range 2 {
		must.Have(b.Undo(ctx, 0))(t)
	}
	if found, err := b.Integrity(ctx); err != nil || len(found) > 0 {
		t.Errorf("found %v, %v", found, err)
	}
	for range 2 {
		must.Have(b.Undo(ctx, 0))(t)
		if d := cmp.Diff(before, booktest.Rows(t, b)); d != "" {
			t.Fatalf("taken back (-before +now):\n%s", d)
		}
		if found, err := b.Integrity(ctx); err != nil || len(found) > 0 {
			t.Errorf("taken back: found %v, %v", found, err)
		}
		must.Have(b.Redo(ctx))(t)
		if d := cmp.Diff(after, booktest.Rows(t, b)); d != "" {
			t.Fatalf("brought back (-after +now):\n%s", d)
		}
	}
}

// What does not fit is told, and the other's word counts; where nothing was said, the
// first's word is taken over.
func TestMergeWords(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	half := 0.5
	for name, c := range map[string]struct {
		a, b, want Plant
		odd        []string
	}{
		"all of one": {Plant{Status: Lost, SeedParent: "M-1", PollenParent: "M-2", Note: "tall"}, Plant{},
			Plant{Status: Lost, SeedParent: "M-1", PollenParent: "M-2", Note: "tall"}, nil},
		"other parents": {Plant{SeedParent: "M-1"}, Plant{SeedParent: "M-2", Status: Kept}, Plant{SeedParent: "M-2", Status: Kept},
			[]string{"parents M-2 × not known, not M-1 × not known"}},
		"one parent each": {Plant{PollenParent: "M-1"}, Plant{SeedParent: "M-2"}, Plant{SeedParent: "M-2", PollenParent: "M-1"}, nil},
		"other status and line": {Plant{Status: Kept, Line: "cosmos"}, Plant{Status: Passed}, Plant{Status: Passed},
			[]string{"line marigold, not cosmos", "status dropped, not kept"}},
		"other origin": {Plant{FounderGroup: "bought"}, Plant{FounderGroup: "given"}, Plant{FounderGroup: "given"},
			[]string{"founder group given, not bought"}},
		"origin of one": {Plant{FounderGroup: "bought", FounderInbreeding: &half}, Plant{},
			Plant{FounderGroup: "bought", FounderInbreeding: &half}, nil},
		"origin or parents": {Plant{SeedParent: "M-1"}, Plant{FounderGroup: "given"}, Plant{FounderGroup: "given"},
			[]string{"founder group given, not parents M-1 × not known"}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := booktest.Filled(t)
			for id, p := range map[string]Plant{"A": c.a, "B": c.b} {
				p.ID, p.Season = id, "2026"
				if p.Line == "" {
					p.Line = "marigold"
				}
				must.OK(t, b.AddPlant(ctx, p))
			}
			m, err := b.MergePlants(ctx, "A", "B")
			if err != nil || !slices.Equal(m.Odd, c.odd) {
				t.Errorf("told %q, %v; want %q", m.Odd, err, c.odd)
			}
			got := must.Have(b.Plant(ctx, "B"))(t)
			c.want.ID, c.want.Line, c.want.Season, c.want.AddedAt = "B", "marigold", "2026", got.AddedAt
			if c.want.Status == "" {
				c.want.Status = Growing
			}
			booktest.Same(t, "B", c.want, *got)
		})
	}
}

func TestMergeRefuses(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	b := twins(t)
	if err := b.SetParents(ctx, "M-2", "", "M-1"); err != nil { // M-2, M-1, M-9: mother, child, grandchild
		t.Fatal(err)
	}
	before := booktest.Rows(t, b)
	for _, c := range []struct {
		from, into string
		want       error
	}{{"M-1", "M-9", record.ErrOwnAncestor}, {"M-9", "M-2", record.ErrOwnAncestor}, {"M-2", "M-9", record.ErrOwnAncestor},
		{"M-1", "M-7", ErrNotFound},
		{"M-1..M-2", "M-9", nil}, {"m-1", "M-1", nil}} {
		_, err := b.MergePlants(ctx, c.from, c.into)
		if err == nil || c.want != nil && !errors.Is(err, c.want) {
			t.Errorf("%s into %s: %v, want %v", c.from, c.into, err, c.want)
		}
	}
	booktest.Same(t, "refused, yet changed", before, booktest.Rows(t, b))
	_, err := b.Remove(ctx, "plant", "M-9")
	if err == nil || !strings.Contains(err.Error(), "cannot be taken out: it has 1 cross on it, 1 cross with its pollen, 2 heads;") {
		t.Errorf("removing M-9: %v, want what rests on it", err)
	}
}

// Where a plant that is merged is a tuber of another, or has tubers, none is left as a tuber
// of a tuber, or of a plant that is gone.
func TestMergeClones(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	for _, c := range []struct {
		from, into string
		want       map[string]string
		odd        string
	}{
		{"T-1", "D-1", nil, ""}, {"D-1", "T-1", nil, ""}, // a tuber is no second entry of its plant
		{"T-1", "T-2", map[string]string{"T-2": "D-1", "E-2": "E-1"}, ""},
		{"D-1", "E-1", map[string]string{"T-1": "E-1", "T-2": "E-1", "E-2": "E-1"}, ""},
		{"T-1", "E-1", map[string]string{"E-1": "D-1", "T-2": "D-1", "E-2": "D-1"}, "season 2026, not 2027"},
		{"E-2", "T-1", map[string]string{"T-1": "D-1", "T-2": "D-1"}, "tuber of D-1, not tuber of E-1"},
		{"T-1", "S-1", map[string]string{"T-2": "D-1", "E-2": "E-1"}, "parents E-1 × not known, not tuber of D-1"}, // a seedling stays one
		{"S-1", "T-1", map[string]string{"T-1": "D-1", "T-2": "D-1", "E-2": "E-1"}, "tuber of D-1, not parents E-1 × not known"},
	} {
		t.Run(c.from+" into "+c.into, func(t *testing.T) {
			t.Parallel()
			b := booktest.New(t)
			for of, tubers := range map[string][]string{"D-1": {"T-1", "T-2"}, "E-1": {"E-2"}} {
				must.OK(t, b.AddPlant(ctx, Plant{ID: of, Line: "dahlia", Season: "2026"}))
				if _, _, err := b.AddClones(ctx, of, "2027", ClonesBy[0], 0, tubers); err != nil {
					t.Fatal(err)
				}
			}
			must.OK(t, b.AddPlant(ctx, Plant{ID: "S-1", Line: "dahlia", Season: "2027", SeedParent: "E-1"}))
			before := booktest.Rows(t, b)
			m, err := b.MergePlants(ctx, c.from, c.into)
			if (err == nil) != (c.want != nil) {
				t.Fatal(err)
			}
			if c.want == nil {
				return
			}
			if got := strings.Join(m.Odd, "; "); got != c.odd {
				t.Errorf("told %q, want %q", got, c.odd)
			}
			got := must.Have(b.Genotypes(ctx))(t)
			booktest.Same(t, "whose genes", c.want, got)
			if found, err := b.Integrity(ctx); err != nil || len(found) > 0 {
				t.Errorf("found %v, %v", found, err)
			}
			must.Have(b.Undo(ctx, 0))(t)
			booktest.Same(t, "taken back", before, booktest.Rows(t, b))
		})
	}
}
