package transfer

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"hueward/selection/book/exchange"
	"hueward/selection/book/naming"
)

// Assignment is one row of a table that says which plant each photo shows.
type Assignment struct {
	File  string      // as written in the table
	Plant string      // id, clean
	Bloom *[2]float64 // a point on the bloom, pixels as displayed; nil: not given
	Card  *[4]float64 // x, y, width, height of the grey card; nil: not given
	Line  int         // of the table, counted from 1
}

// photoList is a table of assignments; the columns after the first two come in groups,
// all or none of which are given in a row.
var photoList = exchange.Kind{Name: "lists of photos", Need: []string{"file", "plant"}, Columns: []exchange.Column{
	{Name: "file"}, {Name: "plant", Clean: naming.CleanID},
	{Name: "bloom_x", Type: exchange.Real}, {Name: "bloom_y", Type: exchange.Real},
	{Name: "card_x", Type: exchange.Real}, {Name: "card_y", Type: exchange.Real},
	{Name: "card_w", Type: exchange.Real}, {Name: "card_h", Type: exchange.Real},
}}

// listGroups are where the groups of photoList begin and end.
var listGroups = [2][2]int{{2, 4}, {4, 8}}

// ReadAssignments reads a table that says which plant each photo shows: the columns file and plant, and optionally
// bloom_x and bloom_y, card_x, card_y, card_w and card_h. Other columns are left alone. A mistake is an
// [*exchange.Error] in the file of that name.
func ReadAssignments(name string, r io.Reader) ([]Assignment, error) {
	extra := func(_ *exchange.Kind, name string) (exchange.Column, error) { return exchange.Column{Name: name}, nil }
	t, err := exchange.NewTable(name, r, nil, &exchange.Options{Kind: &photoList, Extra: extra, Loose: true})
	if err != nil {
		return nil, err
	}
	fail := func(line, column int, format string, args ...any) error {
		return &exchange.Error{File: name, Line: line, Column: photoList.Columns[column].Name, Reason: fmt.Sprintf(format, args...)}
	}
	if at := incomplete(t.Given); at >= 0 {
		return nil, fail(1, at, "is missing; give all of its group or none")
	}
	out := []Assignment{}
	seen := map[string]Assignment{}
	for {
		row, errs := t.Next()
		if len(errs) > 0 {
			return nil, errs[0]
		}
		if row == nil {
			return out, nil
		}
		v := row.Values
		a := Assignment{Line: row.Line}
		var ok [2]bool
		a.File, ok[0] = v[0].(string)
		a.Plant, ok[1] = v[1].(string)
		for i := range ok {
			if !ok[i] {
				return nil, fail(row.Line, i, "is empty; fill it in")
			}
		}
		if at := incomplete(func(i int) bool { return v[i] != nil }); at >= 0 {
			return nil, fail(row.Line, at, "is empty; give all of its group or none")
		}
		if v[2] != nil {
			a.Bloom = &[2]float64{v[2].(float64), v[3].(float64)}
		}
		if v[4] != nil {
			a.Card = &[4]float64{v[4].(float64), v[5].(float64), v[6].(float64), v[7].(float64)}
			if side := math.Min(a.Card[2], a.Card[3]); side <= 0 {
				return nil, fail(row.Line, 6, "the card's width and height: %v is not above 0", side)
			}
		}
		file := slashed(a.File)
		if old, twice := seen[file]; twice {
			if naming.Key(old.Plant) != naming.Key(a.Plant) {
				return nil, fail(row.Line, 1, "photo %q shows plant %q, but plant %q in line %d", a.File, a.Plant, old.Plant, old.Line)
			}
			return nil, fail(row.Line, 0, "photo %q is in line %d already", a.File, old.Line)
		}
		seen[file] = a
		out = append(out, a)
	}
}

// incomplete is a column that is not given while another of its group is; -1: none.
func incomplete(given func(column int) bool) int {
	for _, g := range listGroups {
		n, missing := 0, -1
		for i := g[0]; i < g[1]; i++ {
			if given(i) {
				n++
			} else {
				missing = i
			}
		}
		if n > 0 && missing >= 0 {
			return missing
		}
	}
	return -1
}

// slashed is a file of the table, which may come from another system.
func slashed(file string) string {
	return filepath.ToSlash(filepath.Clean(strings.ReplaceAll(file, `\`, "/")))
}
