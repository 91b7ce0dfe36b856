package terminal

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"charm.land/lipgloss/v2"
)

// Column is one column of a table for people.
type Column struct {
	Head   string
	Of     string // the name of its values, where that is not Head
	Right  bool   // numbers
	Out    bool   // left out
	Swatch bool   // cells are "#rrggbb", shown as colour, or left out
	Words  bool   // its cells may be wrapped where the terminal is narrow
	After  bool   // below its row the head follows the cell: "darker", "than the target"
	Says   bool   // its cells are sentences: below their row where there is no room beside it, without the head
	Wide   int    // shown only in a terminal at least so wide, or in a pipe; 0: always
}

// gap is the room between columns, least what is left of a wrapped one, and under how far
// what stands below its row is set in.
const (
	gap   = 2
	least = 14
	under = 4
)

// Table prints rows under their columns' heads. Cells stay on one line in a pipe; no line is wider than a terminal.
// Where the columns do not fit it, sentences go below their row first; words are wrapped to half their width at most;
// then the last columns go below, each cell behind its head.
func (s *Stream) Table(columns []Column, rows [][]string) {
	for _, r := range rows {
		for i, c := range r {
			if strings.IndexByte(c, '\t') >= 0 || strings.IndexByte(c, '\r') >= 0 {
				r[i] = oneWidth.Replace(c)
			}
			r[i] = Plain(r[i])
		}
	}
	l := s.layout(columns, rows)
	heads := make([]string, len(columns))
	for i, c := range columns {
		heads[i] = c.Head
	}
	out := s.row(make([]byte, 0, len(rows)*(max(l.total, 0)+16)), columns, heads, l, s.Strong)
	out = append(append(out, strings.Repeat("─", max(l.total, 0))...), '\n')
	for _, r := range rows {
		out = s.row(out, columns, r, l, func(cell string) string { return cell })
		out = s.below(out, columns, r, l)
	}
	s.Write(out) // a failure is remembered
}

// layout says which columns stand beside each other, and how wide, and which below their row.
type layout struct {
	beside, widths, below []int
	total                 int // of beside, the gaps between them included
}

func (s *Stream) layout(columns []Column, rows [][]string) layout {
	l := layout{total: -gap}
	for i, c := range columns {
		if c.Out || c.Swatch && !s.Swatches || s.Terminal && c.Wide > s.Width {
			continue
		}
		w := lipgloss.Width(c.Head)
		for _, r := range rows {
			if w = max(w, textWidth(r[i])); c.Swatch {
				w = 4
			}
		}
		l.beside, l.widths, l.total = append(l.beside, i), append(l.widths, w), l.total+w+gap
	}
	if !s.Terminal {
		return l
	}
	for k := len(l.beside) - 1; k > 0 && l.total > s.Width; k-- {
		if columns[l.beside[k]].Says {
			l.drop(k)
		}
	}
	for k, i := range l.beside {
		if over := l.total - s.Width; over > 0 && columns[i].Words && l.widths[k] > least {
			narrow := max(least, (l.widths[k]+1)/2, l.widths[k]-over)
			l.total -= l.widths[k] - narrow
			l.widths[k] = narrow
		}
	}
	names := 0 // up to the first column that names the row
	for names < len(l.beside)-1 && (columns[l.beside[names]].Swatch || columns[l.beside[names]].Head == "") {
		names++
	}
	for k := len(l.beside) - 1; k > names && l.total > s.Width; k-- {
		l.drop(k)
	}
	for l.total > s.Width && slices.Max(l.widths) > 1 { // a long name alone
		k := slices.Index(l.widths, slices.Max(l.widths))
		narrow := max(1, l.widths[k]/2, l.widths[k]-(l.total-s.Width))
		l.total -= l.widths[k] - narrow
		l.widths[k] = narrow
	}
	slices.Sort(l.below)
	return l
}

// drop moves the k-th of the columns beside each other below.
func (l *layout) drop(k int) {
	l.below, l.total = append(l.below, l.beside[k]), l.total-l.widths[k]-gap
	l.beside, l.widths = slices.Delete(l.beside, k, k+1), slices.Delete(l.widths, k, k+1)
}

// row appends the cells that stand beside each other, of as many lines as the highest needs;
// style is how they are written. A book of twenty seasons lists tens of thousands of plants.
func (s *Stream) row(out []byte, columns []Column, cells []string, l layout, style func(string) string) []byte {
	left := make([]string, len(l.beside)) // of each cell
	for k, i := range l.beside {
		left[k] = cells[i]
		if columns[i].Swatch {
			left[k] = s.Swatch(left[k], 4)
		} else if textWidth(left[k]) > l.widths[k] {
			left[k] = wrap(left[k], l.widths[k])
		}
	}
	for more := true; more; {
		more = false
		blank := 0 // not yet written: none at a line's end
		for k, i := range l.beside {
			c, rest, several := strings.Cut(left[k], "\n")
			left[k], more = rest, more || several
			room := l.widths[k] - textWidth(c)
			if columns[i].Right {
				blank, room = blank+room, 0
			}
			if c != "" {
				out = append(append(out, blanks(blank)...), style(c)...)
				blank = 0
			}
			blank += room + gap
		}
		out = append(bytes.TrimRight(out, " "), '\n')
	}
	return out
}

// blanks are n of them, none where n is below 0.
func blanks(n int) string {
	const many = "                                                                "
	if n <= len(many) {
		return many[:max(n, 0)]
	}
	return strings.Repeat(" ", n)
}

// below appends what of a row stands below it: numbers and names behind their heads, then the sentences.
func (s *Stream) below(out []byte, columns []Column, cells []string, l layout) []byte {
	var items, says []string
	for _, i := range l.below {
		switch c := strings.ReplaceAll(cells[i], "\n", " "); {
		case c == "":
		case columns[i].Says || columns[i].Head == "":
			says = append(says, c)
		case columns[i].After:
			items = append(items, c+" "+columns[i].Head)
		case columns[i].Words:
			items = append(items, columns[i].Head+" "+c)
		default: // a number stays with its head
			items = append(items, strings.ReplaceAll(columns[i].Head+" "+c, " ", unbroken))
		}
	}
	if len(items) > 0 {
		says = slices.Insert(says, 0, strings.Join(items, ", "))
	}
	if text := strings.Join(says, "; "); text != "" {
		for line := range strings.SplitSeq(wrap(text, max(s.Width-under, 1)), "\n") {
			out = append(append(out, blanks(under)...), strings.TrimRight(strings.ReplaceAll(line, unbroken, " "), " ")...)
			out = append(out, '\n')
		}
	}
	return out
}

// wrap breaks text into lines of that width, at blanks: names and dates stay whole, where they are not wider themselves.
func wrap(text string, width int) string {
	const hyphen = "\ue011" // at which no line breaks; a letter of nobody's
	return strings.ReplaceAll(lipgloss.Wrap(strings.ReplaceAll(text, "-", hyphen), width, ""), hyphen, "-")
}

// unbroken is a blank at which no line breaks.
const unbroken = "\u00a0"

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

// Title prints a name in strong letters, and what follows it, on as many lines as the terminal needs.
func (s *Stream) Title(name, rest string) {
	if name = Plain(name); !s.Terminal || lipgloss.Width(name+rest) <= s.Width {
		fmt.Fprintln(s, s.Strong(name)+rest)
		return
	}
	for line := range strings.SplitSeq(wrap(name+rest, max(s.Width, 1)), "\n") {
		fmt.Fprintln(s, s.Strong(line))
	}
}

// Say prints sentences, each on lines of its own, wrapped where there is a terminal; lines after its first begin with indent.
func (s *Stream) Say(indent string, texts ...string) {
	for _, t := range texts {
		s.say(indent, t)
	}
}

func (s *Stream) say(indent, text string) {
	line, sep := "", ""
	text = Plain(text)
	for _, word := range strings.Split(text, " ") {
		if s.Terminal && line != "" && lipgloss.Width(line+sep+word) > s.Width {
			fmt.Fprintln(s, line)
			line, sep = indent, ""
		}
		line, sep = line+sep+word, " "
	}
	fmt.Fprintln(s, line)
}
