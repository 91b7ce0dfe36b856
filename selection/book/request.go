package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"hueward/selection/book/record"
	"hueward/selection/book/sqlite"
)

// ErrRepeated says that a request was taken already, and that nothing was done now.
var ErrRepeated = errors.New("this was entered already")

// requestsKept is how long a request is remembered: longer than anything waits on a
// phone that lies in a drawer from one season to the next.
const requestsKept = 400 * 24 * time.Hour

// Request names what a device sends, so that it is done once however often it arrives.
type Request struct {
	ID  string // made up by the device; empty: none
	Sum string // of what is said: another content under the same id is another request
}

// keptRequest is a request that one Book is to keep, and whether it has.
type keptRequest struct {
	Request
	kept bool
}

// Once is the same open book, whose first write notes that the request was taken, in one
// transaction; it is an ErrRepeated, and nothing is done, where that was noted before. It
// is closed with b. A request without an id changes nothing.
func (b *Book) Once(r Request) *Book {
	c := *b
	c.request = nil
	if r.ID != "" {
		c.request = &keptRequest{Request: r}
	}
	return &c
}

// begin notes the request at the start of a write.
func (k *keptRequest) begin(tx *sql.Tx, now time.Time) error {
	if k == nil || k.kept {
		return nil
	}
	var there int
	err := tx.QueryRow("SELECT count(*) FROM request WHERE id = ? AND sum = ?", k.ID, k.Sum).Scan(&there)
	switch {
	case err != nil:
		return err
	case there > 0:
		return ErrRepeated
	}
	if _, err := tx.Exec("DELETE FROM request WHERE at < ?", now.Add(-requestsKept).UTC().Format(time.RFC3339)); err != nil {
		return err
	}
	_, err = tx.Exec("INSERT INTO request (id, sum, at) VALUES (?, ?, ?)", k.ID, k.Sum, now.UTC().Format(time.RFC3339))
	return err
}

// entered notes which change the request made. Of several the first counts.
func (k *keptRequest) entered(tx *sql.Tx, change int64) error {
	if k == nil {
		return nil
	}
	_, err := tx.Exec("UPDATE request SET change_id = (SELECT id FROM change WHERE id = ?1) WHERE id = ?2 AND sum = ?3 AND change_id IS NULL",
		change, k.ID, k.Sum)
	return err
}

// Taken reports whether the request was taken, and what it entered; the change is nil
// where the history knows of none, as of what changed nothing.
func (b *Book) Taken(ctx context.Context, r Request) (bool, *Change, error) {
	var change sql.NullInt64
	err := b.from.QueryRowContext(ctx, "SELECT change_id FROM request WHERE id = ? AND sum = ?", r.ID, r.Sum).Scan(&change)
	if errors.Is(err, sql.ErrNoRows) {
		return false, nil, nil
	}
	if err != nil || !change.Valid {
		return err == nil, nil, sqlite.Wrap(err)
	}
	c := &Change{ID: change.Int64}
	var at string
	err = b.from.QueryRowContext(ctx, "SELECT at, who, what, undone, coalesce(undoes, 0) FROM change WHERE id = ?", c.ID).Scan(&at, &c.Who,
		&c.What, &c.Undone, &c.Undoes)
	if err != nil {
		return true, nil, fmt.Errorf("what was entered: %w", sqlite.Wrap(err))
	}
	c.At = record.Time(at)
	return true, c, nil
}

// TakenIDs are those of the ids that a request was taken under, whatever it said.
func (b *Book) TakenIDs(ctx context.Context, ids []string) ([]string, error) {
	var out []string
	for _, id := range ids {
		var n int
		if err := b.from.QueryRowContext(ctx, "SELECT count(*) FROM request WHERE id = ?", id).Scan(&n); err != nil {
			return nil, sqlite.Wrap(err)
		}
		if n > 0 {
			out = append(out, id)
		}
	}
	return out, nil
}
