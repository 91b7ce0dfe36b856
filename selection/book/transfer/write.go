package transfer

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"hueward/selection/book/exchange"
	"hueward/selection/book/naming"
	"hueward/selection/book/remedy"
)

// compare passes over a row that the book has just so, and changes the book's where it may.
func (im *importer) compare(r *importRow) {
	var changed []int
	for i, c := range r.kind.columns {
		switch {
		case same(r.vals[i], r.old[i]), r.kind == photoKind && c.Name == "path": // where the book keeps it is the book's affair
			continue
		case r.kind == photoKind && c.Name != "plant":
			im.differs(r, i, "a photo's own data are not changed; correct the file", remedy.Remedy{})
			return
		case r.kind == cameraKind:
			im.differs(r, i, "a camera model is learnt, not changed; to replace it, forget it first", remedy.Step(remedy.ForgetCamera))
			return
		case !im.opt.Update:
			im.differs(r, i, "correct the file, or change the book", remedy.Step(remedy.Update))
			return
		}
		changed = append(changed, i)
	}
	if len(changed) == 0 {
		r.from.done.Same++
		return
	}
	r.from.done.Updated++
	if len(im.problems) > 0 {
		return // nothing will be kept
	}
	lists := false
	for _, i := range changed {
		if c := r.kind.columns[i].sql; c != "" {
			im.tx.Do(fmt.Sprintf("UPDATE %q SET %q = ? WHERE id = ?", r.kind.table, c), r.vals[i], r.id)
		} else {
			lists = true
		}
	}
	for _, l := range r.kind.lists() {
		if lists {
			im.tx.Do(fmt.Sprintf("DELETE FROM %q WHERE %s = ?", l.table, l.columns[0]), r.id)
			im.insertList(l, []*importRow{r})
		}
	}
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

// adding lets f add rows to a table, numbered one after the other from the table's last on, and notes which they are.
func (im *importer) adding(table string, columns []string, f func(add func(vals ...any))) {
	var first int64
	im.tx.Get(fmt.Sprintf("SELECT coalesce(max(id), 0) + 1 FROM %q", table)).Into(&first)
	if im.tx.Err() != nil {
		return
	}
	st, err := im.tx.Prepare(fmt.Sprintf(`INSERT INTO %q (id, "%s") VALUES (?%s)`, table, strings.Join(columns, `", "`),
		strings.Repeat(", ?", len(columns))))
	if err != nil {
		im.tx.Fail(err)
		return
	}
	defer st.Close()
	next := first
	f(func(vals ...any) {
		if im.tx.Err() == nil {
			_, err := st.Exec(append([]any{next}, vals...)...)
			im.tx.Fail(err)
			next++
		}
	})
	if next > first {
		im.ranges = append(im.ranges, added{table, first, next - 1})
	}
}

// quietly runs f without every row being noted by itself, and notes the runs of
// rows that were added instead, so that an import of many is taken back as fast.
func (im *importer) quietly(f func()) {
	var change int64
	im.tx.Get("SELECT change_id FROM change_now").Into(&change)
	im.tx.Do("UPDATE change_now SET change_id = NULL")
	if im.tx.Err() != nil {
		return
	}
	f()
	for _, a := range im.ranges {
		im.tx.Add("changed_row", "change_id, tbl, row, last", change, a.table, a.first, a.last)
	}
	im.tx.Do("UPDATE change_now SET change_id = ?", change)
}

// sqlColumns are the database's columns of a kind, and where each lies among the kind's own; -1 is the key.
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

// insertNew adds the new rows of all kinds with keys, and their lists, as far as that is not done. Rows of all kinds
// have their numbers already, so that each may name others that come later: references are checked at the end.
func (im *importer) insertNew() {
	if len(im.problems) > 0 {
		return // nothing will be kept
	}
	for _, k := range kinds {
		x := im.index[k]
		if x == nil || x.done == len(x.rows) {
			continue
		}
		rows := x.rows[x.done:]
		x.done = len(x.rows)
		names, at := k.sqlColumns()
		im.adding(k.table, names, func(add func(vals ...any)) {
			for _, r := range rows {
				if k == photoKind {
					im.placePhoto(r)
				}
				im.tx.In(fmt.Sprintf("%s %q", k.one, r.name()), func() { add(r.pick(at)...) })
			}
		})
		for _, l := range k.lists() {
			im.insertList(l, rows)
		}
	}
}

func (im *importer) insertList(l list, owners []*importRow) {
	im.adding(l.table, l.columns, func(add func(vals ...any)) {
		for _, r := range owners {
			for _, vals := range l.rows(im, r) {
				add(vals...)
			}
		}
	})
}

// differs tells of a row that says otherwise than the book.
func (im *importer) differs(r *importRow, i int, what string, how remedy.Remedy) {
	c := &r.kind.columns[i]
	say := func(v any) string {
		if id, ok := v.(int64); ok && c.ref != "" {
			for name, n := range im.index[kindNamed(c.ref)].ids {
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

// stream takes in a file of a kind without keys, row by row: there may be more of them than fit into memory.
func (im *importer) stream(s *source) {
	names, at := s.kind.sqlColumns()
	have := im.tally(s.kind)
	im.adding(s.kind.table, names, func(add func(vals ...any)) {
		for r := range im.rows(s) {
			before := len(im.problems) + im.more
			im.resolve(r)
			if len(im.problems)+im.more > before || im.tx.Err() != nil {
				continue
			}
			if len(have) > 0 {
				if d := said(s.kind, r.vals); have[d] > 0 {
					have[d]--
					s.done.Same++
					continue
				}
			}
			s.done.Added++
			if len(im.problems) == 0 { // else nothing will be kept, and the rest is only checked
				im.tx.In(fmt.Sprintf("%s: line %d", s.File, r.line), func() { add(r.pick(at)...) })
			}
		}
	})
	im.tx.Fail(im.ctx.Err())
}

// tally counts the rows of a table by what they say, so that the same row is
// not taken in again, and one that is there twice stays there twice.
type tally map[string]int

// said stands for a row's values, but for when it was entered.
func said(k *tableKind, vals []any) string {
	var b []byte
	for i, c := range k.columns {
		if c.sql != "" && !c.stamp {
			b = fmt.Appendf(b, "%T %v\x00", vals[i], vals[i]) // no text of the book holds a zero byte
		}
	}
	return string(b)
}

func (im *importer) tally(k *tableKind) tally {
	var cols []string
	for _, c := range k.columns {
		cols = append(cols, cmp.Or(c.sql, "NULL"))
	}
	out := tally{}
	vals, to := anyRow(len(cols))
	im.tx.Each(fmt.Sprintf("SELECT %s FROM %q", strings.Join(cols, ", "), k.table), nil, func(scan func(to ...any)) {
		scan(to...)
		out[said(k, vals)]++
	})
	return out
}

// scoreColumns takes the scores of plants that stand in columns of their own: a
// plant gets a new score where its newest of the trait says otherwise.
func (im *importer) scoreColumns() {
	if !slices.ContainsFunc(im.sources, func(s *source) bool { return len(s.Extra) > 0 }) {
		return
	}
	newest := map[[2]int64]float64{}
	im.tx.Each("SELECT plant_id, trait_id, value FROM score ORDER BY id", nil, func(scan func(to ...any)) {
		var k [2]int64
		var v float64
		scan(&k[0], &k[1], &v)
		newest[k] = v
	})
	im.adding("score", []string{"plant_id", "trait_id", "value", "added_at"}, func(add func(vals ...any)) {
		for _, s := range im.sources {
			for i, c := range s.Extra {
				im.scoreColumn(s, len(s.kind.columns)+i, c.Name, newest, add)
			}
		}
	})
}

// scoreColumn takes the scores of one column; newest are those of the book by plant and trait.
func (im *importer) scoreColumn(s *source, column int, name string, newest map[[2]int64]float64, add func(vals ...any)) {
	trait, err := im.find(traitKind, name)
	if err != nil {
		im.problem(&exchange.Error{File: s.File, Line: 1, Column: s.Name(column), Remedy: remedy.Step(remedy.TraitOrNot, name, s.Name(column)),
			Reason: "is neither a column of plants nor a trait of the book; correct its name, say what it is first, or leave it out"})
		return
	}
	t := im.trait(trait)
	for _, r := range s.rows {
		text, ok := r.vals[column].(string)
		if !ok {
			continue
		}
		v, err := t.Value(text)
		old, scored := newest[[2]int64{r.id, trait}]
		if err == nil && scored && old != v && !im.opt.Update {
			err = remedy.Step(remedy.Update).Errorf("%s is scored %v in the book, %v here; correct the file, or score it again",
				exchange.Quote(r.name()), old, v)
		}
		switch {
		case err != nil:
			how, _ := remedy.Of(err)
			im.problem(&exchange.Error{File: s.File, Line: r.line, Column: s.Name(column), Reason: err.Error(), Remedy: how})
		case !scored || old != v:
			add(r.id, trait, v, im.b.Stamp())
		}
	}
}

// anyRow is a row of so many values of any type, and where they are scanned to.
func anyRow(n int) (vals, to []any) {
	vals, to = make([]any, n), make([]any, n)
	for i := range vals {
		to[i] = &vals[i]
	}
	return vals, to
}
