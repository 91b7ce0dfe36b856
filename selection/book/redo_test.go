package book_test

import (
	"errors"
	"os"
	"testing"

	"github.com/google/go-cmp/cmp"

	"hueward/colorimg/must"
	. "hueward/selection/book"
	"hueward/selection/book/booktest"
)

// Whatever a command entered is one change; taken back, the book is as before it,
// brought back, as after it.
func TestUndoRedo(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	for name, do := range map[string]func(b *Book) error{
		"measuring into the book": func(b *Book) error {
			for _, p := range []string{"M-1", "M-98", "M-99"} {
				file := booktest.WriteFile(t, "IMG_9.jpg", p)
				r := booktest.Reading(p)
				r.Lab[0] = 70.1 + 1.0/3
				if _, err := b.Record(ctx, Entry{File: file, Line: "marigold", Season: "2026", Plant: p, Reading: r}); err != nil {
					return err
				}
			}
			return nil
		},
		"an instrument": func(b *Book) error {
			return b.AddInstrumentReading(ctx, InstrumentReading{Plant: "M-1", Season: "2027", Source: "meter", Lab: booktest.Buff, SE: 0.1 + 0.2})
		},
		"several plants": func(b *Book) error {
			var errs []error
			for _, id := range []string{"X-1", "X-2", "X-3"} {
				errs = append(errs, b.AddPlant(ctx, Plant{ID: id, Line: "zinnia", Season: "2026"}))
			}
			return errors.Join(errs...)
		},
		"a sowing and what came up": func(b *Book) error {
			p, err := b.AddPacket(ctx, Packet{Line: "marigold", FounderGroup: "bought", Season: "2026", Seeds: new(9)})
			if err != nil {
				return err
			}
			w, _, err := b.AddSowing(ctx, NewSowing{Packet: p.Name, Season: "2026", Sown: date(1)})
			if err != nil {
				return err
			}
			_, _, err = b.CameUp(ctx, w.Name, 3, nil)
			return err
		},
		"a photo's plant": func(b *Book) error {
			_, err := b.AssignPhotos(ctx, "", Assignee{Photo: 1, Plant: "M-2"})
			return err
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := booktest.Filled(t)
			must.OK(t, b.SetNote(ctx, "M-2", "older"))
			before := booktest.Rows(t, b)
			must.OK(t, do(b.OneCommand()))
			after := booktest.Rows(t, b)
			for range 2 {
				c := must.Have(b.Undo(ctx, 0))(t)
				if d := cmp.Diff(before, booktest.Rows(t, b)); d != "" {
					t.Errorf("%q taken back (-before +now):\n%s", c.What, d)
				}
				must.Have(b.Redo(ctx))(t)
				if d := cmp.Diff(after, booktest.Rows(t, b)); d != "" {
					t.Errorf("%q brought back (-after +now):\n%s", c.What, d)
				}
			}
			if _, err := b.Redo(ctx); !errors.Is(err, ErrNothingToRedo) {
				t.Errorf("redone once more: %v", err)
			}
			if found, err := b.Integrity(ctx); err != nil || len(found) > 0 {
				t.Errorf("found %v, %v", found, err)
			}
		})
	}
}

// Once something else was entered, what was taken back stays so.
func TestRedoAfterAnother(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	b := booktest.Filled(t)
	for _, note := range []string{"first", "second"} {
		must.OK(t, b.SetNote(ctx, "M-1", note))
		if note == "first" {
			must.Have(b.Undo(ctx, 0))(t)
		}
	}
	if _, err := b.Redo(ctx); !errors.Is(err, ErrNothingToRedo) {
		t.Errorf("redone over another note: %v", err)
	}
	// A photo that was taken back and is measured again is taken over from its file.
	r := booktest.Record(t, b, "M-1", "a.jpg", "a")
	must.Have(b.Undo(ctx, 0))(t)
	if _, err := os.Stat(b.PhotoFile(r.Photo)); err != nil {
		t.Errorf("the photo's file went with it: %v", err)
	}
	if again := booktest.Record(t, b, "M-1", "a.jpg", "a"); again.Photo.Path != r.Photo.Path || again.Duplicate {
		t.Errorf("measured again: %+v, want its file taken over", again)
	}
}
