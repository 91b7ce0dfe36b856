package book_test

import (
	"errors"
	"testing"

	"hueward/colorimg/must"
	. "hueward/selection/book"
	"hueward/selection/book/booktest"
)

// What was entered by mistake is mended, taken back to the very rows, and brought back.
func TestMend(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	for name, c := range map[string]struct {
		do   func(b *Book) error
		hold func(b *Book) bool
	}{
		"photo out": {func(b *Book) error { return b.RemovePhotos(ctx, 1) }, func(b *Book) bool {
			ps, err := b.Photos(ctx, "", "")
			rs, err2 := b.Readings(ctx, "", "")
			return err == nil && err2 == nil && len(ps) == 1 && len(rs) == 2
		}},
		"photo of no plant": {func(b *Book) error { return b.UnassignPhotos(ctx, 1) }, func(b *Book) bool {
			ps, err := b.Unassigned(ctx)
			return err == nil && len(ps) == 1 && ps[0].ID == 1
		}},
		"plant renamed": {func(b *Book) error { return b.RenamePlant(ctx, "m-1", "M-01") }, func(b *Book) bool {
			p, err := b.Plant(ctx, "M-01")
			return err == nil && p.Photos == 1 && p.Status == Kept
		}},
		"line renamed": {func(b *Book) error { return b.RenameLine(ctx, "MARIGOLD", "pot marigold") }, func(b *Book) bool {
			l, err := b.Line(ctx, "pot marigold")
			return err == nil && l.Plants == 2 && l.Target != nil
		}},
		"plants moved": {func(b *Book) error { return b.MovePlants(ctx, "cosmos", "M-1", "M-2") }, func(b *Book) bool {
			l, err := b.Line(ctx, "cosmos")
			return err == nil && l.Plants == 2
		}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := booktest.Filled(t)
			before := booktest.Rows(t, b)
			must.OK(t, c.do(b))
			if !c.hold(b) {
				t.Error("not as it should be")
			}
			after := booktest.Rows(t, b)
			must.Have(b.Undo(ctx, 0))(t)
			booktest.Same(t, "taken back", before, booktest.Rows(t, b))
			must.Have(b.Redo(ctx))(t)
			booktest.Same(t, "brought back", after, booktest.Rows(t, b))
			if found, err := b.Integrity(ctx); err != nil || len(found) > 0 {
				t.Errorf("found %v, %v", found, err)
			}
		})
	}
}

func TestMendRefuses(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	b := booktest.Filled(t)
	before := booktest.Rows(t, b)
	for name, c := range map[string]struct {
		err, want error
	}{
		"no such photo":     {b.RemovePhotos(ctx, 1, 99), ErrNotFound},
		"no such photo's":   {b.UnassignPhotos(ctx, 1, 99), ErrNotFound},
		"a name taken":      {b.RenamePlant(ctx, "M-1", "m-2"), ErrDuplicate},
		"no such plant":     {b.RenamePlant(ctx, "M-7", "M-8"), ErrNotFound},
		"no such line":      {b.RenameLine(ctx, "cosmos", "zinnia"), ErrNotFound},
		"a plant not there": {b.MovePlants(ctx, "cosmos", "M-1", "M-7"), ErrNotFound},
	} {
		if !errors.Is(c.err, c.want) {
			t.Errorf("%s: %v, want %v", name, c.err, c.want)
		}
	}
	booktest.Same(t, "refused, yet changed", before, booktest.Rows(t, b))
	if got, err := b.RestsOn(ctx, "m-2"); err != nil || got != "1 photo, 1 reading by an instrument" {
		t.Errorf("on M-2 rests %q, %v", got, err)
	}
}
