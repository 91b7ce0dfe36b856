package book

import (
	"context"
	"fmt"

	"hueward/selection/book/record"
)

// NoteChangedError says that a plant's note is not any more what whoever changed it had seen.
type NoteChangedError struct {
	Plant string
	Now   string // the note as it is
}

func (e *NoteChangedError) Error() string {
	return fmt.Sprintf("the note on %s was changed meanwhile, and now says %q", e.Plant, e.Now)
}

// SetNote replaces the note of a plant.
func (b *Book) SetNote(ctx context.Context, id, note string) error {
	return b.setNote(ctx, id, nil, note)
}

// ChangeNote is SetNote for whoever saw the note as it was: where it says neither that
// any more nor what it is to say, it is a *NoteChangedError, and nothing is changed.
func (b *Book) ChangeNote(ctx context.Context, id, was, note string) error {
	return b.setNote(ctx, id, &was, note)
}

func (b *Book) setNote(ctx context.Context, id string, was *string, note string) error {
	return b.Change(ctx, func(t *record.Tx) string {
		row := t.Plant(id)
		if was != nil {
			var now string
			if t.Get("SELECT note FROM plant WHERE id = ?", row).Into(&now); now != *was && now != note {
				t.Fail(&NoteChangedError{Plant: id, Now: now})
			}
		}
		t.Do("UPDATE plant SET note = ? WHERE id = ?", note, row)
		return "note on " + id
	})
}
