package transfer

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"hueward/selection/book/exchange"
	"hueward/selection/book/remedy"
)

// stream takes in a file of a kind without keys, row by row: there may be more
// of them than fit into memory.
func (im *importer) stream(s *source) error {
	names, at := s.kind.sqlColumns()
	have, err := im.tally(s.kind)
	if err != nil {
		return err
	}
	a, err := im.newAdder(s.kind.table, names)
	if err != nil {
		return err
	}
	for r := range im.rows(s) {
		before := len(im.problems) + im.more
		if err := im.resolveLoose(r); err != nil {
			return err
		}
		if len(im.problems)+im.more > before {
			continue
		}
		if len(have) > 0 {
			d := said(s.kind, r.vals)
			if have[d] > 0 {
				have[d]--
				s.done.Same++
				continue
			}
		}
		s.done.Added++
		if len(im.problems) > 0 {
			continue // nothing will be kept; the rest is only checked
		}
		if err := a.add(r.pick(at)...); err != nil {
			return fmt.Errorf("%s: line %d: %w", s.File, r.line, err)
		}
	}
	a.end()
	return im.ctx.Err()
}

// resolveLoose is resolve for a row that is never in the book under its name.
func (im *importer) resolveLoose(r *importRow) error {
	for i := range r.kind.columns {
		c := &r.kind.columns[i]
		if c.ref == "" || r.vals[i] == nil {
			continue
		}
		id, err := im.find(refKind[c.ref], r.vals[i].(string))
		if err != nil {
			im.failErr(r, c.Name, err)
			return nil
		}
		r.vals[i] = id
	}
	if err := im.settle(r); err != nil {
		return err
	}
	im.defaults(r)
	return nil
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

func (im *importer) tally(k *tableKind) (tally, error) {
	var cols []string
	for _, c := range k.columns {
		if c.sql == "" {
			cols = append(cols, "NULL")
		} else {
			cols = append(cols, c.sql)
		}
	}
	rows, err := im.tx.Query(fmt.Sprintf("SELECT %s FROM %q", strings.Join(cols, ", "), k.table))
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	out := tally{}
	vals, ptrs := make([]any, len(cols)), make([]any, len(cols))
	for i := range vals {
		ptrs[i] = &vals[i]
	}
	for rows.Next() {
		if err := rows.Scan(ptrs...); err != nil {
			return nil, err
		}
		out[said(k, vals)]++
	}
	return out, rows.Err()
}

// scoreColumns takes the scores of plants that stand in columns of their own: a
// plant gets a new score where its newest of the trait says otherwise.
func (im *importer) scoreColumns() error {
	extra := slices.ContainsFunc(im.sources, func(s *source) bool { return len(s.Extra) > 0 })
	if !extra {
		return nil
	}
	newest := map[[2]int64]float64{}
	rows, err := im.tx.Query("SELECT plant_id, trait_id, value FROM score ORDER BY id")
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var k [2]int64
		var v float64
		if err := rows.Scan(&k[0], &k[1], &v); err != nil {
			return err
		}
		newest[k] = v
	}
	if err := errors.Join(rows.Err(), rows.Close()); err != nil {
		return err
	}
	a, err := im.newAdder("score", []string{"plant_id", "trait_id", "value", "added_at"})
	if err != nil {
		return err
	}
	for _, s := range im.sources {
		for i, c := range s.Extra {
			column := len(s.kind.columns) + i
			trait, err := im.find(traitKind, c.Name)
			if err != nil {
				im.problem(&exchange.Error{File: s.File, Line: 1, Column: s.Name(column),
					Remedy: remedy.Step(remedy.TraitOrNot, c.Name, s.Name(column)),
					Reason: "is neither a column of plants nor a trait of the book; correct its name, say what it is first, or leave it out"})
				continue
			}
			t, err := im.trait(trait)
			if err != nil {
				return err
			}
			for _, r := range s.rows {
				text, ok := r.vals[column].(string)
				if !ok {
					continue
				}
				wrong := func(format string, args ...any) {
					im.problem(&exchange.Error{File: s.File, Line: r.line, Column: s.Name(column), Reason: fmt.Sprintf(format, args...)})
				}
				v, err := t.Value(text)
				if err != nil {
					wrong("%v", err)
					continue
				}
				old, scored := newest[[2]int64{r.id, trait}]
				if scored && old == v {
					continue
				}
				if scored && !im.opt.Update {
					im.problem(&exchange.Error{File: s.File, Line: r.line, Column: s.Name(column), Remedy: remedy.Step(remedy.Update),
						Reason: fmt.Sprintf("%s is scored %v in the book, %v here; correct the file, or score it again", exchange.Quote(r.name()), old, v)})
					continue
				}
				if err := a.add(r.id, trait, v, im.b.Stamp()); err != nil {
					return err
				}
			}
		}
	}
	a.end()
	return nil
}
