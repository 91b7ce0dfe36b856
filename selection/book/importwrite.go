package book

import (
	"database/sql"
	"fmt"
	"slices"
	"strings"

	"hueward/selection/book/exchange"
)

// compare passes over a row that the book has just so, and changes the book's
// where it may.
func (im *importer) compare(r *importRow) error {
	var sets []string
	var args []any
	lists := false
	for i, c := range r.kind.columns {
		if same(r.vals[i], r.old[i]) {
			continue
		}
		switch {
		case r.kind == photoKind && c.Name == "path": // where the book keeps it is the book's affair
			continue
		case r.kind == photoKind && c.Name != "plant":
			im.differs(r, i, "what a photo tells of itself is not changed; correct the file")
			return nil
		case r.kind == cameraKind:
			im.differs(r, i, "a camera model is learnt, not changed; to replace it, first: hueward camera --forget")
			return nil
		case !im.opt.Update:
			im.differs(r, i, "correct the file, or change the book: --update")
			return nil
		case c.sql == "":
			lists = true
		default:
			sets, args = append(sets, fmt.Sprintf("%q = ?", c.sql)), append(args, r.vals[i])
		}
	}
	if len(sets) == 0 && !lists {
		r.from.done.Same++
		return nil
	}
	r.from.done.Updated++
	if len(im.problems) > 0 {
		return nil // nothing will be kept
	}
	if len(sets) > 0 {
		if _, err := im.tx.Exec(fmt.Sprintf("UPDATE %q SET %s WHERE id = ?", r.kind.table, strings.Join(sets, ", ")), append(args, r.id)...); err != nil {
			return err
		}
	}
	if !lists {
		return nil
	}
	for _, c := range r.kind.lists() {
		if _, err := im.tx.Exec(fmt.Sprintf("DELETE FROM %q WHERE %s = ?", c.table, c.owner), r.id); err != nil {
			return err
		}
		for _, vals := range c.rows(im, r) {
			_, err := im.tx.Exec(fmt.Sprintf("INSERT INTO %q (%s) VALUES (?, ?%s)", c.table, strings.Join(c.columns, ", "), strings.Repeat(", ?", len(c.columns)-2)), vals...)
			if err != nil {
				return err
			}
		}
	}
	return nil
}

func same(x, y any) bool {
	if l, ok := x.([]string); ok {
		m, _ := y.([]string)
		return slices.Equal(l, m)
	}
	_, list := y.([]string)
	return !list && x == y
}

// differs tells of a row that says otherwise than the book.
func (im *importer) differs(r *importRow, i int, what string) {
	c := &r.kind.columns[i]
	say := func(v any) string {
		if id, ok := v.(int64); ok && c.ref != "" {
			for name, n := range im.index[refKind[c.ref]].ids {
				if n == id {
					return fmt.Sprintf("%q", name)
				}
			}
		}
		return exchange.Quote(c.Format(v))
	}
	if len(im.problems) >= mostProblems {
		im.more++
		return
	}
	im.fail(r, c.Name, "%s is %s here and %s in the book; %s", exchange.Quote(r.name()), say(r.vals[i]), say(r.old[i]), what)
}

// list is rows of another table that a column of the kind stands for.
type list struct {
	table, owner string
	columns      []string
	rows         func(im *importer, r *importRow) [][]any
}

func (k *tableKind) lists() []list {
	switch k {
	case headKind:
		return []list{{"pollination", "head_id", []string{"head_id", "day", "note"}, pollinations}}
	case packetKind:
		return []list{{"packet_head", "packet_id", []string{"packet_id", "head_id"}, packetHeads}}
	}
	return nil
}

// added is a run of rows that an import added to a table.
type added struct {
	table       string
	first, last int64
}

// quietly runs f without every row being noted by itself, and notes the runs of
// rows that were added instead, so that an import of many is taken back as fast.
func (im *importer) quietly(f func() error) error {
	var change int64
	if err := im.tx.QueryRow("SELECT change_id FROM change_now").Scan(&change); err != nil {
		return err
	}
	if _, err := im.tx.Exec("UPDATE change_now SET change_id = NULL"); err != nil {
		return err
	}
	if err := f(); err != nil {
		return err
	}
	for _, a := range im.ranges {
		if _, err := im.tx.Exec("INSERT INTO changed_row (change_id, tbl, row, last) VALUES (?, ?, ?, ?)", change, a.table, a.first, a.last); err != nil {
			return err
		}
	}
	_, err := im.tx.Exec("UPDATE change_now SET change_id = ?", change)
	return err
}

// bulk adds rows to a table, many with each statement.
//
// SQLite keeps a copy of every page that a statement changes, to undo it by, if the
// statement could fail halfway for all it knows: where it is given numbers for its
// rows, where references are checked, and where a CHECK calls a function. That
// costs more than writing the rows. So SQLite numbers them, which it does just as
// we do (see exec), references are checked at the end, and rows of the large kinds
// are checked here alone (see [tableKind].sound).
//
// Source: SQLite's source, sqlite3MultiWrite and sqlite3MayAbort in build.c and where
// they are called.
type bulk struct {
	im      *importer
	table   string
	columns []string
	many    *sql.Stmt
	most    int // rows of the statement
	args    []any
	n       int
	first   int64
	next    int64
}

// newBulk begins with the number first, which follows the table's last.
func (im *importer) newBulk(table string, columns []string, first int64, sound bool) (*bulk, error) {
	b := &bulk{im: im, table: table, columns: columns, first: first, next: first}
	b.most = max(1, 1200/len(b.columns))
	if err := b.checks(!sound || im.opt.checked); err != nil {
		return nil, err
	}
	st, err := b.insert(b.most)
	b.many = st
	return b, err
}

// checks turns CHECKs on or off for the statements that follow.
func (b *bulk) checks(on bool) error {
	_, err := b.im.tx.Exec(fmt.Sprintf("PRAGMA ignore_check_constraints = %t", !on))
	return err
}

// after is the number that follows the table's last.
func (im *importer) after(table string) (first int64, err error) {
	err = im.tx.QueryRow(fmt.Sprintf("SELECT coalesce(max(id), 0) + 1 FROM %q", table)).Scan(&first)
	return first, err
}

// insert is the statement that adds so many rows.
func (b *bulk) insert(rows int) (*sql.Stmt, error) {
	one := "(?" + strings.Repeat(", ?", len(b.columns)-1) + ")"
	return b.im.tx.Prepare(fmt.Sprintf("INSERT OR FAIL INTO %q (%s) VALUES %s%s", b.table, strings.Join(quoted(b.columns), ", "), one, strings.Repeat(", "+one, rows-1)))
}

// exec writes the rows that are held back; the last of them has the number before next.
func (b *bulk) exec(st *sql.Stmt) error {
	res, err := st.Exec(b.args...)
	b.args, b.n = b.args[:0], 0
	if err != nil {
		return err
	}
	id, err := res.LastInsertId()
	if err == nil && id != b.next-1 {
		err = fmt.Errorf("a row of %s came as number %d, want %d", b.table, id, b.next-1)
	}
	return err
}

func quoted(names []string) (out []string) {
	for _, n := range names {
		out = append(out, fmt.Sprintf("%q", n))
	}
	return out
}

// add adds one row; vals are those of its columns.
func (b *bulk) add(vals ...any) error {
	b.args = append(b.args, vals...)
	b.next++
	if b.n++; b.n < b.most {
		return nil
	}
	return b.exec(b.many)
}

// end writes what is held back, and says which rows were added.
func (b *bulk) end() error {
	defer b.many.Close()
	if b.n > 0 {
		st, err := b.insert(b.n)
		if err != nil {
			return err
		}
		defer st.Close()
		if err := b.exec(st); err != nil {
			return err
		}
	}
	if b.next > b.first {
		b.im.ranges = append(b.im.ranges, added{b.table, b.first, b.next - 1})
	}
	return b.checks(true)
}

// sqlColumns are the database's columns of a kind, and where each lies among
// the kind's own; -1 is the key.
func (k *tableKind) sqlColumns() (names []string, at []int) {
	for i, c := range k.columns {
		if c.sql != "" {
			names, at = append(names, c.sql), append(at, i)
		}
	}
	if k.keyed {
		names, at = append(names, "key"), append(at, -1)
	}
	return names, at
}

// pick puts the row's values in the order of sqlColumns into out.
func (r *importRow) pick(at []int, out []any) []any {
	out = out[:0]
	for _, i := range at {
		if i < 0 {
			out = append(out, key(r.name()))
		} else {
			out = append(out, r.vals[i])
		}
	}
	return out
}

// insertNew adds the new rows of all kinds with keys, and their lists, as far as
// that is not done.
func (im *importer) insertNew() error {
	for _, k := range kinds {
		if k.key == nil {
			continue
		}
		x := im.index[k]
		rows := x.rows[x.done:]
		if len(rows) == 0 {
			continue
		}
		names, at := k.sqlColumns()
		b, err := im.newBulk(k.table, names, x.first+int64(x.done), k.sound)
		if err != nil {
			return err
		}
		x.done = len(x.rows)
		var vals []any
		for _, r := range rows {
			if k == photoKind {
				if err := im.placePhoto(r); err != nil {
					return err
				}
			}
			vals = r.pick(at, vals)
			if err := b.add(vals...); err != nil {
				return fmt.Errorf("%s %q: %w", k.one, r.name(), err)
			}
		}
		if err := b.end(); err != nil {
			return err
		}
		for _, l := range k.lists() {
			if err := im.insertList(l, rows); err != nil {
				return err
			}
		}
	}
	return nil
}

func (im *importer) insertList(l list, owners []*importRow) error {
	first, err := im.after(l.table)
	if err != nil {
		return err
	}
	b, err := im.newBulk(l.table, l.columns, first, false)
	if err != nil {
		return err
	}
	for _, r := range owners {
		for _, vals := range l.rows(im, r) {
			if err := b.add(vals...); err != nil {
				return err
			}
		}
	}
	return b.end()
}
