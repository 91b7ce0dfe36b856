package book_test

import (
	"errors"
	"os"
	"testing"

	"hueward/colorimg/must"
	. "hueward/selection/book"
	"hueward/selection/book/booktest"
)

// Undo of one change takes that one alone, and nothing once another came after it.
func TestUndoOnly(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	b := booktest.Filled(t)
	for _, note := range []string{"first", "second"} {
		must.OK(t, b.SetNote(ctx, "M-1", note))
	}
	h := must.Have(b.History(ctx, 2))(t)
	before := booktest.Rows(t, b)
	if _, err := b.Undo(ctx, h[1].ID); !errors.Is(err, ErrChangedSince) {
		t.Errorf("undo of an older change: %v, want ErrChangedSince", err)
	}
	booktest.Same(t, "changed all the same", before, booktest.Rows(t, b))
	if c, err := b.Undo(ctx, h[0].ID); err != nil || c.ID != h[0].ID {
		t.Errorf("undo of the newest: %+v, %v", c, err)
	}
	if p, err := b.Plant(ctx, "M-1"); err != nil || p.Note != "first" {
		t.Errorf("note %q, %v, want that before", p.Note, err)
	}
}

// Nobody can write to a photo in the book by mistake.
func TestOriginalsReadOnly(t *testing.T) {
	t.Parallel()
	b := booktest.New(t)
	r := booktest.Record(t, b, "M-1", "IMG_0412.jpg", "a bloom")
	info, err := os.Stat(b.PhotoFile(r.Photo))
	if err != nil || info.Mode().Perm()&0o222 != 0 {
		t.Errorf("the photo's mode is %v, %v; want no right to write", info.Mode(), err)
	}
}
