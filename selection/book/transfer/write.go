package transfer

import (
	"database/sql"
	"fmt"
	"slices"
	"strings"

	"hueward/selection/book/exchange"
	"hueward/selection/book/naming"
	"hueward/selection/book/remedy"
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
			im.differs(r, i, "a photo's own data are not changed; correct the file", remedy.Remedy{})
			return nil
		case r.kind == cameraKind:
			im.differs(r, i, "a camera model is learnt, not changed; to replace it, forget it first", remedy.Step(remedy.ForgetCamera))
			return nil
		case !im.opt.Update:
			im.differs(r, i, "correct the file, or change the book", remedy.Step(remedy.Update))
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
		update := fmt.Sprintf("UPDATE %q SET %s WHERE id = ?", r.kind.table, strings.Join(sets, ", "))
		if _, err := im.tx.Exec(update, append(args, r.id)...); err != nil {
			return err
		}
	}
	if !lists {
		return nil
	}
	for _, l := range r.kind.lists() {
		if _, err := im.tx.Exec(fmt.Sprintf("DELETE FROM %q WHERE %s = ?", l.table, l.columns[0]), r.id); err != nil {
			return err
		}
		if err := im.insertList(l, []*importRow{r}); err != nil {
			return err
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

// list is rows of another table that a column of the kind stands for; the first of
// the columns names the row that they belong to.
type list struct {
	table   string
	columns []string
	rows    func(im *importer, r *importRow) [][]any
}

func (k *tableKind) lists() []list {
	switch k {
	case headKind:
		return []list{{"pollination", []string{"head_id", "day", "note"}, pollinations}}
	case packetKind:
		return []list{{"packet_head", []string{"packet_id", "head_id"}, packetHeads}}
	}
	return nil
}

// added is a run of rows that an import added to a table.
type added struct {
	table       string
	first, last int64
}

// adder adds rows to a table, numbered one after the other from the table's last on.
type adder struct {
	im          *importer
	table       string
	st          *sql.Stmt
	first, next int64
}

func (im *importer) newAdder(table string, columns []string) (*adder, error) {
	a := &adder{im: im, table: table}
	if err := im.tx.QueryRow(fmt.Sprintf("SELECT coalesce(max(id), 0) + 1 FROM %q", table)).Scan(&a.first); err != nil {
		return nil, err
	}
	a.next = a.first
	names := "id"
	for _, n := range columns {
		names += fmt.Sprintf(", %q", n)
	}
	var err error
	a.st, err = im.tx.Prepare(fmt.Sprintf("INSERT INTO %q (%s) VALUES (?%s)", table, names, strings.Repeat(", ?", len(columns))))
	return a, err
}

// add adds one row; vals are those of its columns.
func (a *adder) add(vals ...any) error {
	_, err := a.st.Exec(append([]any{a.next}, vals...)...)
	a.next++
	return err
}

// end notes which rows were added.
func (a *adder) end() {
	a.st.Close()
	if a.next > a.first {
		a.im.ranges = append(a.im.ranges, added{a.table, a.first, a.next - 1})
	}
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
		if _, err := im.tx.Exec("INSERT INTO changed_row (change_id, tbl, row, last) VALUES (?, ?, ?, ?)", change, a.table, a.first,
			a.last); err != nil {
			return err
		}
	}
	_, err := im.tx.Exec("UPDATE change_now SET change_id = ?", change)
	return err
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

// pick returns the row's values in the order of sqlColumns.
func (r *importRow) pick(at []int) []any {
	out := make([]any, len(at))
	for i, k := range at {
		if k < 0 {
			out[i] = naming.Key(r.name())
		} else {
			out[i] = r.vals[k]
		}
	}
	return out
}

// insertNew adds the new rows of all kinds with keys, and their lists, as far as
// that is not done. Rows of all kinds have their numbers already, so that each may
// name others that come later: references are checked at the end.
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
		a, err := im.newAdder(k.table, names)
		if err != nil {
			return err
		}
		x.done = len(x.rows)
		for _, r := range rows {
			if k == photoKind {
				if err := im.placePhoto(r); err != nil {
					return err
				}
			}
			if err := a.add(r.pick(at)...); err != nil {
				return fmt.Errorf("%s %q: %w", k.one, r.name(), err)
			}
		}
		a.end()
		for _, l := range k.lists() {
			if err := im.insertList(l, rows); err != nil {
				return err
			}
		}
	}
	return nil
}

func (im *importer) insertList(l list, owners []*importRow) error {
	a, err := im.newAdder(l.table, l.columns)
	if err != nil {
		return err
	}
	for _, r := range owners {
		for _, vals := range l.rows(im, r) {
			if err := a.add(vals...); err != nil {
				return err
			}
		}
	}
	a.end()
	return nil
}

// differs tells of a row that says otherwise than the book.
func (im *importer) differs(r *importRow, i int, what string, how remedy.Remedy) {
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
	im.failErr(r, c.Name, how.Errorf("%s is %s here and %s in the book; %s", exchange.Quote(r.name()), say(r.vals[i]), say(r.old[i]), what))
}
