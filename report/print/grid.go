package print

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"hueward/report/words"
	"hueward/selection/written"
)

// Grid is how labels lie on a sheet, in millimetres.
type Grid struct {
	Name               string  // of a usual one; empty: given by hand
	Width, Height      float64 // of the paper
	Columns, Rows      int
	LabelW, LabelH     float64
	Left, Top          float64 // margins before the first label
	GapAcross, GapDown float64 // between labels
	Cut                bool    // plain paper: lines to cut along are printed
}

// Paper sizes. Source: ISO 216 for A4; ANSI/ASME Y14.1 for Letter, 8.5 × 11 inches.
const (
	a4Width, a4Height         = 210.0, 297.0
	letterWidth, letterHeight = 215.9, 279.4
)

// Grids are usual label sheets, named by paper and label; the sizes are common ones of the trade, no source.
var Grids = []Grid{
	{Name: "a4-70x37", Width: a4Width, Height: a4Height, Columns: 3, Rows: 8, LabelW: 70, LabelH: 37, Top: 0.5},
	{Name: "a4-99x38", Width: a4Width, Height: a4Height, Columns: 2, Rows: 7, LabelW: 99.1, LabelH: 38.1, Left: 4.65, Top: 15.15,
		GapAcross: 2.5},
	{Name: "a4-99x68", Width: a4Width, Height: a4Height, Columns: 2, Rows: 4, LabelW: 99.1, LabelH: 67.7, Left: 4.65, Top: 13.1,
		GapAcross: 2.5},
	{Name: "a4-64x34", Width: a4Width, Height: a4Height, Columns: 3, Rows: 8, LabelW: 63.5, LabelH: 33.9, Left: 7.25, Top: 12.9,
		GapAcross: 2.5},
	{Name: "letter-67x25", Width: letterWidth, Height: letterHeight, Columns: 3, Rows: 10, LabelW: 66.7, LabelH: 25.4, Left: 4.75, Top: 12.7,
		GapAcross: 3.15},
	{Name: "letter-102x51", Width: letterWidth, Height: letterHeight, Columns: 2, Rows: 5, LabelW: 101.6, LabelH: 50.8, Left: 4, Top: 12.7,
		GapAcross: 4.7},
	{Name: "letter-102x34", Width: letterWidth, Height: letterHeight, Columns: 2, Rows: 7, LabelW: 101.6, LabelH: 33.9, Left: 4, Top: 21.05,
		GapAcross: 4.7},
}

// GridNames are the names of the usual grids.
func GridNames() []string { return words.Each(Grids, func(g Grid) string { return g.Name }) }

// Plain is a grid of labels of that size on plain paper, "a4" or "letter", with
// lines to cut along and margins that any printer can keep.
func Plain(paper string, w, h float64) (Grid, error) {
	g := Grid{LabelW: w, LabelH: h, Cut: true}
	switch strings.ToLower(paper) {
	case "a4":
		g.Width, g.Height = a4Width, a4Height
	case "letter":
		g.Width, g.Height = letterWidth, letterHeight
	default:
		return g, fmt.Errorf("paper %q: want a4 or letter", paper)
	}
	const margin = 8
	g.Columns, g.Rows = int((g.Width-2*margin)/w), int((g.Height-2*margin)/h)
	g.Left, g.Top = (g.Width-float64(g.Columns)*w)/2, (g.Height-float64(g.Rows)*h)/2
	return g, g.check()
}

// ParseGrid reads a usual grid's name, or COLUMNSxROWS:WxH:LEFT,TOP with the gaps after another colon when there are
// any, in millimetres, such as 3x8:70x37:0,0.5 or 2x7:99.1x38.1:4.65,15.15:2.5,0, on that paper.
func ParseGrid(s, paper string) (Grid, error) {
	if i := slices.IndexFunc(Grids, func(g Grid) bool { return strings.EqualFold(g.Name, strings.TrimSpace(s)) }); i >= 0 {
		return Grids[i], nil
	}
	wrong := fmt.Errorf("grid %q: want one of %s, or COLUMNSxROWS:WxH:LEFT,TOP[:GAP,GAP] in millimetres, such as 3x8:70x37:0,0.5", s,
		strings.Join(GridNames(), ", "))
	parts := strings.Split(s, ":")
	if len(parts) < 3 || len(parts) > 4 {
		return Grid{}, wrong
	}
	n, ok1 := pair(parts[0], "x")
	size, ok2 := pair(parts[1], "x")
	at, ok3 := pair(parts[2], ",")
	gap, ok4 := pair(append(parts, "0,0")[3], ",")
	if !ok1 || !ok2 || !ok3 || !ok4 || n[0] != math.Trunc(n[0]) || n[1] != math.Trunc(n[1]) || n[0] > 100 || n[1] > 100 {
		return Grid{}, wrong
	}
	g, err := Plain(paper, leastW, leastH)
	if err != nil {
		return Grid{}, err
	}
	g.Cut, g.Columns, g.Rows, g.LabelW, g.LabelH = false, int(n[0]), int(n[1]), size[0], size[1]
	g.Left, g.Top, g.GapAcross, g.GapDown = at[0], at[1], gap[0], gap[1]
	return g, g.check()
}

func pair(s, sep string) (v [2]float64, ok bool) {
	if sep == "," && strings.Contains(s, ";") {
		sep = ";" // 7,5;15
	}
	a, b, ok := strings.Cut(strings.ToLower(s), sep)
	if !ok {
		return v, false
	}
	for i, t := range [2]string{a, b} {
		f, err := written.Number(t)
		if err != nil || !(f >= 0 && f <= 1000) {
			return v, false
		}
		v[i] = f
	}
	return v, true
}

// The smallest and the largest label that anything is printed on.
const (
	leastW, leastH = 40.0, 20.0
	mostLabels     = 1000
)

// check says why labels cannot lie so.
func (g Grid) check() error {
	w := g.Left + float64(g.Columns)*(g.LabelW+g.GapAcross) - g.GapAcross
	h := g.Top + float64(g.Rows)*(g.LabelH+g.GapDown) - g.GapDown
	switch {
	case g.Columns < 1 || g.Rows < 1 || g.Columns*g.Rows > mostLabels:
		return fmt.Errorf("labels of %g × %g mm do not fit the paper", g.LabelW, g.LabelH)
	case !(g.LabelW >= leastW && g.LabelH >= leastH):
		return fmt.Errorf("labels of %g × %g mm are too small; want %g × %g at least", g.LabelW, g.LabelH, leastW, leastH)
	case w > g.Width+0.1 || h > g.Height+0.1:
		return fmt.Errorf("%d × %d labels reach %.1f × %.1f mm, beyond the paper's %g × %g", g.Columns, g.Rows, w, h, g.Width, g.Height)
	}
	return nil
}

// cell is the top left corner of the label with that number, row by row, on its page.
func (g Grid) cell(i int) (x, y float64) {
	i %= g.Columns * g.Rows
	return g.Left + float64(i%g.Columns)*(g.LabelW+g.GapAcross), g.Top + float64(i/g.Columns)*(g.LabelH+g.GapDown)
}
