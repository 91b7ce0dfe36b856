package book_test

import (
	"errors"
	"testing"

	"hueward/colorimg/must"
	. "hueward/selection/book"
	"hueward/selection/book/booktest"
	"hueward/selection/book/record"
)

// What is entered together is kept, or none of it; a step that is refused takes back
// itself alone, and one that the disk refuses all.
func TestTogether(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	add := func(b *Book, id string) error {
		return b.AddPlant(ctx, Plant{ID: id, Line: "marigold", Season: "2026"})
	}
	t.Run("kept", func(t *testing.T) {
		b := booktest.Filled(t).OneCommand()
		before := booktest.Rows(t, b)
		must.OK(t, b.Together(ctx, func(b *Book) error {
			if err := add(b, "M-8"); err != nil {
				return err
			}
			if _, err := b.Plant(ctx, "M-8"); err != nil {
				t.Errorf("what was entered is not read: %v", err)
			}
			if err := add(b, "M-1"); !errors.Is(err, ErrDuplicate) {
				t.Errorf("a plant twice: %v", err)
			}
			return add(b, "M-9")
		}))
		for _, id := range []string{"M-8", "M-9"} {
			if _, err := b.Plant(ctx, id); err != nil {
				t.Error(err)
			}
		}
		must.Have(b.Undo(ctx, 0))(t)
		booktest.Same(t, "undone as one", before, booktest.Rows(t, b))
	})
	wrong := errors.New("wrong")
	t.Run("taken back", func(t *testing.T) {
		b := booktest.Filled(t).OneCommand()
		must.OK(t, add(b, "M-7"))
		before := booktest.Rows(t, b)
		if err := b.Together(ctx, func(b *Book) error { return errors.Join(add(b, "M-8"), wrong) }); !errors.Is(err, wrong) {
			t.Errorf("got %v", err)
		}
		booktest.Same(t, "changed", before, booktest.Rows(t, b))
		if err := add(b, "M-9"); err != nil {
			t.Error(err)
		}
		if h, err := b.History(ctx, 1); err != nil || h[0].What != "plant M-7 added; plant M-9 added" {
			t.Errorf("history %+v, %v", h, err)
		}
	})
	t.Run("the disk gives up", func(t *testing.T) {
		b := booktest.Filled(t)
		before := booktest.Rows(t, b)
		// A full disk ends SQLite's transaction by itself; so does this.
		const full = "CREATE TRIGGER full BEFORE INSERT ON plant WHEN NEW.name = 'M-8' BEGIN SELECT raise(ROLLBACK, 'no'); END"
		must.Have(b.DB().Exec(full))(t)
		err := b.Together(ctx, func(b *Book) error {
			if err := add(b, "M-7"); err != nil {
				t.Error(err)
			}
			if err := add(b, "M-8"); err == nil {
				t.Error("nothing failed")
			}
			if err := add(b, "M-9"); err == nil {
				t.Error("written outside of the transaction")
			}
			return nil
		})
		if err == nil {
			t.Error("it is said to be kept")
		}
		booktest.Same(t, "changed", before, booktest.Rows(t, b))
	})
}

// An error that was passed over, and with which SQLite gave the transaction up, keeps
// nothing that is written after it.
func TestErrorPassedOver(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	b := booktest.Filled(t)
	before := booktest.Rows(t, b)
	const full = "CREATE TRIGGER full BEFORE UPDATE ON plant WHEN NEW.note = 'full' BEGIN SELECT raise(ROLLBACK, 'no'); END"
	must.Have(b.DB().Exec(full))(t)
	err := b.Change(ctx, func(t *record.Tx) string {
		t.Exec("UPDATE plant SET note = 'full'")
		t.Exec("UPDATE plant SET note = 'half'")
		return "noted"
	})
	if err == nil {
		t.Error("it is said to be kept")
	}
	booktest.Same(t, "changed", before, booktest.Rows(t, b))
	if err := b.SetNote(ctx, "M-1", "later"); err != nil {
		t.Errorf("the next change: %v", err)
	}
}
