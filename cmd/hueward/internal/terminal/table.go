package terminal

import (
	"bytes"
	"fmt"
	"strings"
	"sync"

	"charm.land/lipgloss/v2"
	"charm.land/lipgloss/v2/table"
)

// Column is one column of a table for people.
type Column struct {
	Head   string
	Right  bool // numbers
	Swatch bool // cells are "#rrggbb", shown as colour, or left out
	Words  bool // its cells may be wrapped where the terminal is narrow
	Wide   int  // shown only in a terminal at least so wide, or in a pipe; 0: always
}

// gap is the room between columns, and least what is left of a wrapped one.
const (
	gap   = 2
	least = 14
)

// Table prints rows under their columns' heads. Cells stay on one line in a
// pipe; in a narrow terminal those of words are wrapped.
func (s *Stream) Table(columns []Column, rows [][]string) {
	for _, r := range rows {
		for i, c := range r {
			if strings.IndexByte(c, '\t') >= 0 || strings.IndexByte(c, '\r') >= 0 {
				r[i] = oneWidth.Replace(c)
			}
		}
	}
	var shown []int
	var widths []int
	total := -gap
	for i, c := range columns {
		if c.Swatch && !s.Swatches || s.Terminal && c.Wide > s.Width {
			continue
		}
		w := lipgloss.Width(c.Head)
		for _, r := range rows {
			if c.Swatch {
				w = 4
			} else {
				w = max(w, textWidth(r[i]))
			}
		}
		shown, widths, total = append(shown, i), append(widths, w), total+w+gap
	}
	for k, i := range shown {
		if over := total - s.Width; s.Terminal && over > 0 && columns[i].Words && widths[k] > least {
			narrow := max(least, widths[k]-over)
			total -= widths[k] - narrow
			widths[k] = narrow
		}
	}
	if s.plainTable(columns, rows, shown, widths) {
		return
	}
	t := table.New().Border(lipgloss.NormalBorder()).Wrap(true).
		BorderTop(false).BorderBottom(false).BorderLeft(false).BorderRight(false).BorderColumn(false).
		StyleFunc(func(row, col int) lipgloss.Style {
			st := lipgloss.NewStyle()
			if w := widths[col]; col < len(shown)-1 {
				st = st.PaddingRight(gap).Width(w + gap)
			} else {
				st = st.Width(w)
			}
			if columns[shown[col]].Right {
				st = st.Align(lipgloss.Right)
			}
			if row == table.HeaderRow && s.Terminal {
				st = st.Bold(true)
			}
			return st
		})
	var heads []string
	for _, i := range shown {
		heads = append(heads, columns[i].Head)
	}
	t.Headers(heads...)
	for _, r := range rows {
		var cells []string
		for _, i := range shown {
			cell := r[i]
			if columns[i].Swatch {
				cell = s.Swatch(cell, 4)
			}
			cells = append(cells, cell)
		}
		t.Row(cells...)
	}
	for line := range strings.Lines(t.Render()) {
		fmt.Fprintln(s, strings.TrimRight(line, " \n"))
	}
}

// oneWidth takes out what is as wide as the terminal likes.
var oneWidth = strings.NewReplacer("\t", "    ", "\r\n", "\n", "\r", " ")

// textWidth is lipgloss.Width, with a short way for letters that are all one wide:
// Printable ones before the combining marks, and the cross of a cross.
func textWidth(s string) int {
	n := 0
	for n < len(s) && s[n] >= ' ' && s[n] <= '~' {
		n++
	}
	for _, r := range s[n:] {
		if r < ' ' || r > '~' && r < 0xa1 || r == 0xad || r >= 0x300 {
			return lipgloss.Width(s)
		}
		n++
	}
	return n
}

// plainTable prints the table just as table does, many times faster, where no cell
// is coloured or wrapped; else it prints nothing and is false. A book of twenty
// seasons lists tens of thousands of plants.
func (s *Stream) plainTable(columns []Column, rows [][]string, shown, widths []int) bool {
	if s.Terminal || s.Swatches {
		return false
	}
	var heads []string
	for _, c := range columns {
		heads = append(heads, c.Head)
	}
	whole := -gap
	for _, w := range widths {
		whole += w + gap
	}
	out, ok := plainLines(columns, [][]string{heads}, shown, widths, nil)
	if !ok {
		return false
	}
	out = append(append(out, strings.Repeat("─", whole)...), '\n')
	// Two halves at once.
	var halves [2][]byte
	var fine [2]bool
	var work sync.WaitGroup
	for i, part := range [2][][]string{rows[:len(rows)/2], rows[len(rows)/2:]} {
		work.Go(func() {
			halves[i], fine[i] = plainLines(columns, part, shown, widths, make([]byte, 0, len(part)*(whole+16)))
		})
	}
	work.Wait()
	if !fine[0] || !fine[1] {
		return false
	}
	s.Write(out) // a failure is remembered
	s.Write(halves[0])
	s.Write(halves[1])
	return true
}

// plainLines appends the rows, a line each, or more where a cell has several; false:
// a cell is coloured.
func plainLines(columns []Column, rows [][]string, shown, widths []int, out []byte) ([]byte, bool) {
	const blanks = "                                                                "
	pad := func(n int) {
		for ; n > len(blanks); n -= len(blanks) {
			out = append(out, blanks...)
		}
		out = append(out, blanks[:max(n, 0)]...)
	}
	for _, r := range rows {
		for more, n := true, 0; more; n++ { // line n of the row
			more = false
			for k, i := range shown {
				c := r[i]
				if strings.IndexByte(c, '\x1b') >= 0 {
					return nil, false
				}
				if strings.IndexByte(c, '\n') >= 0 {
					parts := strings.Split(c, "\n")
					more = more || n+1 < len(parts)
					c = ""
					if n < len(parts) {
						c = parts[n]
					}
				} else if n > 0 {
					c = ""
				}
				room := widths[k] - textWidth(c)
				if columns[i].Right {
					pad(room)
					room = 0
				}
				out = append(out, c...)
				if k < len(shown)-1 {
					pad(room + gap)
				}
			}
			out = append(bytes.TrimRight(out, " "), '\n')
		}
	}
	return out, true
}

// Say prints a sentence, wrapped where there is a terminal; lines after the
// first begin with indent.
func (s *Stream) Say(indent, text string) {
	line, sep := "", ""
	for _, word := range strings.Split(text, " ") {
		if s.Terminal && line != "" && lipgloss.Width(line+sep+word) > s.Width {
			fmt.Fprintln(s, line)
			line, sep = indent, ""
		}
		line, sep = line+sep+word, " "
	}
	fmt.Fprintln(s, line)
}
