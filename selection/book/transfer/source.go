package transfer

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"iter"
	"slices"
	"strings"
	"time"

	"hueward/selection/book/disk"
	"hueward/selection/book/exchange"
)

// open opens one file and reads its first line.
func (im *importer) open(file string, as *tableKind) {
	f, err := im.openTable(file)
	if err != nil {
		im.unopened = true
		im.problem(err)
		return
	}
	opt := &exchange.Options{Ignore: im.opt.Ignore, Order: im.opt.Order, Extra: traitColumn}
	var known []*exchange.Kind
	for _, k := range kinds {
		known = append(known, &k.Kind)
	}
	if as != nil {
		opt.Kind = &as.Kind
	}
	t, err := exchange.NewTable(file, f, known, opt)
	if err != nil {
		f.Close()
		im.problem(err)
		return
	}
	im.sources = append(im.sources, &source{Table: t, kind: kindNamed(t.Kind.Name), closer: f, done: ImportedTable{File: file,
		Kind: t.Kind.Name}})
}

// openTable opens a file with a table.
func (im *importer) openTable(file string) (*disk.File, error) {
	f, err := disk.Open(file)
	if err == nil {
		var info fs.FileInfo
		if info, err = f.Stat(); err == nil && !info.IsDir() {
			return f, nil
		}
		f.Close()
		err = cmp.Or(err, errors.New("it is a folder"))
	}
	var p *fs.PathError
	if errors.As(err, &p) {
		err = p.Err // the file is named once
	}
	return nil, fmt.Errorf("%s: cannot be opened: %w; correct its name, or see that it may be read", file, err)
}

// traitPrefix begins a trait's column where its name is that of another column.
const traitPrefix = "trait:"

// traitColumn takes the further columns of plants for traits; whether there are such is seen later.
func traitColumn(k *exchange.Kind, name string) (exchange.Column, error) {
	if k != &plantKind.Kind {
		return exchange.Column{}, nil
	}
	if len(name) > len(traitPrefix) && strings.EqualFold(name[:len(traitPrefix)], traitPrefix) {
		name = name[len(traitPrefix):]
	}
	clean, err := cleanTraitName(name)
	return exchange.Column{Name: clean, Clean: cleanWord}, err
}

// rows are the sound rows of the file, once; what is wrong with others is noted. They
// end early when the import is called off.
func (im *importer) rows(s *source) iter.Seq[*importRow] {
	return func(yield func(*importRow) bool) {
		for im.ctx.Err() == nil && (im.tx == nil || im.tx.Err() == nil) {
			row, errs := s.Next()
			for _, err := range errs {
				im.problem(err)
			}
			if row == nil {
				return
			}
			im.noteAhead(s, row)
			if len(errs) == 0 && !yield(&importRow{kind: s.kind, from: s, line: row.Line, vals: slices.Clone(row.Values)}) {
				return
			}
		}
	}
}

// mostAhead is how many days ahead of the clock are told.
const mostAhead = 3

// noteAhead notes days of the row that lie ahead: a slip of the pen, or of a clock.
func (im *importer) noteAhead(s *source, row *exchange.Row) {
	for i := range s.kind.columns {
		c := &s.kind.columns[i]
		if i >= len(row.Values) || c.Name == "good_until" || len(im.ahead) >= mostAhead {
			continue
		}
		days, _ := row.Values[i].([]string)
		if day, ok := row.Values[i].(string); ok {
			days = []string{day}
		}
		for _, day := range days {
			if (c.Type == exchange.Day || c.Type == exchange.Days) && day > im.b.Now().Format(time.DateOnly) && len(im.ahead) < mostAhead {
				im.ahead = append(im.ahead, fmt.Sprintf("%s: line %d, column %q: %s lies ahead of today", s.File, row.Line, s.Name(i), day))
			}
		}
	}
}
