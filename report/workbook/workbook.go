// Package workbook writes the book's tables as one XLSX workbook, a sheet for each, for people who use spreadsheets.
// Dates are dates, numbers are numbers, and texts are texts, whatever they begin with: no cell holds a formula. It is
// for reading; only CSV is imported into a book.
//
// Call [New], [Workbook.Add] each table, [Workbook.Write], [Workbook.Close].
package workbook

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"hueward/selection/book/exchange"
	"hueward/selection/book/transfer"
)

// What a sheet holds at most.
//
// Source: Excel specifications and limits, support.microsoft.com.
const (
	mostRows  = 1_048_576
	mostChars = 32_767 // of a cell
)

// technical columns are JSON for programs; CSV has them.
var technical = map[string][]string{
	"readings":      {"colours", "card_corners", "outline", "radial", "zones", "tag"},
	"camera_models": {"model"},
	"heads":         {"pollination_notes"},
}

// Workbook is a workbook being written. Its rows lie in temporary files, so that their number does not matter.
type Workbook struct {
	f                *excelize.File
	head, day, stamp int // styles
}

// New begins a workbook without sheets.
func New() *Workbook { return &Workbook{f: excelize.NewFile()} }

// Close removes the temporary files; call it in any case.
func (w *Workbook) Close() error { return w.f.Close() }

// styles makes the looks of cells, once.
func (w *Workbook) styles() (err error) {
	if w.head != 0 {
		return nil
	}
	for _, s := range []struct {
		id    *int
		style excelize.Style
	}{
		{&w.head, excelize.Style{Font: &excelize.Font{Bold: true}}},
		{&w.day, excelize.Style{CustomNumFmt: new("yyyy-mm-dd")}},
		{&w.stamp, excelize.Style{CustomNumFmt: new("yyyy-mm-dd hh:mm:ss")}},
	} {
		if *s.id, err = w.f.NewStyle(&s.style); err != nil {
			return err
		}
	}
	return nil
}

// measured is how many rows tell how wide the columns are.
const measured = 300

// Add writes a table as a sheet of its name, and returns how many rows it has.
func (w *Workbook) Add(t transfer.Table) (rows int, err error) {
	if err := w.styles(); err != nil {
		return 0, err
	}
	if _, err := w.f.NewSheet(t.Name); err != nil {
		return 0, err
	}
	sw, err := w.f.NewStreamWriter(t.Name)
	if err != nil {
		return 0, err
	}
	var shown []int
	var widths []float64
	for i, c := range t.Columns {
		if !slices.Contains(technical[t.Name], c.Name) {
			shown, widths = append(shown, i), append(widths, width(c.Name))
		}
	}
	// The width must be set before the first row, so the first rows wait.
	var waiting [][]any
	begun := false
	begin := func() error {
		begun = true
		for i, x := range widths {
			if err := sw.SetColWidth(i+1, i+1, min(x, 60)); err != nil {
				return err
			}
		}
		if err := sw.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
			return err
		}
		var head []any
		for _, i := range shown {
			head = append(head, excelize.Cell{StyleID: w.head, Value: t.Columns[i].Name})
		}
		if err := sw.SetRow("A1", head); err != nil {
			return err
		}
		for i, cells := range waiting {
			if err := sw.SetRow(fmt.Sprintf("A%d", i+2), cells); err != nil {
				return err
			}
		}
		return nil
	}
	for vals, err := range t.Rows {
		if err != nil {
			return rows, err
		}
		if rows++; rows >= mostRows {
			return rows, fmt.Errorf("table %s has more rows than the %d of a sheet; export it as CSV", t.Name, mostRows-1)
		}
		cells := make([]any, len(shown))
		for k, i := range shown {
			cells[k] = w.cell(&t.Columns[i], vals[i])
		}
		if !begun && rows < measured {
			for k, i := range shown {
				widths[k] = max(widths[k], width(t.Columns[i].Format(vals[i])))
			}
			waiting = append(waiting, cells)
			continue
		}
		if !begun {
			if err := begin(); err != nil {
				return rows, err
			}
			waiting = nil
		}
		if err := sw.SetRow(fmt.Sprintf("A%d", rows+1), cells); err != nil {
			return rows, err
		}
	}
	if !begun {
		if err := begin(); err != nil {
			return rows, err
		}
	}
	return rows, sw.Flush()
}

// width of a column, in characters, that shows the first line of s.
func width(s string) float64 {
	s, _, _ = strings.Cut(s, "\n")
	return float64(utf8.RuneCountInString(s)) + 2
}

// cell is a value as the sheet shows it.
func (w *Workbook) cell(c *exchange.Column, v any) any {
	s, isText := v.(string)
	switch {
	case v == nil || isText && s == "":
		return nil
	case isText && c.Type == exchange.Day:
		if d, err := time.Parse(time.DateOnly, s); err == nil {
			return excelize.Cell{StyleID: w.day, Value: d}
		}
	case isText && c.Type == exchange.Stamp:
		if d, err := time.Parse(time.RFC3339Nano, s); err == nil {
			return excelize.Cell{StyleID: w.stamp, Value: d.UTC()}
		}
	case !isText && c.Type != exchange.YesNo && c.Type != exchange.Words && c.Type != exchange.Days:
		return v
	}
	return cut(c.Format(v))
}

// cut shortens a text that a cell cannot hold; the limit counts UTF-16 units.
func cut(s string) string {
	n := 0
	for i, r := range s {
		if n++; r > 0xffff {
			n++
		}
		if n >= mostChars {
			return s[:i] + "…"
		}
	}
	return s
}

// Application is what a workbook says of who saved it last, by which an earlier one is
// known: another program puts its own name there.
const Application = "hueward"

// Write writes the workbook to out.
func (w *Workbook) Write(out io.Writer) error {
	// The sheet that every new file has.
	if len(w.f.GetSheetList()) > 1 {
		if err := w.f.DeleteSheet("Sheet1"); err != nil {
			return err
		}
	}
	w.f.SetActiveSheet(0)
	if err := w.f.SetAppProps(&excelize.AppProperties{Application: Application}); err != nil {
		return err
	}
	return w.f.Write(out)
}
