package report_test

import (
	"errors"
	"path/filepath"
	"testing"
	"time"

	"hueward/colorimg/cie"
	"hueward/report/story"
	"hueward/selection/book"
	"hueward/selection/book/booktest"
)

// What a book of an earlier version calls form is how full the flower is: people read it by that name, once.
func TestOldForm(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	b := booktest.Open(t, booktest.CopyDir(t, filepath.Join("..", "selection", "book", "testdata", "v3")))
	if _, err := booktest.DB(t, b).Exec(`
		INSERT INTO trait (id, name, key, low, high, words, note) VALUES (1, 'form', 'form', 1, 5,
			'["single","a few more petals","semi-double","double","fully double"]', 'how full the flower is');
		INSERT INTO score (plant_id, trait_id, value, scored_on, added_at) VALUES (1, 1, 4, '2026-08-01', '2026-08-01T12:00:00Z')`); err != nil {
		t.Fatal(err)
	}
	if err := b.SetScores(ctx, book.Score{Plant: "M-2", Trait: "doubleness", Value: 2}); err != nil {
		t.Fatal(err)
	}
	p, err := story.Of(ctx, b, "M-1")
	if err != nil || len(p.Scores) != 1 || p.Scores[0].Trait != "doubleness" || p.Scores[0].Word != "double" {
		t.Errorf("the story has %+v, %v", p.Scores, err)
	}
	n := 0
	for _, x := range p.Traits {
		if x.Title() == "doubleness" {
			n++
			if x.Better != "more" {
				t.Errorf("better is %q", x.Better)
			}
		}
	}
	h, err := b.History(ctx, 1)
	if n != 1 || err != nil || len(h) != 1 || h[0].What != "scored M-2 doubleness 2" {
		t.Errorf("%d traits of that name; history %+v, %v", n, h, err)
	}
}

// A plant of the fourth generation: three generations of ancestors are whole, and what is
// behind them is known to be there. The story has what was entered, and nothing of others.
func TestStoryOf(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	b, err := book.Create(ctx, t.TempDir()+"/book", &book.Options{Now: time.Now})
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	day := time.Date(2026, 7, 1, 0, 0, 0, 0, time.UTC)
	must(b.SetTarget(ctx, "buff", book.Target{Aim: book.Move, Lab: cie.Lab{L: 70, A: 10, B: 40}, Within: 4, Source: "--lab"}))
	for _, p := range []book.Plant{{ID: "A"}, {ID: "B"}, {ID: "C", SeedParent: "A", PollenParent: "B"}, {ID: "D", SeedParent: "C"},
		{ID: "E", SeedParent: "D", PollenParent: "D"}, {ID: "F", SeedParent: "E", PollenParent: "C"}} {
		p.Line, p.Season = "buff", "2026"
		must(b.AddPlant(ctx, p))
	}
	for i, l := range []float64{60, 70} {
		must(b.AddInstrumentReading(ctx, book.InstrumentReading{Plant: "F", Season: "2026", Source: "spectrophotometer",
			Lab: cie.Lab{L: l, A: 10, B: 40}, SE: 1 - float64(i)/2, At: day}))
	}
	c, _, err := b.AddCross(ctx, book.Cross{SeedParent: "F", PollenParent: "A", Season: "2026", MadeOn: day}, 2)
	must(err)
	_, _, err = b.AddCross(ctx, book.Cross{SeedParent: "A", PollenParent: "B", Season: "2026", MadeOn: day}, 1)
	must(err)
	p, err := story.Of(ctx, b, "f")
	must(err)
	if p.ID != "F" || len(p.Readings) != 2 || len(p.Crosses) != 1 || p.Crosses[0].Name != c.Name || len(p.Heads) != 2 ||
		len(p.Offspring) != 0 {
		t.Errorf("the story of F is %+v", p)
	}
	if p.Hex != (cie.Lab{L: 70, A: 10, B: 40}).Hex() {
		t.Errorf("its colour is %s, want the surer reading's", p.Hex)
	}
	for _, r := range p.Readings {
		if want := cie.DeltaE2000(r.Lab, cie.Lab{L: 70, A: 10, B: 40}); !r.HasAim || r.DeltaE != want {
			t.Errorf("a reading %v away from the target, want %v", r.DeltaE, want)
		}
	}
	e := p.Pedigree.Parents[0]
	d := e.Parents[0]
	if e.ID != "E" || e.As != "seed parent" || d.ID != "D" || len(d.Parents) != 2 || d.Parents[0].ID != "C" || d.Parents[1].ID != "" ||
		!d.Parents[0].More || len(d.Parents[0].Parents) != 0 || len(p.Pedigree.Parents[1].Parents) != 2 {
		t.Errorf("the pedigree of F: %+v, %+v", e, d)
	}
	if a, err := story.Of(ctx, b, "A"); err != nil || len(a.Offspring) != 1 || len(a.Crosses) != 2 || a.Pedigree.Parents != nil {
		t.Errorf("the story of A is %+v, %v", a, err)
	}
	if _, err := story.Of(ctx, b, "nobody"); !errors.Is(err, book.ErrNotFound) {
		t.Errorf("of a plant that is not there: %v", err)
	}
}
