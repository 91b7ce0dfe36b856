package transfer

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"hueward/selection/book/exchange"
	"hueward/selection/book/remedy"
)

// stream takes in a file of a kind without keys, row by row: there may be more
// of them than fit into memory.
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
