package terminal

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"reflect"
	"strconv"
	"strings"
	"time"

	"hueward/report/words"
)

// Item is one thing of a listing: names and values, in the order in which JSON and CSV have them.
type Item struct {
	names  []string
	values []any
	json   int // as many of them are the item itself; what comes after is for CSV and table alone
}

// Of is the item with these values of the names, which commas separate.
func Of(names string, values ...any) Item {
	i := Item{strings.Split(names, ","), values, len(values)}
	if len(i.names) != i.json {
		panic(fmt.Sprintf("%d values of %s", i.json, names))
	}
	return i
}

// Also adds names and values, one after the other, that only CSV and table show; of two that are named alike, they show the later.
func (i *Item) Also(pairs ...any) {
	for k := 0; k < len(pairs); k += 2 {
		i.names, i.values = append(i.names, pairs[k].(string)), append(i.values, pairs[k+1])
	}
}

// MarshalJSON implements [json.Marshaler]. A day that was not said is an empty text, and no texts are [].
func (i Item) MarshalJSON() ([]byte, error) {
	var out bytes.Buffer
	e := json.NewEncoder(&out)
	e.SetEscapeHTML(false)
	for k, v := range i.values[:i.json] {
		out.WriteByte("{,"[min(k, 1)])
		fmt.Fprintf(&out, "%q:", i.names[k])
		switch x := v.(type) {
		case time.Time:
			v = words.Day(x)
		case []string:
			v = append([]string{}, x...)
		}
		if err := e.Encode(v); err != nil {
			return nil, err
		}
	}
	out.WriteByte('}')
	return out.Bytes(), nil
}

// cell is the value of that name as text; empty: there is none, or it is not known.
func (i Item) cell(name string) string {
	for k := len(i.names) - 1; k >= 0; k-- {
		if i.names[k] == name {
			return text(i.values[k])
		}
	}
	return ""
}

// Known is v where it is known; else null in JSON, and nothing in CSV and table.
func Known(known bool, v any) any {
	if known {
		return v
	}
	return nil
}

// text is a value as CSV and table have it: several words with blanks between them, and nothing for what is not known.
func text(v any) string {
	switch v := v.(type) {
	case nil:
		return ""
	case string:
		return v
	case []string:
		return strings.Join(v, " ")
	case time.Time:
		return words.Day(v)
	case float64:
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	if r := reflect.ValueOf(v); r.Kind() == reflect.Pointer {
		if r.IsNil() {
			return ""
		}
		return text(r.Elem().Interface())
	}
	return fmt.Sprint(v)
}

// Listing is what a command lists: items for programs, a table for people.
type Listing struct {
	Fields  string // the names of an item's values, which commas separate: JSON's keys
	CSV     string // the columns of CSV; empty: Fields
	Columns []Column
	Table   [][]string // nil: of the items' values
	None    string     // said in place of an empty table
	items   []Item
}

// Add adds an item of these values of the Fields; the one returned may still be added to.
func (l *Listing) Add(values ...any) *Item {
	l.items = append(l.items, Of(l.Fields, values...))
	return &l.items[len(l.items)-1]
}

// List prints a listing as its flags ask, unless err says why there is none.
func (s *Stream) List(o *Output, l Listing, err error) error {
	switch {
	case err != nil:
		return err
	case o.JSON:
		return WriteJSON(s, append([]Item{}, l.items...))
	case o.CSV:
		head := strings.Split(cmp.Or(l.CSV, l.Fields), ",")
		return WriteCSV(s, head, l.rows(head))
	}
	if l.Table == nil {
		var names []string
		for _, c := range l.Columns {
			names = append(names, cmp.Or(c.Of, c.Head))
		}
		l.Table = l.rows(names)
	}
	if len(l.Table) == 0 && l.None != "" {
		s.Say("", l.None)
		return nil
	}
	s.Table(l.Columns, l.Table)
	return nil
}

// rows are the values of those names, a row an item.
func (l *Listing) rows(names []string) [][]string {
	rows := make([][]string, len(l.items))
	for k, i := range l.items {
		for _, n := range names {
			rows[k] = append(rows[k], i.cell(n))
		}
	}
	return rows
}
