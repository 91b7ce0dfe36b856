package transfer

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode/utf16"

	"hueward/colorimg/must"
	"hueward/selection/book/booktest"
	"hueward/selection/book/exchange"
)

// sheet is a table as text, before it is spoilt.
type sheet struct {
	kind *tableKind
	rows [][]string // the first names the columns
}

func readSheet(t testing.TB, file string) *sheet {
	t.Helper()
	text := must.Have(os.ReadFile(file))(t)
	s := &sheet{kind: kindNamed(strings.TrimSuffix(filepath.Base(file), ".csv"))}
	r := exchange.NewReader(file, bytes.NewReader(text))
	for {
		row, err := r.Read()
		if err != nil {
			break
		}
		var cells []string
		for _, f := range row {
			cells = append(cells, f.Text)
		}
		s.rows = append(s.rows, cells)
	}
	if len(s.rows) < 2 {
		t.Fatalf("%s has %d rows, too few to spoil", file, len(s.rows))
	}
	return s
}

// with is a copy of the sheet with one cell changed.
func (s *sheet) with(row int, column, cell string) *sheet {
	c := s.copy()
	c.rows[row][slices.Index(c.rows[0], column)] = cell
	return c
}

func (s *sheet) copy() *sheet {
	c := &sheet{kind: s.kind}
	for _, r := range s.rows {
		c.rows = append(c.rows, slices.Clone(r))
	}
	return c
}

func (s *sheet) String() string {
	var b strings.Builder
	w := exchange.NewWriter(&b)
	for _, r := range s.rows {
		w.Write(r)
	}
	w.Flush()
	return b.String()
}

// spoilt are bad tables made of a good one, by what is wrong with each.
func spoilt(s *sheet) map[string]string {
	out := map[string]string{}
	last := len(s.rows) - 1
	add := func(what string, v fmt.Stringer) { out[s.kind.Name+": "+what] = v.String() }
	raw := func(what, text string) { out[s.kind.Name+": "+what] = text }

	// The rows and the first line.
	for _, row := range []int{1, last} {
		c := s.copy()
		c.rows[row] = append(c.rows[row], "more")
		add(fmt.Sprint("a field too many in row ", row), c)
		if len(s.rows[row]) > 2 {
			c = s.copy()
			c.rows[row] = c.rows[row][:len(c.rows[row])-1]
			c.rows[row][0] = "x"
			add(fmt.Sprint("a field too few in row ", row), c)
		}
	}
	c := s.copy()
	c.rows[0] = append(c.rows[0], c.rows[0][0])
	for i := range c.rows[1:] {
		c.rows[i+1] = append(c.rows[i+1], "")
	}
	add("a column twice", c)
	c = s.copy()
	c.rows[0] = append(c.rows[0], "colour of the bee")
	for i := range c.rows[1:] {
		c.rows[i+1] = append(c.rows[i+1], "7")
	}
	add("an unknown column", c)
	c = s.copy()
	c.rows[0] = append(c.rows[0], "")
	for i := range c.rows[1:] {
		c.rows[i+1] = append(c.rows[i+1], "stray")
	}
	add("a column without a name", c)
	for _, need := range s.kind.Need {
		c := s.copy()
		c.rows[0][slices.Index(c.rows[0], need)] = "x_" + need
		add("no column "+need, c)
	}
	raw("empty", "")
	raw("blank", "\n\n,,\n")

	// The bytes.
	good := s.String()
	lines := strings.SplitAfter(good, "\n")
	line := func(what, bad string) {
		raw(what, lines[0]+bad+"\n"+strings.Join(lines[1:], ""))
		raw(what+", at the end", good+bad+"\n")
	}
	n := strings.Repeat(",", len(s.rows[0])-1)
	line("a quote without its partner", `"x`+n)
	line("a quote inside a field", `x"y`+n)
	line("text after a quote", `"x"y`+n)
	line("not UTF-8", "x\xff"+n)
	line("half a character", "x\xe2\x82"+n)
	line("a zero byte", "x\x00"+n)
	line("a lone carriage return", "x\ry"+n)
	line("an enormous field", strings.Repeat("x", exchange.MaxField+1)+n)
	line("an enormous quoted field", `"`+strings.Repeat("x\n", exchange.MaxField/2+1)+`"`+n)
	line("too many fields", strings.Repeat("x,", 2000))
	var wide []byte
	for _, u := range utf16.Encode([]rune(good)) {
		wide = binary.LittleEndian.AppendUint16(wide, u)
	}
	raw("UTF-16 without its mark", string(wide))
	raw("UTF-16 cut off", "\xff\xfe"+string(wide[:len(wide)-1]))
	raw("UTF-16 with a byte lost", "\xff\xfe"+string(wide[:21])+string(wide[22:]))
	raw("a picture", "\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR")

	// The cells.
	for i, col := range s.kind.columns {
		bad := map[exchange.Type][]string{
			exchange.Day:   {"1/7/2026", "2026-02-30", "2026-13-01", "0001-01-01", "9999-01-01", "1.7.", "yesterday"},
			exchange.Days:  {"2026-07-01,2026-07-02", "2026-07-01 2026-07-32", "2026-07-01 2026-07-01"},
			exchange.Stamp: {"2026-07-01", "noon", "0000-01-01T00:00:00Z"},
			exchange.Count: {"-1", "1.5", "many", "1e3", "99999999999999999999", "+1"},
			exchange.Real:  {"twelve", "1.2.3", "1e999", "NaN", "0x10", "--5", "1,2,3", "∞"},
			exchange.YesNo: {"maybe", "2"},
			exchange.Words: {"no-such-head", "a/b"},
		}[col.Type]
		switch {
		case col.ref == "lines":
			bad = []string{strings.Repeat("l", 81), "a\u0007b"}
		case col.ref == "seasons":
			bad = []string{"20/26", "-2026", strings.Repeat("9", 41)}
		case col.ref != "":
			bad = []string{"No-Such-One", "not a name!", "26-014A"}
		case slices.Contains(s.kind.key, col.Name):
			if s.kind != seasonKind { // else the row is blank, and passed over
				bad = []string{"", " "}
			}
			if col.sql == "name" && s.kind != lineKind && s.kind != founderGroupKind {
				bad = append(bad, "=cmd|x", strings.Repeat("n", 90))
			}
		case col.Clean != nil && col.Type == exchange.Text && slices.Contains([]string{"status", "kind", "better", "aim"}, col.Name):
			bad = []string{"grown", "2"}
		case slices.Contains([]string{"words", "colours", "flags", "card_corners", "outline", "radial", "zones", "tag", "model",
			"pollination_notes"}, col.Name):
			bad = []string{"[", `"x`}
			if col.Name != "model" {
				bad = append(bad, "7")
			}
		}
		for k, cell := range bad {
			row := 1 + (i+k)%last
			add(fmt.Sprintf("%s %.20q in row %d", col.Name, cell, row), s.with(row, col.Name, cell))
		}
	}
	if s.kind.key != nil {
		c := s.copy()
		c.rows = append(c.rows, slices.Clone(c.rows[1]))
		add("a row twice", c)
	}
	return out
}

// Five hundred and more tables that are wrong in one way each: every one is reported
// with its line, and leaves the book as it was.
func TestImportMalformed(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b, dir := madeAndExported(t, size{3, 60, 60, false})
	before := booktest.Contents(t, b)
	all := map[string]string{}
	for _, file := range csvFiles(t, dir) {
		s := readSheet(t, file)
		for what, text := range spoilt(s) {
			all[what] = text
		}
		mine := func(what, column, cell string) { all[s.kind.Name+": "+what] = s.with(1, column, cell).String() }
		switch s.kind {
		case plantKind:
			name := s.rows[1][0]
			mine("its own seed parent", "seed_parent", name)
			mine("its own pollen parent", "pollen_parent", name)
			c := s.with(1, "seed_parent", s.rows[2][0]).with(2, "pollen_parent", s.rows[3][0]).with(3, "seed_parent", name)
			all["plants: three in a ring"] = c.String()
			mine("inbreeding above 1", "founder_inbreeding", "1.01")
			mine("a score off the scale", "form", "9")
		case readingKind:
			for _, cell := range []string{"101", "-1"} {
				mine("L of "+cell, "L", cell) // the first is an instrument's
			}
			mine("a too large", "a", "200.5")
			mine("b too small", "b", "-1000")
			mine("no L", "L", "")
			mine("refused, with a colour", "status", "refused")
			mine("another date than it was measured at", "date", "2001-01-01")
			mine("a photo without its name", "source", "photo")
			mine("no source", "source", "")
			mine("a negative error", "se", "-0.1")
		case germinationKind:
			mine("more sprouted than there were", "sprouted", "9999")
			mine("no seeds", "seeds", "0")
		case photoKind:
			for _, cell := range []string{"/etc/passwd", "photos/../book.db", "photos/CON/x.jpg", "photos/.incoming/x", `photos\x.jpg`,
				"photos/2026/x?.jpg"} {
				mine("path "+cell, "path", cell)
			}
		case targetKind:
			mine("within 0", "within", "0")
		case traitKind:
			mine("an empty scale", "high", "0")
		}
	}
	if len(all) < 500 {
		t.Fatalf("%d bad tables, want 500", len(all))
	}
	t.Logf("%d bad tables", len(all))
	file := filepath.Join(t.TempDir(), "t.csv")
	for what, text := range all {
		must.OK(t, os.WriteFile(file, []byte(text), 0o666))
		// With --update nothing is an error only because the book says otherwise.
		kind, _, _ := strings.Cut(what, ": ")
		_, err := Import(ctx, b, []string{file}, &ImportOptions{Update: true, As: kind})
		var wrong *ImportError
		if !errors.As(err, &wrong) {
			t.Errorf("%s: error %v, want an *ImportError", what, err)
			must.Have(b.Undo(ctx, 0))(t)
			continue
		}
		for _, p := range wrong.Problems {
			var e *exchange.Error
			if !errors.As(p, &e) || e.Line < 1 || e.File != file || e.Reason == "" || len(e.Error()) > 1000 || strings.Contains(e.Reason, "\n") {
				t.Errorf("%s: %.200v, want one line with its number", what, p)
			}
		}
	}
	booktest.Same(t, "afterwards", before, booktest.Contents(t, b))
	if h, err := b.History(ctx, 0); err != nil || len(h) > 0 {
		t.Errorf("the history holds %d changes, %v", len(h), err)
	}
}
