package terminal

import (
	"bytes"
	"testing"

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
