package exchange

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"hueward/selection/book/remedy"
	"hueward/selection/written"
)

// Kind is a kind of table.
type Kind struct {
	Name    string // "plants"; of its file, too: plants.csv
	Columns []Column
	Need    []string // columns that every file of the kind must have
}

// has reports whether name is among names, without regard to case.
func has(names []string, name string) bool {
	return slices.ContainsFunc(names, func(s string) bool { return strings.EqualFold(s, name) })
}

// column returns the index of the column of that name, whatever its case; -1: none.
func (k *Kind) column(name string) int {
	return slices.IndexFunc(k.Columns, func(c Column) bool { return strings.EqualFold(c.Name, name) })
}

// Options say how a table is read; nil is the usual case.
type Options struct {
	Kind   *Kind    // of the table; nil: found from its columns
	Ignore []string // columns to pass over; compared without regard to case
	// Extra takes columns that the kind does not have: it returns their column, or
	// an error that says what is wrong with them. nil: there are none.
	Extra func(k *Kind, name string) (Column, error)
	Order written.Order // of day and month in 12/7/2026
	// Loose: rows may end early, and columns without a name are passed over.
	Loose bool
}

// Table is a table being read.
type Table struct {
	File  string
	Kind  *Kind
	Extra []Column // columns that [Options].Extra returned; numbered after the kind's own

	r      *Reader
	head   []string // names of the columns as in the file
	to     []int    // field: column of the kind, or len(Columns) + extra, or -1
	column []int    // column: field, or -1
	loose  bool
	order  written.Order
	row    Row
}

// Row is one row of a table; it is valid until the next.
type Row struct {
	Line   int
	Values []any // of the kind's columns, then the extra ones; nil: empty, or there is no such column
}

// NewTable reads the first line of a table, which is one of kinds. The error may join several of type [*Error].
func NewTable(file string, r io.Reader, kinds []*Kind, opt *Options) (*Table, error) {
	opt = cmp.Or(opt, &Options{})
	t := &Table{File: file, r: NewReader(file, r), loose: opt.Loose, order: opt.Order}
	head, err := t.r.Read()
	if errors.Is(err, io.EOF) {
		return nil, &Error{File: file, Line: 1, Reason: "the table is empty; its first line must name the columns"}
	}
	if err != nil {
		return nil, err
	}
	line := head[0].Line
	var errs []error
	fail := func(column, reason string) {
		errs = append(errs, &Error{File: file, Line: line, Column: column, Reason: reason})
	}
	ignored := make([]bool, len(head))
	for i, f := range head {
		name := strings.TrimSpace(f.Text)
		if name != "" && has(t.head, name) {
			fail(name, "named twice")
		}
		t.head = append(t.head, name)
		ignored[i] = name != "" && slices.ContainsFunc(opt.Ignore, func(s string) bool { return strings.EqualFold(strings.TrimSpace(s), name) })
	}
	if t.Kind = opt.Kind; t.Kind == nil {
		if t.Kind, err = tell(t.head, kinds); err != nil {
			return nil, &Error{File: file, Line: line, Reason: err.Error(), Remedy: remedyOf(err)}
		}
	}
	for _, need := range t.Kind.Need {
		if !has(t.head, need) {
			fail(need, "is missing; "+t.Kind.Name+" have the columns "+t.Kind.columns())
		}
	}
	n := len(t.Kind.Columns)
	t.column = slices.Repeat([]int{-1}, n)
	for i, name := range t.head {
		at := t.Kind.column(name)
		switch {
		case name == "" || ignored[i]:
			at = -1
		case at >= 0:
			t.column[at] = i
		default:
			extra, how := Column{}, remedy.Step(remedy.Ignore, name)
			err := fmt.Errorf("is not a column of %s, which are %s; correct its name, or leave it out", t.Kind.Name, t.Kind.columns())
			if opt.Extra != nil {
				if c, e := opt.Extra(t.Kind, name); e != nil {
					err, how = e, remedy.Remedy{}
				} else if c.Name != "" {
					extra, err = c, nil
				}
			}
			if err != nil {
				errs = append(errs, &Error{File: file, Line: line, Column: name, Reason: err.Error(), Remedy: how})
				break
			}
			if at = slices.IndexFunc(t.Extra, func(c Column) bool { return c.Name == extra.Name }); at >= 0 {
				fail(name, "named twice")
				break
			}
			at = n + len(t.Extra)
			t.Extra, t.column = append(t.Extra, extra), append(t.column, i)
		}
		t.to = append(t.to, at)
	}
	if len(errs) > 0 {
		return nil, errors.Join(errs...)
	}
	return t, nil
}

func (k *Kind) columns() string {
	var names []string
	for _, c := range k.Columns {
		names = append(names, c.Name)
	}
	return strings.Join(names, ",")
}

// tell returns the kind that has most of the file's columns, among the kinds whose needed columns are all there.
func tell(head []string, kinds []*Kind) (*Kind, error) {
	var best *Kind
	var most [2]int
	twice := false
	for _, k := range kinds {
		have := 0
		for _, c := range k.Columns {
			if has(head, c.Name) {
				have++
			}
		}
		if slices.ContainsFunc(k.Need, func(need string) bool { return !has(head, need) }) {
			continue
		}
		score := [2]int{have, len(k.Need)}
		switch c := slices.Compare(score[:], most[:]); {
		case c > 0:
			best, most, twice = k, score, false
		case c == 0:
			twice = true
		}
	}
	var names []string
	for _, k := range kinds {
		names = append(names, k.Name)
	}
	switch {
	case best == nil:
		return nil, remedy.Step(remedy.SayTable, strings.Join(names, ", ")).Errorf("the columns %s are of no table that is known; correct "+
			"their names, or say which it is",
			Quote(strings.Join(head, ",")))
	case twice:
		return nil, remedy.Step(remedy.SayTable, best.Name).Errorf("the columns %s are of more than one table; say which it is",
			Quote(strings.Join(head, ",")))
	}
	return best, nil
}

// Given reports whether the file has the kind's column number i.
func (t *Table) Given(i int) bool { return t.column[i] >= 0 }

// Name returns the file's name for column number i; extra columns are numbered after the kind's.
func (t *Table) Name(i int) string {
	if i < len(t.column) && t.column[i] >= 0 {
		return t.head[t.column[i]]
	}
	return t.Kind.Columns[i].Name
}

// Next reads the next row. If the row has mistakes, it returns all of them; the row must not be used then, but the next
// one may be read. The row is nil after the last row, and after an error in the CSV itself.
func (t *Table) Next() (*Row, []error) {
	fields, err := t.r.Read()
	if errors.Is(err, io.EOF) {
		return nil, nil
	}
	if err != nil {
		return nil, []error{err}
	}
	row := &t.row
	row.Line = fields[0].Line
	row.Values = slices.Grow(row.Values[:0], len(t.column))[:len(t.column)]
	clear(row.Values)
	var errs []error
	if len(fields) > len(t.head) || len(fields) < len(t.head) && !t.loose {
		todo := "put a field with the separator in it in quotes"
		if len(fields) < len(t.head) {
			todo = "let empty fields at its end keep their separators"
		}
		have := fmt.Sprint(len(fields), " fields")
		if len(fields) == 1 {
			have, todo = "1 field", "separate its fields as the first line does"
		}
		return row, []error{&Error{File: t.File, Line: row.Line, Reason: fmt.Sprintf("%s, but the first line names %d columns; %s",
			have, len(t.head), todo)}}
	}
	for i, f := range fields {
		at := t.to[i]
		if at < 0 {
			if t.head[i] == "" && f.Text != "" && !t.loose {
				errs = append(errs, &Error{File: t.File, Line: f.Line, Reason: fmt.Sprintf("%s stands in a column without a name; name it in the "+
					"first line", Quote(f.Text))})
			}
			continue
		}
		c := &Column{}
		if at < len(t.Kind.Columns) {
			c = &t.Kind.Columns[at]
		} else {
			c = &t.Extra[at-len(t.Kind.Columns)]
		}
		v, err := c.Parse(f, t.order)
		if err != nil {
			errs = append(errs, &Error{File: t.File, Line: f.Line, Column: t.head[i], Reason: err.Error()})
			continue
		}
		row.Values[at] = v
	}
	return row, errs
}

func remedyOf(err error) remedy.Remedy {
	r, _ := remedy.Of(err)
	return r
}

// Error is a mistake in a table, with its place.
type Error struct {
	File   string // as it was named
	Line   int    // counted from 1; 0: the file as a whole
	Column string // empty: the line as a whole
	Reason string // what is wrong, and what to do
	Remedy remedy.Remedy
}

func (e *Error) Error() string {
	switch {
	case e.Line == 0:
		return fmt.Sprintf("%s: %s", e.File, e.Reason)
	case e.Column == "":
		return fmt.Sprintf("%s: line %d: %s", e.File, e.Line, e.Reason)
	}
	return fmt.Sprintf("%s: line %d, column %q: %s", e.File, e.Line, e.Column, e.Reason)
}

// Quote returns a value as an error message shows it: in quotes, and shortened if it is long.
func Quote(s string) string {
	const most = 60
	n := 0
	for i := range s {
		if n++; n > most {
			return fmt.Sprintf("%q…", s[:i])
		}
	}
	return fmt.Sprintf("%q", s)
}

// How returns the step that mends the mistake.
func (e *Error) How() remedy.Remedy { return e.Remedy }
