package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"hueward/selection/book/disk"
	"hueward/selection/book/record"
	"hueward/selection/book/remedy"
	"hueward/selection/book/sqlite"
)

// ErrNothingToUndo is returned when there is no change that could be undone.
var ErrNothingToUndo = errors.New("nothing to undo")

// ErrNothingToRedo is returned when there is no undone change that could be redone.
var ErrNothingToRedo = errors.New("nothing to redo")

// ErrChangedSince is returned when the change to be undone is no longer the newest one.
var ErrChangedSince = errors.New("something else was entered or taken back since")

// Change is one change of what the grower entered.
type Change struct {
	ID     int64
	At     time.Time
	Who    string // the user's name on the machine; empty: not known
	What   string // in words
	Rows   int    // rows of the book that it touched
	Undone bool   // taken back since
	Undoes int64  // the change that this one took back; 0: none
}

// Change runs f in a transaction that holds the book's write lock and keeps all of f's changes or none. They are noted
// as one change, described by the words that f returns, which [Book.Undo] can take back. If f changed nothing, nothing
// is noted.
func (b *Book) Change(ctx context.Context, f func(t *record.Tx) (what string)) error {
	return b.write(ctx, func(t *record.Tx) { b.note(t, 0, f) })
}

// note does what [Book.Change] does, within a transaction; undoes is as in [Change].
func (b *Book) note(t *record.Tx, undoes int64, f func(t *record.Tx) string) {
	id := b.commandChange(t, undoes)
	if id == 0 {
		id = t.Add("change", "at, who, what, undoes", b.Stamp(), b.who, "", record.OrNull(undoes))
	}
	// If this row were missing, the triggers would record nothing to undo.
	t.Do("INSERT INTO change_now (one, change_id) VALUES (1, ?1) ON CONFLICT (one) DO UPDATE SET change_id = ?1", id)
	if t.Err() != nil {
		return
	}
	what := f(t)
	t.Do("UPDATE change_now SET change_id = NULL")
	if c := b.command; c != nil && undoes == 0 {
		var rows int
		if t.Get("SELECT count(*) FROM changed_row WHERE change_id = ?", id).Into(&rows); rows > 0 {
			c.change, c.what = id, append(c.what, what)
			what = c.words()
		}
	}
	t.Do("UPDATE change SET what = ? WHERE id = ?", what, id)
	t.Do(sqlite.SumChange, id)
	t.Do("DELETE FROM change WHERE id = ?1 AND NOT EXISTS (SELECT 1 FROM changed_row WHERE change_id = ?1)", id)
	b.request.entered(t, id)
}

// commandChange returns the change that this write is added to within [Book.OneCommand]; 0: a new one.
func (b *Book) commandChange(t *record.Tx, undoes int64) int64 {
	if b.command == nil || b.command.change == 0 || undoes != 0 {
		return 0
	}
	// Only while nothing came after it.
	var newest int64
	var undone bool
	if !t.Get("SELECT id, undone FROM change ORDER BY id DESC LIMIT 1").Found(&newest, &undone) || newest != b.command.change || undone {
		b.command.change, b.command.what = 0, nil
		return 0
	}
	return newest
}

// Redo brings back what the newest undoing took back, and returns that change. It returns
// ErrNothingToRedo if nothing was undone, or if something was entered since.
func (b *Book) Redo(ctx context.Context) (c *Change, err error) {
	err = b.write(ctx, func(t *record.Tx) {
		undoing := int64(0)
		list, err := changes(context.Background(), t, `JOIN change u ON c.id = u.undoes WHERE NOT u.undone AND c.undone
			AND NOT EXISTS (SELECT 1 FROM change WHERE id > u.id AND undoes IS NULL) ORDER BY u.id DESC LIMIT 1`)
		if err == nil && len(list) == 0 {
			err = remedy.Step(remedy.History).Errorf("%w; see what was done", ErrNothingToRedo)
		}
		if t.Fail(err); err != nil {
			return
		}
		c = &list[0]
		t.Get("SELECT max(id) FROM change WHERE undoes = ? AND NOT undone", c.ID).Into(&undoing)
		b.note(t, undoing, func(t *record.Tx) string { t.Restore(undoing); return "redone: " + c.What })
		t.NothingBroken("redo", c.What)
		// The undoing is taken back, and so is not redone again; nor is the redoing.
		t.Do("UPDATE change SET undone = (id <> ?1) WHERE id = ?1 OR id = ?2 OR undoes = ?2", c.ID, undoing)
		c.Undone = false
		if b.command != nil {
			b.command.change, b.command.what = c.ID, []string{c.What}
		}
	})
	if err != nil {
		return nil, err
	}
	return c, nil
}

// changes returns the rows of table change, aliased c, that the SQL in where selects.
func changes(ctx context.Context, q sqlite.Querier, where string, args ...any) ([]Change, error) {
	return sqlite.Collect(ctx, q, `SELECT c.id, c.at, c.who, c.what, c.undone, coalesce(c.undoes, 0),
		(SELECT coalesce(sum(coalesce(last, row) - row + 1), 0) FROM changed_row WHERE change_id = c.id) FROM change c `+where, args,
		func(rows *sql.Rows, c *Change) error {
			return rows.Scan(&c.ID, record.AsTime(&c.At), &c.Who, &c.What, &c.Undone, &c.Undoes, &c.Rows)
		})
}

// History returns up to limit changes, the newest first; a limit of 0 returns all.
func (b *Book) History(ctx context.Context, limit int) ([]Change, error) {
	if limit <= 0 {
		limit = -1
	}
	return changes(ctx, b.from, "ORDER BY id DESC LIMIT ?", limit)
}

// ToUndo returns the change that [Book.Undo] would take back. older reports that it is not the last command's, or is
// another user's, so that the caller should ask first. ToUndo returns ErrNothingToUndo if there is no such change.
func (b *Book) ToUndo(ctx context.Context) (c *Change, older bool, err error) {
	if c, err = newestChange(b.from); err != nil {
		return nil, false, err
	}
	var last int64
	if err := b.from.QueryRowContext(ctx, "SELECT coalesce(max(last), -1) FROM change_now").Scan(&last); err != nil {
		return nil, false, sqlite.Wrap(err)
	}
	return c, last >= 0 && last != c.ID || c.Who != b.who, nil
}

// NothingEntered notes that the last command entered nothing in the book in dir, so that
// [Book.ToUndo] reports the newest change as older. Errors are ignored.
func NothingEntered(ctx context.Context, dir string) {
	file := filepath.Join(dir, DBName)
	if disk.Writable(file) && disk.Writable(dir) && sqlite.Header(file) == nil {
		sqlite.NothingEntered(ctx, file)
	}
}

// newestChange returns the newest change that was not undone and is not itself an undoing.
func newestChange(q sqlite.Querier) (*Change, error) {
	list, err := changes(context.Background(), q, "WHERE NOT undone AND undoes IS NULL ORDER BY id DESC LIMIT 1")
	if err != nil {
		return nil, err
	}
	if len(list) == 0 {
		return nil, remedy.Step(remedy.History).Errorf("%w; see what was done", ErrNothingToUndo)
	}
	return &list[0], nil
}

// Undo takes back the newest change that was not undone and is not itself an undoing, and returns it. It returns
// ErrNothingToUndo if there is none, and another error, changing nothing, if something entered since depends on it. If
// only is not 0 and the newest change has another number, Undo returns ErrChangedSince.
func (b *Book) Undo(ctx context.Context, only int64) (c *Change, err error) {
	err = b.write(ctx, func(t *record.Tx) {
		if c, err = newestChange(t); err == nil && only != 0 && c.ID != only {
			err = fmt.Errorf("%w: the newest change is now %q", ErrChangedSince, c.What)
		}
		if t.Fail(err); err != nil {
			return
		}
		b.note(t, c.ID, func(t *record.Tx) string { t.Restore(c.ID); return "undone: " + c.What })
		// References to rows that are gone are found here, after all rows were put back.
		t.NothingBroken("undo", c.What)
		t.Do("UPDATE change SET undone = 1 WHERE id = ?", c.ID)
	})
	if err != nil {
		return nil, err
	}
	c.Undone = true
	return c, nil
}

// Version returns a string that changes whenever any program enters, measures or takes back something.
func (b *Book) Version(ctx context.Context) (v string, err error) {
	err = b.from.QueryRowContext(ctx, `SELECT coalesce((SELECT id || '-' || sum FROM change ORDER BY id DESC LIMIT 1),
		'0-') || '.' || coalesce((SELECT max(id) FROM reading), 0)
		|| '.' || coalesce((SELECT max(id) FROM photo), 0) || '.' || coalesce((SELECT max(id) FROM plant), 0)
		|| '.' || coalesce((SELECT max(id) FROM target), 0) || '.' || coalesce((SELECT max(id) FROM camera_model), 0)`).Scan(&v)
	return v, sqlite.Wrap(err)
}

// OneChange reports whether exactly one change was entered from one version to the
// other, and nothing else happened to the book.
func OneChange(before, after string) bool {
	a, restA, okA := strings.Cut(before, ".")
	b, restB, okB := strings.Cut(after, ".")
	a, _, _ = strings.Cut(a, "-")
	b, _, _ = strings.Cut(b, "-")
	m, err1 := strconv.ParseInt(a, 10, 64)
	n, err2 := strconv.ParseInt(b, 10, 64)
	return okA && okB && err1 == nil && err2 == nil && n == m+1 && restA == restB
}
