package exchange

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"hueward/selection/written"
)

func TestParse(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		typ  Type
		text string
		want any // nil: an error
	}{
		{Text, "x", "x"}, {Text, " x ", " x "}, {Text, "=1+1", "=1+1"},
		{Words, " a  b ", []string{"a", "b"}},
		{Day, " 2024-02-29 ", "2024-02-29"}, {Day, "2026-02-29", nil}, {Day, "29.2.2024", "2024-02-29"}, {Day, "25/7/2026", "2026-07-25"},
		{Day, "12/7/2026", nil}, {Day, "12.7.", nil}, {Day, "1899-12-31", nil}, {Day, "2200-01-01",
			nil}, {Day, "2026-07-04T00:00:00Z", nil},
		// As spreadsheets write a day and count days: common practice, no source.
		{Day, "2026-07-04 00:00:00", "2026-07-04"}, {Day, "14.07.2026 00:00", "2026-07-14"},
		{Day, "2026-07-04 09:30:00", nil}, {Day, "46204", nil},
		{Days, "2026-07-04 2026-07-05", []string{"2026-07-04", "2026-07-05"}}, {Days, "2026-07-04,2026-07-05", nil},
		{Stamp, "2026-07-04T09:30:00.5+02:00", "2026-07-04T09:30:00.5+02:00"}, {Stamp, "2026-07-04", nil},
		{Count, "0", int64(0)}, {Count, "007", int64(7)}, {Count, "-1", nil}, {Count, "+1", nil}, {Count, "1.0", nil}, {Count, "1e16", nil},
		{Real, "76.25", 76.25}, {Real, "76,25", 76.25}, {Real, "-3", -3.0}, {Real, "+3", 3.0}, {Real, "1e-3", 0.001}, {Real, ".5", 0.5}, {Real,
			",5", 0.5},
		{Real, "1.234,5", nil}, {Real, "1,234,5", nil}, {Real, "inf", nil}, {Real, "nan", nil}, {Real, "0x1p4", nil}, {Real, "1_0", nil}, {Real,
			"1e400", nil}, {Real, "−3", -3.0}, {Real, "3 cm", nil},
		{YesNo, "Yes", int64(1)}, {YesNo, "no", int64(0)}, {YesNo, "1", int64(1)}, {YesNo, "perhaps", nil},
	} {
		got, err := (&Column{Type: c.typ}).Parse(Field{Text: c.text}, written.Unclear)
		if (err != nil) != (c.want == nil) || c.want != nil && !cmp.Equal(c.want, got) {
			t.Errorf("Parse(type %d, %q) = %#v, %v; want %#v", c.typ, c.text, got, err, c.want)
		}
	}
	_, err := (&Column{Type: Day}).Parse(Field{Text: "46204"}, written.Unclear)
	if !strings.Contains(err.Error(), "format the column as dates") {
		t.Errorf("a spreadsheet's number for a day: %v, want what to do", err)
	}
	for typ := Text; typ <= YesNo; typ++ {
		if v, err := (&Column{Type: typ}).Parse(Field{}, written.Unclear); v != nil || err != nil {
			t.Errorf("Parse(type %d, empty) = %v, %v; want nil", typ, v, err)
		}
	}
}

// A number is written so that it is read as the very same.
func TestFormatReal(t *testing.T) {
	t.Parallel()
	c := &Column{Type: Real}
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64().Draw(t, "v")
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return
		}
		got, err := c.Parse(Field{Text: c.Format(v)}, written.Unclear)
		if err != nil || got != any(v) {
			t.Fatalf("%v written as %q is read as %v, %v", v, c.Format(v), got, err)
		}
	})
}

var bees = &Kind{Name: "bees", Need: []string{"bee"}, Columns: []Column{{Name: "bee"}, {Name: "L", Type: Real},
	{Name: "seen", Type: Day}}}
var hives = &Kind{Name: "hives", Need: []string{"hive"}, Columns: []Column{{Name: "hive"}, {Name: "seen", Type: Day}}}

func TestTable(t *testing.T) {
	t.Parallel()
	table, err := NewTable("t.csv", strings.NewReader("SEEN;Bee;l\n2026-07-04;Maja;1,5\n;\"Willi\n\";x\nonly one\n"), []*Kind{hives, bees},
		nil)
	if err != nil {
		t.Fatal(err)
	}
	if table.Kind != bees || table.Name(1) != "l" || !table.Given(2) {
		t.Errorf("kind %s, column %s", table.Kind.Name, table.Name(1))
	}
	row, errs := table.Next()
	if d := cmp.Diff(&Row{2, []any{"Maja", 1.5, "2026-07-04"}}, row); d != "" || errs != nil {
		t.Errorf("first row: %v (-want +got):\n%s", errs, d)
	}
	row, errs = table.Next()
	if row == nil || fmt.Sprint(errs) != `[t.csv: line 4, column "l": "x" is not a number]` {
		t.Errorf("second row: %v", errs)
	}
	row, errs = table.Next()
	if row == nil || len(errs) != 1 || !strings.Contains(errs[0].Error(), "t.csv: line 5: 1 field, but the first line names 3 columns; ") {
		t.Errorf("third row: %v", errs)
	}
	if row, errs = table.Next(); row != nil || errs != nil {
		t.Errorf("after the last row: %v, %v", row, errs)
	}
}

// Days and numbers as spreadsheets of several countries write them. A comma before decimals
// is one only where it parts no fields; which of day and month comes first, the reader says.
func TestTableOfACountry(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text  string
		order written.Order
		want  string
	}{
		{"bee;L;seen\nM;3,5;12.7.2026\n", written.Unclear, "[M 3.5 2026-07-12]"},
		{"bee\tL\tseen\nM\t3,5\t12/7/2026\n", written.DayFirst, "[M 3.5 2026-07-12]"},
		{"bee,L,seen\nM,\"3,5\",12/7/2026\n", written.MonthFirst, "[M 3.5 2026-12-07]"},
		{"bee,L,seen\nM,3.5,25/7/2026\n", written.MonthFirst, "[M 3.5 2026-07-25]"},
		{"bee,L,seen\nM,3,5,12.7.2026\n", written.DayFirst, "4 fields, but the first line names 3 columns"},
		{"bee;L;seen\nM;3,5;12/7/2026\n", written.Unclear, "is 12 July or 7 December"},
		{"bee;L;seen\nM;3,5;12/7\n", written.DayFirst, "want a date such as 2026-07-14"},
	} {
		table, err := NewTable("t.csv", strings.NewReader(c.text), []*Kind{bees}, &Options{Order: c.order})
		if err != nil {
			t.Fatal(err)
		}
		row, errs := table.Next()
		if got := fmt.Sprint(row.Values, errs); len(errs) == 0 && got != c.want+" []" || len(errs) > 0 && !strings.Contains(got, c.want) {
			t.Errorf("%q, order %d: %s, want %s", c.text, c.order, got, c.want)
		}
	}
}

func TestTableErrors(t *testing.T) {
	t.Parallel()
	kinds := []*Kind{hives, bees}
	for _, c := range []struct {
		text string
		opt  *Options
		want string
	}{
		{"", nil, "t.csv: line 1: the table is empty"},
		{"wasp\n", nil, `t.csv: line 1: the columns "wasp" are of no table that is known; correct their names, or say which it is`},
		{"bee,hive\n", nil, `the columns "bee,hive" are of more than one table; say which it is`},
		{"bee,bee\n", nil, `t.csv: line 1, column "bee": named twice`},
		{"seen\n", &Options{Kind: bees}, `t.csv: line 1, column "bee": is missing; bees have the columns bee,L,seen`},
		{"\n\nbee,size\n", nil, `t.csv: line 3, column "size": is not a column of bees, which are bee,L,seen; correct its name, or leave it out`},
		{"bee,size\n", &Options{Ignore: []string{" SIZE "}}, ""},
		{"bee,hive\n", &Options{Kind: bees, Ignore: []string{"hive"}}, ""},
	} {
		_, err := NewTable("t.csv", strings.NewReader(c.text), kinds, c.opt)
		if c.want == "" && err != nil || c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("%q: error %v, want %q", c.text, err, c.want)
		}
	}
}
