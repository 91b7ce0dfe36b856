package transfer

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"hueward/selection/book"
	"hueward/selection/book/exchange"
	"hueward/selection/book/naming"
	"hueward/selection/book/remedy"
)

// index finds the rows of a kind by their keys.
type index struct {
	ids   map[string]int64
	first int64                // number of the first new row
	rows  []*importRow         // the new ones, in order of their numbers
	again map[int64]*importRow // those that are imported again
	done  int                  // how many of the new ones were written
}

// loadIndex reads the keys of all rows in the book.
func (im *importer) loadIndex() {
	im.index = map[*tableKind]*index{}
	for _, k := range kinds {
		if k.key == nil {
			continue
		}
		x := &index{ids: map[string]int64{}, first: 1, again: map[int64]*importRow{}}
		im.index[k] = x
		what := "key"
		if !k.keyed {
			var cols []string
			for _, c := range k.key {
				cols = append(cols, k.columns[k.at(c)].sql)
			}
			what = strings.Join(cols, " || ' ' || ")
		}
		im.tx.Each(fmt.Sprintf("SELECT id, %s FROM %q", what, k.table), nil, func(scan func(to ...any)) {
			var id int64
			var s string
			scan(&id, &s)
			x.ids[s] = id
			x.first = max(x.first, id+1)
		})
	}
}

// register gives the row its number: that of the book's row of its name, or the next.
func (im *importer) register(r *importRow) {
	k, _ := im.keyOf(r)
	x := im.index[r.kind]
	id, known := x.ids[k]
	if !known {
		im.add(r, k)
		return
	}
	other := x.again[id]
	if id >= x.first {
		other = x.rows[id-x.first]
	}
	if other != nil {
		im.fail(r, r.kind.key[0], "%s %s is in %s, line %d, already", r.kind.one, exchange.Quote(r.name()), other.from.File, other.line)
		return
	}
	r.id, x.again[id] = id, r
}

func (im *importer) add(r *importRow, key string) {
	x := im.index[r.kind]
	r.id = x.first + int64(len(x.rows))
	x.ids[key], x.rows = r.id, append(x.rows, r)
}

// imply adds a row that others name.
func (im *importer) imply(k *tableKind, key string, vals ...any) *importRow {
	r := &importRow{kind: k, vals: append(vals, make([]any, len(k.columns)-len(vals))...)}
	im.add(r, key)
	im.defaults(r)
	return r
}

// followed are the names of the rows that were implied.
func (im *importer) followed(k *tableKind) (names []string) {
	for _, r := range im.index[k].rows {
		if r.from == nil {
			names = append(names, r.name())
		}
	}
	slices.Sort(names)
	return names
}

// resolve turns the names in a row into row numbers, fills in what the book has or what follows, and checks the whole.
func (im *importer) resolve(r *importRow) {
	if x := im.index[r.kind]; x != nil && x.again[r.id] == r {
		r.old = im.row(r.kind, r.id)
	}
	ok := true
	for i := range r.kind.columns {
		c := &r.kind.columns[i]
		switch {
		case r.old != nil && (c.stamp || !r.from.Given(i) || slices.Contains(r.kind.key, c.Name)):
			r.vals[i] = r.old[i] // a name as the book spells it
		case c.ref != "" && r.vals[i] != nil:
			id, err := im.find(kindNamed(c.ref), r.vals[i].(string))
			if err != nil {
				im.failErr(r, c.Name, err)
				ok = false
			}
			r.vals[i] = id
		}
	}
	if ok && r.need(im, r.kind.must...) {
		im.settle(r)
	}
	im.defaults(r)
}

// defaults fills in what a row leaves empty that the book does not.
func (im *importer) defaults(r *importRow) {
	for i := range r.kind.columns {
		if c := &r.kind.columns[i]; r.vals[i] == nil {
			if r.vals[i] = c.or; c.stamp {
				r.vals[i] = im.b.Stamp()
			}
		}
	}
}

// find returns the number of the row of that name. Lines, seasons and the usual traits are added when they are new.
func (im *importer) find(k *tableKind, name string) (int64, error) {
	x := im.index[k]
	if id, ok := x.ids[name]; ok { // a plant's M-07 is not its key m-07, a number or a sum is
		return id, nil
	}
	low := naming.Key(name)
	if id, ok := x.ids[low]; ok {
		return id, nil
	}
	switch k {
	case lineKind, seasonKind:
		return im.imply(k, low, name).id, nil
	case traitKind:
		t, ok := book.UsualTrait(name)
		if !ok {
			return 0, remedy.Step(remedy.SayTrait, name).Errorf("trait %s is not in the book; say what it is first", exchange.Quote(name))
		}
		if low = naming.Key(t.Name); x.ids[low] != 0 {
			return x.ids[low], nil
		}
		words, err := json.Marshal(append([]string{}, t.Words...))
		return im.imply(k, low, t.Name, t.Unit, floatOf(t.Low), floatOf(t.High), t.Better, string(words), t.Note).id, err
	case photoKind:
		return 0, fmt.Errorf("photo %.12s… is neither in the book nor in what is imported; import photos.csv along with it", name)
	}
	upper := strings.ToUpper(name)
	if m := naming.Made().FindStringSubmatch(upper); m != nil {
		fits := string(naming.CheckLetter(strings.TrimSuffix(upper, m[4])))
		if id, ok := x.ids[naming.Key(upper+fits)]; ok && m[4] == "" {
			return id, nil
		}
		if m[4] != "" && m[4] != fits {
			return 0, fmt.Errorf("%s %s: %w", k.one, exchange.Quote(name), naming.ErrMistyped)
		}
	}
	return 0, fmt.Errorf("%s %s is neither in the book nor in what is imported; correct it, or import it along", k.one, exchange.Quote(name))
}

func floatOf(v *float64) any {
	if v == nil {
		return nil
	}
	return *v
}

// row returns a row's values by its number: a new one's, one's that is imported again, or those in the book.
func (im *importer) row(k *tableKind, id int64) []any {
	x := im.index[k]
	if id >= x.first {
		return x.rows[id-x.first].vals
	}
	if r := x.again[id]; r != nil && r.old != nil {
		return r.vals
	}
	var cols []string
	for _, c := range k.columns {
		cols = append(cols, c.kept())
	}
	vals, to := anyRow(len(cols))
	im.tx.Get(fmt.Sprintf("SELECT %s FROM %q t WHERE id = ?", strings.Join(cols, ", "), k.table), id).Into(to...)
	parted(k.Columns, vals)
	return vals
}

// parted makes lists of the columns that hold several words, in place.
func parted(columns []exchange.Column, vals []any) {
	for i, c := range columns {
		if s, ok := vals[i].(string); ok && (c.Type == exchange.Words || c.Type == exchange.Days) {
			vals[i] = strings.Fields(s)
		}
	}
}

// kept is how the column is read as the database keeps it.
func (c *kindColumn) kept() string {
	if c.sql != "" {
		return "t." + c.sql
	}
	return c.query
}

// value is a column's value in the row; nil: empty.
func (r *importRow) value(column string) any { return r.vals[r.kind.at(column)] }

func (r *importRow) set(column string, v any) { r.vals[r.kind.at(column)] = v }

// text is a text of the row; empty where it is.
func (r *importRow) text(column string) string {
	s, _ := r.value(column).(string)
	return s
}

// real and whole are numbers of the row; ok is false where it is empty.
func (r *importRow) real(column string) (v float64, ok bool) {
	v, ok = r.value(column).(float64)
	return v, ok
}

func (r *importRow) whole(column string) (v int64, ok bool) {
	v, ok = r.value(column).(int64)
	return v, ok
}

// need checks that the columns are filled in.
func (r *importRow) need(im *importer, columns ...string) bool {
	for _, c := range columns {
		if r.value(c) == nil {
			im.fail(r, c, "is empty; fill it in")
			return false
		}
	}
	return true
}

// within checks that a number, where given, lies from low to high.
func (r *importRow) within(im *importer, column string, low, high float64) bool {
	if v, ok := r.real(column); ok && !(v >= low && v <= high) {
		im.fail(r, column, "%v: want %v to %v", v, low, high)
		return false
	}
	return true
}
