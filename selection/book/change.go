package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"path/filepath"
	"time"

	"hueward/selection/book/disk"
	"hueward/selection/book/record"
	"hueward/selection/book/remedy"
	"hueward/selection/book/sqlite"
)

// ErrNothingToUndo says that no change is left that could be taken back.
var ErrNothingToUndo = errors.New("nothing to undo")

// ErrNothingToRedo says that nothing was taken back that could be brought back.
var ErrNothingToRedo = errors.New("nothing to redo")

// ErrChangedSince says that what was to be taken back is not the newest change any more.
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

// Change runs f in a transaction that holds the book's write lock and keeps all of
// its changes or none, and notes them under the words that f returns, so that
// [Book.Undo] can take them back. It is for packages that enter rows of their own.
func (b *Book) Change(ctx context.Context, f func(tx *sql.Tx) (what string, err error)) error {
	return b.change(ctx, f)
}

// change runs f as write does, and notes what it changed under the words that f
// returns, so that [Book.Undo] can take it back. One that changed nothing leaves no
// trace.
func (b *Book) change(ctx context.Context, f func(tx *sql.Tx) (what string, err error)) error {
	return b.write(ctx, func(tx *sql.Tx) error {
		_, err := b.note(tx, 0, f)
		return err
	})
}

// note is change within a transaction; undoes is as in [Change].
func (b *Book) note(tx *sql.Tx, undoes int64, f func(tx *sql.Tx) (string, error)) (what string, err error) {
	var before any
	if undoes != 0 {
		before = undoes
	}
	id, err := b.commandChange(tx, undoes)
	if err != nil {
		return "", err
	}
	if id == 0 {
		res, err := tx.Exec("INSERT INTO change (at, who, what, undoes) VALUES (?, ?, '', ?)", b.Stamp(), b.who, before)
		if err != nil {
			return "", err
		}
		if id, err = res.LastInsertId(); err != nil {
			return "", err
		}
	}
	// A row that was lost would leave nothing to undo.
	if _, err := tx.Exec("INSERT INTO change_now (one, change_id) VALUES (1, ?1) ON CONFLICT (one) DO UPDATE SET change_id = ?1",
		id); err != nil {
		return "", err
	}
	if what, err = f(tx); err != nil {
		return "", err
	}
	if _, err := tx.Exec("UPDATE change_now SET change_id = NULL"); err != nil {
		return "", err
	}
	all := what
	var rows int
	if c := b.command; c != nil && undoes == 0 {
		if err := tx.QueryRow("SELECT count(*) FROM changed_row WHERE change_id = ?", id).Scan(&rows); err != nil {
			return "", err
		}
		if rows > 0 {
			c.change, c.what = id, append(c.what, what)
			all = c.words()
		}
	}
	if _, err := tx.Exec("UPDATE change SET what = ? WHERE id = ?", all, id); err != nil {
		return "", err
	}
	if err := sqlite.SumChange(tx, id); err != nil {
		return "", err
	}
	if _, err = tx.Exec("DELETE FROM change WHERE id = ?1 AND NOT EXISTS (SELECT 1 FROM changed_row WHERE change_id = ?1)", id); err != nil {
		return "", err
	}
	return what, b.request.entered(tx, id)
}

// commandChange is the change to which the command's are added; 0: a new one.
func (b *Book) commandChange(tx *sql.Tx, undoes int64) (id int64, err error) {
	if b.command == nil || b.command.change == 0 || undoes != 0 {
		return 0, nil
	}
	// Only while nothing came after it.
	var newest int64
	var undone bool
	err = tx.QueryRow("SELECT id, undone FROM change ORDER BY id DESC LIMIT 1").Scan(&newest, &undone)
	if errors.Is(err, sql.ErrNoRows) || err == nil && (newest != b.command.change || undone) {
		b.command.change, b.command.what = 0, nil
		return 0, nil
	}
	return newest, err
}

// Redo brings back what the newest undoing took back, and returns the change. It is
// ErrNothingToRedo where there is none, or something was entered since.
func (b *Book) Redo(ctx context.Context) (*Change, error) {
	var c Change
	err := b.write(ctx, func(tx *sql.Tx) error {
		var undoing int64
		var at string
		err := tx.QueryRow(`SELECT u.id, c.id, c.at, c.who, c.what FROM change u JOIN change c ON c.id = u.undoes
			WHERE NOT u.undone AND c.undone AND NOT EXISTS (SELECT 1 FROM change WHERE id > u.id AND undoes IS NULL)
			ORDER BY u.id DESC LIMIT 1`).Scan(&undoing, &c.ID, &at, &c.Who, &c.What)
		if errors.Is(err, sql.ErrNoRows) {
			return remedy.Step(remedy.History).Errorf("%w; see what was done", ErrNothingToRedo)
		}
		if err != nil {
			return err
		}
		c.At = record.Time(at)
		if _, err := b.note(tx, undoing, func(tx *sql.Tx) (string, error) {
			return "redone: " + c.What, record.Restore(tx,
				undoing)
		}); err != nil {
			return err
		}
		if err := record.NothingBroken(tx, "redo", c.What); err != nil {
			return err
		}
		// The undoing is taken back, and so is not redone again; nor is the redoing.
		_, err = tx.Exec("UPDATE change SET undone = (id <> ?1) WHERE id = ?1 OR id = ?2 OR undoes = ?2", c.ID, undoing)
		if b.command != nil {
			b.command.change, b.command.what = c.ID, []string{c.What}
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	return &c, nil
}

// History returns the newest changes first, at most limit; 0: all.
func (b *Book) History(ctx context.Context, limit int) ([]Change, error) {
	if limit <= 0 {
		limit = -1
	}
	rows, err := b.from.QueryContext(ctx, `SELECT id, at, who, what, undone, coalesce(undoes, 0),
		(SELECT coalesce(sum(coalesce(last, row) - row + 1), 0) FROM changed_row WHERE change_id = change.id) FROM change
			ORDER BY id DESC LIMIT ?`, limit)
	if err != nil {
		return nil, sqlite.Wrap(err)
	}
	defer rows.Close()
	var out []Change
	for rows.Next() {
		var c Change
		var at string
		if err := rows.Scan(&c.ID, &at, &c.Who, &c.What, &c.Undone, &c.Undoes, &c.Rows); err != nil {
			return nil, sqlite.Wrap(err)
		}
		c.At = record.Time(at)
		out = append(out, c)
	}
	return out, sqlite.Wrap(rows.Err())
}

// ToUndo is the change that [Book.Undo] would take back, and whether it is older than
// what the last command did, or of somebody else: then it is to be said before. It is
// ErrNothingToUndo where there is none.
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

// NothingEntered notes that the last command entered nothing in the book of that folder,
// which [Book.ToUndo] then says. Where that cannot be noted, it is not.
func NothingEntered(ctx context.Context, dir string) {
	file := filepath.Join(dir, DBName)
	if disk.Writable(file) && disk.Writable(dir) && sqlite.Header(file) == nil {
		sqlite.NothingEntered(ctx, file)
	}
}

// newestChange is the newest that stands and is not itself an undoing.
func newestChange(q record.Querier) (*Change, error) {
	var c Change
	var at string
	err := q.QueryRowContext(context.Background(), `SELECT id, at, who, what, (SELECT coalesce(sum(coalesce(last, row) - row + 1), 0)
		FROM changed_row WHERE change_id = change.id)
		FROM change WHERE NOT undone AND undoes IS NULL ORDER BY id DESC LIMIT 1`).Scan(&c.ID, &at, &c.Who, &c.What, &c.Rows)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, remedy.Step(remedy.History).Errorf("%w; see what was done", ErrNothingToUndo)
	}
	c.At = record.Time(at)
	return &c, sqlite.Wrap(err)
}

// Undo takes back the newest change that still stands and is not itself an
// undoing, and returns it. It is ErrNothingToUndo when there is none, and an
// error that changes nothing when something entered since rests on it.
func (b *Book) Undo(ctx context.Context) (*Change, error) { return b.undo(ctx, 0) }

// UndoOnly is Undo, of that change alone: it is an ErrChangedSince, and changes
// nothing, where another was made after it, or it was taken back.
func (b *Book) UndoOnly(ctx context.Context, change int64) (*Change, error) {
	return b.undo(ctx, change)
}

func (b *Book) undo(ctx context.Context, only int64) (*Change, error) {
	var c *Change
	err := b.write(ctx, func(tx *sql.Tx) (err error) {
		if c, err = newestChange(tx); err != nil {
			return err
		}
		if only != 0 && c.ID != only {
			return fmt.Errorf("%w: the newest change is now %q", ErrChangedSince, c.What)
		}
		if _, err := b.note(tx, c.ID, func(tx *sql.Tx) (string, error) { return "undone: " + c.What, record.Restore(tx, c.ID) }); err != nil {
			return err
		}
		// Rows that others lean on are found here, not while they are put back.
		if err := record.NothingBroken(tx, "undo", c.What); err != nil {
			return err
		}
		_, err = tx.Exec("UPDATE change SET undone = 1 WHERE id = ?", c.ID)
		return err
	})
	if err != nil {
		return nil, err
	}
	c.Undone = true
	return c, nil
}
