package report_test

import (
	"context"
	"encoding/json"
	"fmt"
	"iter"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"hueward/report/workbook"
	"hueward/selection/book"
	"hueward/selection/book/exchange"
	"hueward/selection/book/transfer"
)

// formulas are texts that a spreadsheet would work out if it were let.
var formulas = []string{"=1+1", "+1", "-1", "@SUM(A1)", "=HYPERLINK(\"http://x\",\"y\")", "\t=1", "0012", "2026-07-04"}

// table has a cell of every kind, and texts that begin as formulas do.
func table(name string) transfer.Table {
	rows := [][]any{
		{"M-01", 76.25, int64(38), "2026-07-14", "2026-07-14T09:30:05Z", int64(1), []string{"M-01-1", "M-01-2"}, "first\nsecond", "[]"},
		{"M-02", nil, nil, nil, nil, int64(0), nil, "", "[]"},
		{"M-03", -0.5, int64(0), "1999-12-31", "2026-07-14T09:30:05.25+02:00", nil, nil, strings.Repeat("ä", 40_000), "[]"},
	}
	for i, f := range formulas {
		rows = append(rows, []any{fmt.Sprint("F-", i), float64(i), nil, nil, nil, nil, nil, f, nil})
	}
	for i := range 400 { // more than the width is set by
		rows = append(rows, []any{fmt.Sprint("N-", i), float64(i), nil, nil, nil, nil, nil, nil, nil})
	}
	return transfer.Table{
		Name: name,
		Columns: []exchange.Column{
			{Name: "plant"}, {Name: "L", Type: exchange.Real}, {Name: "seeds", Type: exchange.Count}, {Name: "made", Type: exchange.Day},
			{Name: "added_at", Type: exchange.Stamp}, {Name: "dry", Type: exchange.YesNo}, {Name: "heads", Type: exchange.Words}, {Name: "note"},
			{Name: "outline"},
		},
		Rows: iter.Seq2[[]any, error](func(yield func([]any, error) bool) {
			for _, r := range rows {
				if !yield(r, nil) {
					return
				}
			}
		}),
	}
}

// write writes the tables and returns the file.
func write(t testing.TB, tables ...transfer.Table) string {
	t.Helper()
	w := workbook.New()
	defer w.Close()
	for _, x := range tables {
		check(t, only(w.Add(x)))
	}
	name := filepath.Join(t.TempDir(), "t.xlsx")
	f, err := os.Create(name)
	check(t, err)
	defer f.Close()
	check(t, w.Write(f))
	return name
}

func TestWorkbook(t *testing.T) {
	f, err := excelize.OpenFile(write(t, table("readings"), table("plants")))
	check(t, err)
	defer f.Close()
	if d := cmp.Diff([]string{"readings", "plants"}, f.GetSheetList()); d != "" {
		t.Errorf("sheets (-want +got):\n%s", d)
	}
	rows, err := f.GetRows("readings")
	check(t, err)
	if d := cmp.Diff([]string{"plant", "L", "seeds", "made", "added_at", "dry", "heads", "note"}, rows[0]); d != "" {
		t.Errorf("columns, without the technical one (-want +got):\n%s", d)
	}
	if d := cmp.Diff([]string{"M-01", "76.25", "38", "2026-07-14", "2026-07-14 09:30:05", "yes", "M-01-1 M-01-2", "first\nsecond"},
		rows[1]); d != "" {
		t.Errorf("first row (-want +got):\n%s", d)
	}
	if len(rows) != 1+3+len(formulas)+400 {
		t.Errorf("%d rows", len(rows))
	}
	if got := []rune(rows[3][7]); len(got) > 32_767 || got[len(got)-1] != '…' {
		t.Errorf("a text of 40 000 characters has %d", len(got))
	}
	for i, want := range formulas {
		cell := fmt.Sprintf("H%d", 5+i)
		formula, err := f.GetCellFormula("readings", cell)
		if err != nil || formula != "" || rows[4+i][7] != want {
			t.Errorf("%q is cell %q with formula %q, %v", want, rows[4+i][7], formula, err)
		}
		if typ, err := f.GetCellType("readings", cell); err != nil || typ != excelize.CellTypeInlineString &&
			typ != excelize.CellTypeSharedString {
			t.Errorf("%q is of type %v, %v; want a text", want, typ, err)
		}
	}
	if w, err := f.GetColWidth("readings", "H"); err != nil || w != 60 {
		t.Errorf("width of the note = %v, %v; want the most, 60", w, err)
	}
	if p, err := f.GetPanes("plants"); err != nil || !p.Freeze || p.YSplit != 1 {
		t.Errorf("panes = %+v, %v; want the first row frozen", p, err)
	}
}

// A book without anything still gives a sheet for each table.
func TestWorkbookOfEmptyBook(t *testing.T) {
	ctx := context.Background()
	b, err := book.Create(ctx, filepath.Join(t.TempDir(), "b"), nil)
	check(t, err)
	defer b.Close()
	var all []transfer.Table
	w := workbook.New()
	defer w.Close()
	err = transfer.Export(ctx, b, func(x transfer.Table) error {
		all = append(all, x)
		_, err := w.Add(x)
		return err
	})
	check(t, err)
	var names []string
	for _, x := range all {
		names = append(names, x.Name)
	}
	if d := cmp.Diff(transfer.TableNames(), names); d != "" {
		t.Errorf("tables (-want +got):\n%s", d)
	}
	if err := w.Write(&strings.Builder{}); err != nil {
		t.Error(err)
	}
}

// reader is a program of another make, openpyxl, that prints what it finds in
// the sheet as JSON.
const reader = `
import json, sys, openpyxl
s = openpyxl.load_workbook(sys.argv[1])["readings"]
text = lambda v: v.isoformat(sep=" ") if hasattr(v, "isoformat") else v
rows = [[(text(c.value), c.data_type) for c in r] for r in s.iter_rows(max_row=12)]
print(json.dumps({"frozen": s.freeze_panes, "rows": rows}))
`

// Another program reads dates as dates, numbers as numbers, and no formula.
func TestWorkbookInOpenpyxl(t *testing.T) {
	const python = "/usr/bin/python3" // Debian's own, which has its python3-openpyxl
	if exec.Command(python, "-c", "import openpyxl").Run() != nil {
		if os.Getenv("HUEWARD_FULL") == "1" {
			t.Fatal("needs Debian's python3-openpyxl")
		}
		t.Skip("needs Debian's python3-openpyxl")
	}
	out, err := exec.Command(python, "-c", reader, write(t, table("readings"))).Output()
	check(t, err)
	var got struct {
		Frozen string
		Rows   [][][2]any
	}
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	if got.Frozen != "A2" {
		t.Errorf("frozen at %q, want A2", got.Frozen)
	}
	want := [][2]any{{"M-01", "s"}, {76.25, "n"}, {38.0, "n"}, {"2026-07-14 00:00:00", "d"}, {"2026-07-14 09:30:05", "d"}, {"yes", "s"},
		{"M-01-1 M-01-2", "s"}, {"first\nsecond", "s"}}
	if d := cmp.Diff(want, got.Rows[1]); d != "" {
		t.Errorf("first row (-want +got):\n%s", d)
	}
	for i, f := range formulas {
		if c := got.Rows[4+i][7]; c != [2]any{f, "s"} {
			t.Errorf("%q is %v, want a text", f, c)
		}
	}
}

// check ends the test where what it rests on went wrong.
func check(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// only is the error of a call whose answer does not matter.
func only(_ any, err error) error { return err }
