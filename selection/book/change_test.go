package book_test

import (
	"context"
	"errors"
	"testing"

	"hueward/colorimg/must"
	. "hueward/selection/book"
	"hueward/selection/book/booktest"

	"github.com/google/go-cmp/cmp"
)

// Every kind of change is taken back to the very rows that were there.
func TestUndo(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.Filled(t)
	f := 0.25
	for _, c := range []struct {
		name string
		do   func() error
	}{
		{"status", func() error { return b.SetStatus(ctx, Lost, "M-1", "M-2") }},
		{"note", func() error { return b.SetNote(ctx, "M-1", "sturdy, “tall”") }},
		{"plant with a new line and season", func() error {
			return b.AddPlant(ctx, Plant{ID: "C-1", Line: "cosmos", Season: "2031", SeedParent: "M-1", FounderInbreeding: &f})
		}},
		{"target", func() error { return b.SetTarget(ctx, "marigold", Target{Lab: booktest.Buff, Within: 2}) }},
		{"crop of a line", func() error { return b.SetLineCrop(ctx, "Marigold", "calendula") }},
		{"values of a crop", func() error {
			return b.SetCropValues(ctx, CropValue{"calendula", "ripe", "24-30"}, CropValue{"calendula", "days", "3"})
		}},
		{"last frost", func() error { return b.SetLastFrost(ctx, &booktest.Noon) }},
		{"a crop of one's own", func() error {
			return b.AddCrop(ctx, OwnCrop{Name: "peony", Title: "peony", Base: "other"}, "calendula", CropValue{"peony", "ripe", "90-120"})
		}},
		{"tubers", func() error {
			_, root, err := b.AddClones(ctx, "M-1", "2027", ByTuber, 3, nil)
			if root != "M-1" {
				t.Errorf("tubers of %q, want M-1", root)
			}
			return err
		}},
		{"place", func() error { return b.SetPlace(ctx, "bed 3, row 2", "M-1", "M-2") }},
		{"pollen", func() error {
			_, err := b.AddPollen(ctx, Pollen{Plant: "M-1", Season: "2026", Collected: booktest.Noon, Place: "jar"})
			return err
		}},
		{"line", func() error { return b.AddLine(ctx, "zinnia", "from a neighbour") }},
	} {
		before := booktest.Rows(t, b)
		if err := c.do(); err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		if cmp.Equal(before, booktest.Rows(t, b)) {
			t.Fatalf("%s changed nothing", c.name)
		}
		got, err := b.Undo(ctx, 0)
		if err != nil {
			t.Fatalf("undo %s: %v", c.name, err)
		}
		if got.What == "" || got.Rows == 0 {
			t.Errorf("undo %s = %+v, want what it was and its rows", c.name, got)
		}
		if d := cmp.Diff(before, booktest.Rows(t, b)); d != "" {
			t.Errorf("%s, undone (-before +after):\n%s", c.name, d)
		}
	}
	h, err := b.History(ctx, 2)
	if err != nil || len(h) != 2 || h[0].Undoes != h[1].ID || !h[1].Undone {
		t.Errorf("history = %+v, %v; want the undoing and what it took back", h, err)
	}
}

func TestUndoWhatOthersRestOn(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.New(t)
	if _, err := b.Undo(ctx, 0); !errors.Is(err, ErrNothingToUndo) {
		t.Errorf("undo in a new book: %v, want ErrNothingToUndo", err)
	}
	must.OK(t, b.AddPlant(ctx, Plant{ID: "M-1", Line: "marigold", Season: "2026"}))
	// Another program noted nothing of what it entered.
	must.Have(b.DB().Exec(`INSERT INTO reading (plant_id, season_id, source, method, status, l, a, b, precision_de, trueness_de,
		measured_at)
		VALUES (1, 1, 'meter', 0, 'ok', 50, 1, 2, 0, 0, '2026-08-01T00:00:00Z')`))(t)
	before := booktest.Rows(t, b)
	if _, err := b.Undo(ctx, 0); err == nil {
		t.Error("a plant with a reading was undone")
	}
	booktest.Same(t, "after a refused undo", before, booktest.Rows(t, b))
}

// What changes nothing leaves no trace, nor does what fails.
func TestHistoryHoldsOnlyChanges(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.New(t)
	if err := b.SetStatus(ctx, Kept, "nobody"); !errors.Is(err, ErrNotFound) {
		t.Fatalf("unknown plant: %v", err)
	}
	must.OK(t, b.SetStatus(ctx, Kept))
	booktest.Record(t, b, "M-1", "IMG_0412.jpg", "measured")
	if h, err := b.History(ctx, 0); err != nil || len(h) != 1 || h[0].What != "measured IMG_0412.jpg" {
		t.Errorf("history = %+v, %v; want the measured photo alone", h, err)
	}
}
