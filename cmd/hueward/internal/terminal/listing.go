package terminal

import (
	"fmt"
	"reflect"
	"strconv"
	"strings"
)

// Listing is what a command lists: items for programs, a table for people.
type Listing struct {
	Items any // a slice of structs with JSON names, not nil
	// Head and Rows are the CSV where it is not just the items' fields.
	Head []string
	Rows [][]string

	Columns []Column
	Table   [][]string
	None    string // said in place of an empty table
}

// List prints a listing as its flags ask.
func (s *Stream) List(o *Output, l Listing) error {
	switch {
	case o.JSON:
		return WriteJSON(s, l.Items)
	case o.CSV && l.Head == nil:
		return WriteCSV(s, fields(l.Items), cells(l.Items))
	case o.CSV:
		return WriteCSV(s, l.Head, l.Rows)
	case len(l.Table) == 0 && l.None != "":
		s.Say("", l.None)
		return nil
	}
	s.Table(l.Columns, l.Table)
	return nil
}

// fields are the JSON names of the fields of items, a slice of structs, in their order;
// those tagged csv:"-" are left out.
func fields(items any) (names []string) {
	t := reflect.TypeOf(items).Elem()
	for i := range t.NumField() {
		if f := t.Field(i); f.Tag.Get("csv") != "-" {
			names = append(names, f.Tag.Get("json"))
		}
	}
	return names
}

// cells are the fields of items as text: several words with blanks between them, and
// nothing for what is not known.
func cells(items any) [][]string {
	v := reflect.ValueOf(items)
	rows := make([][]string, v.Len())
	for k := range rows {
		for i := range v.Index(k).NumField() {
			if v.Type().Elem().Field(i).Tag.Get("csv") != "-" {
				rows[k] = append(rows[k], cell(v.Index(k).Field(i)))
			}
		}
	}
	return rows
}

func cell(v reflect.Value) string {
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return ""
		}
		return cell(v.Elem())
	case reflect.Float64:
		return strconv.FormatFloat(v.Float(), 'g', -1, 64)
	case reflect.Slice:
		return strings.Join(v.Interface().([]string), " ")
	}
	return fmt.Sprint(v.Interface())
}
