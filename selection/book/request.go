package book

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"time"

	"hueward/selection/book/record"
	"hueward/selection/book/sqlite"
)

// ErrRepeated is returned for a request that was done before; nothing was done this time.
var ErrRepeated = errors.New("this was entered already")

// requestsKept is how long a request is remembered: longer than anything waits on a
// phone that lies in a drawer from one season to the next.
const requestsKept = 400 * 24 * time.Hour

// Request identifies what a device sends, so that it is done once however often it arrives.
type Request struct {
	ID  string // made up by the device; empty: none
	Sum string // checksum of the content: the same id with another content is another request
}

// keptRequest is the request that a book returned by [Book.Once] is to note, and whether it was noted.
type keptRequest struct {
	Request
	kept bool
}

// Once returns the same open book, whose first write also notes, in the same transaction, that the
// request was done. If that was noted before, the write does nothing and returns ErrRepeated. The
// book is closed with b. A request without an id is not noted.
func (b *Book) Once(r Request) *Book {
	c := *b
	c.request = nil
	if r.ID != "" {
		c.request = &keptRequest{Request: r}
	}
	return &c
}

// begin notes the request at the start of a write.
func (k *keptRequest) begin(t *record.Tx, now time.Time) {
	if k == nil || k.kept {
		return
	}
	var there bool
	if t.Get("SELECT EXISTS (SELECT 1 FROM request WHERE id = ? AND sum = ?)", k.ID, k.Sum).Into(&there); there {
		t.Fail(ErrRepeated)
	}
	t.Do("DELETE FROM request WHERE at < ?", now.Add(-requestsKept).UTC().Format(time.RFC3339))
	t.Add("request", "id, sum, at", k.ID, k.Sum, now.UTC().Format(time.RFC3339))
}

// entered notes which change the request made: the first, if it made several.
func (k *keptRequest) entered(t *record.Tx, change int64) {
	if k != nil {
		t.Do("UPDATE request SET change_id = (SELECT id FROM change WHERE id = ?1) WHERE id = ?2 AND sum = ?3 AND change_id IS NULL",
			change, k.ID, k.Sum)
	}
}

// Taken reports whether the request was done, and which change it made; the change is nil
// if the request changed nothing.
func (b *Book) Taken(ctx context.Context, r Request) (bool, *Change, error) {
	var change sql.NullInt64
	err := b.from.QueryRowContext(ctx, "SELECT change_id FROM request WHERE id = ? AND sum = ?", r.ID, r.Sum).Scan(&change)
	if errors.Is(err, sql.ErrNoRows) {
		return false, nil, nil
	}
	if err != nil || !change.Valid {
		return err == nil, nil, sqlite.Wrap(err)
	}
	list, err := changes(ctx, b.from, "WHERE id = ?", change.Int64)
	c, err := record.One(list, err, "change %d", change.Int64)
	return true, c, err
}

// TakenIDs returns those of the ids under which any request was done.
func (b *Book) TakenIDs(ctx context.Context, ids []string) ([]string, error) {
	list, err := json.Marshal(ids)
	if err != nil {
		return nil, err
	}
	return sqlite.Column[string](ctx, b.from,
		"SELECT value FROM json_each(?) WHERE EXISTS (SELECT 1 FROM request WHERE id = value) ORDER BY key", string(list))
}
