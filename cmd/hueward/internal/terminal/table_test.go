package terminal

import (
	"bytes"
	"strings"
	"testing"

	"charm.land/lipgloss/v2"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// The short way of laying out a table prints what the long one does.
func TestPlainTable(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 4).Draw(t, "columns")
		var columns []Column
		heads := []string{"plant", "L*", "größe", "a longer head", ""} // the first has a head
		for i := range n {
			columns = append(columns, Column{
				Head:  rapid.SampledFrom(heads[:len(heads)-max(0, 1-i)]).Draw(t, "head"),
				Right: rapid.Bool().Draw(t, "right"), Words: rapid.Bool().Draw(t, "words"),
			})
		}
		cell := rapid.SampledFrom([]string{"", "M-01", "3", " x", "y ", "first\nsecond", "1\r\n2\n3", "tab\there", "Ünïcödé", "日本", "🌼",
			"a longer note, of words"})
		rows := rapid.SliceOfN(rapid.SliceOfN(cell, n, n), 1, 6).Draw(t, "rows")
		var short, long bytes.Buffer
		(&Stream{Writer: &short}).Table(columns, rows)
		(&Stream{Writer: &long, Swatches: true}).Table(columns, rows) // no column has any, but they rule out the short way
		if d := cmp.Diff(long.String(), short.String()); d != "" {
			t.Fatalf("%q (-long +short):\n%s", rows, d)
		}
	})
}

// No line of a table is wider than the terminal, of 80 columns or a phone's 45, and no cell is lost,
// however many columns there are and whatever they hold.
func TestTableFits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		width := rapid.SampledFrom([]int{80, 45}).Draw(t, "width")
		n := rapid.IntRange(1, 12).Draw(t, "columns")
		var columns []Column
		for range n {
			columns = append(columns, Column{
				Head:  rapid.SampledFrom([]string{"plant", "L*", "größe", "than the target", "passes on", ""}).Draw(t, "head"),
				Right: rapid.Bool().Draw(t, "right"), Words: rapid.Bool().Draw(t, "words"), Says: rapid.Bool().Draw(t, "says"),
			})
		}
		cell := rapid.SampledFrom([]string{"", "M-01", "1.2–3.4", "first\nsecond", "tab\there", "日本", "calendula, the F2 of orange by cream",
			"its offspring are predicted among the nearest 6 of 24; itself 5.2 away, because its seed parent's family is darker",
			strings.Repeat("x", 100)})
		rows := rapid.SliceOfN(rapid.SliceOfN(cell, n, n), 1, 4).Draw(t, "rows")
		var out bytes.Buffer
		(&Stream{Writer: &out, Terminal: true, Width: width}).Table(columns, rows)
		letters := func(s string) string { // without blanks, and what bold heads are written with
			return strings.NewReplacer(" ", "", "\t", "", "\n", "", "─", "").Replace(s)
		}
		for line := range strings.Lines(out.String()) {
			if w := lipgloss.Width(strings.TrimSuffix(line, "\n")); w > width {
				t.Fatalf("a line of %d characters in a terminal of %d:\n%s", w, width, out.String())
			}
		}
		got, want := map[rune]int{}, map[rune]int{}
		for _, r := range letters(out.String()) {
			got[r]++
		}
		for _, row := range rows {
			for _, c := range row {
				for _, r := range letters(c) {
					want[r]++
				}
			}
		}
		for r, k := range want {
			if got[r] < k {
				t.Fatalf("%d of %q are shown, of %d:\n%s", got[r], r, k, out.String())
			}
		}
	})
}

// A sentence that does not fit beside its row goes below it, without the column's head; what else
// does not fit follows behind its head, so that a phone's 45 columns take two lines a row.
func TestTableBelow(t *testing.T) {
	columns := []Column{{Head: "", Right: true}, {Head: "plant"}, {Head: "advice"}, {Head: "passes on", Right: true}, {Head: "95 %",
		Right: true},
		{Head: "itself", Right: true}, {Head: "photos", Right: true}, {Head: "why", Says: true}}
	rows := [][]string{{"1", "M-02", "keep", "1.2", "0.5–1.6", "3.4", "2", "among the nearest 6 of 24 by what it passes on"}}
	for width, want := range map[int]string{
		80: `
   plant  advice  passes on     95 %  itself  photos
────────────────────────────────────────────────────
1  M-02   keep          1.2  0.5–1.6     3.4       2
    among the nearest 6 of 24 by what it passes on
`,
		45: `
   plant  advice  passes on     95 %  itself
────────────────────────────────────────────
1  M-02   keep          1.2  0.5–1.6     3.4
    photos 2; among the nearest 6 of 24 by
    what it passes on
`,
	} {
		var out bytes.Buffer
		s := &Stream{Writer: &out, Terminal: true, Width: width}
		s.Table(columns, rows)
		if d := cmp.Diff(want[1:], strings.NewReplacer("\x1b[1m", "", "\x1b[m", "").Replace(out.String())); d != "" {
			t.Errorf("at %d (-want +got):\n%s", width, d)
		}
	}
}

// No line breaks within a date or a name, where it has room for them.
func TestWrapWhole(t *testing.T) {
	t.Parallel()
	if got, want := wrap("stigmas dry 2026-11-11, 26-017P and M-07", 20), "stigmas dry\n2026-11-11, 26-017P\nand M-07"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got := wrap(strings.Repeat("x-", 12), 10); len(strings.Split(got, "\n")) != 3 { // wider than the line itself
		t.Errorf("%q", got)
	}
}
