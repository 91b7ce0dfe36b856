package report

import (
	"math"
	"slices"
)

// box is a rectangle, y down.
type box struct{ x0, y0, x1, y1 float64 }

func (b box) overlaps(c box) bool {
	return b.x0 < c.x1 && c.x0 < b.x1 && b.y0 < c.y1 && c.y0 < b.y1
}

func (b box) inside(c box) bool {
	return b.x0 >= c.x0 && b.x1 <= c.x1 && b.y0 >= c.y0 && b.y1 <= c.y1
}

// crosses reports whether the line from (x0, y0) to (x1, y1) meets b.
func (b box) crosses(x0, y0, x1, y1 float64) bool {
	t0, t1 := 0.0, 1.0
	for _, e := range [4][2]float64{
		{x0 - x1, x0 - b.x0}, {x1 - x0, b.x1 - x0},
		{y0 - y1, y0 - b.y0}, {y1 - y0, b.y1 - y0},
	} {
		p, q := e[0], e[1]
		switch {
		case p == 0 && q < 0:
			return false
		case p < 0:
			t0 = max(t0, q/p)
		case p > 0:
			t1 = min(t1, q/p)
		}
	}
	return t0 <= t1
}

// label is a word beside a mark of a chart. Its text is centred on (X, Y).
type label struct {
	Text   string
	X, Y   px
	Placed bool
	// Leader is a thin line from the mark to the label, when it had to move away.
	Leader         bool
	FX, FY, TX, TY px
}

// labeller places words beside marks so that none covers a mark or another word.
type labeller struct {
	area  box
	size  float64 // of the type, px
	taken []box   // words
	marks []box
}

// width is a generous guess at a word's width in a plain sans-serif.
func (l *labeller) width(s string) float64 { return 0.66*l.size*float64(len([]rune(s))) + 2 }

// place finds room for text beside the mark at (x, y) with radius r. far says whether it may be farther away, connected by
// a leader line. It takes the first free place: near before far, right before left before above, and leaders over
// other marks last.
func (l *labeller) place(text string, x, y, r float64, far bool) label {
	out := label{Text: text}
	w, h := l.width(text), l.size+2
	own := box{x - r, y - r, x + r, y + r}
	gaps := []float64{2}
	if far {
		gaps = []float64{2, 10, 18, 28, 40, 54, 70, 90, 10, 18, 28, 40, 54, 70, 90}
	}
	for i, gap := range gaps {
		over := i > 7 // the leader may cross other marks
		for _, deg := range []float64{0, 180, 270, 90, 315, 45, 225, 135, 338, 22, 202, 158, 292, 248, 68, 112} {
			s, c := math.Sincos(deg * math.Pi / 180)
			ex, ey := x+(r+gap)*c, y+(r+gap)*s // the nearest point of the word's box
			cx, cy := ex+c*w/2, ey+s*h/2
			b := box{cx - w/2, cy - h/2, cx + w/2, cy + h/2}
			if !b.inside(l.area) || b.overlaps(own) || !l.free(b) {
				continue
			}
			if gap > 2 && !l.clear(own, over, x, y, ex, ey) {
				continue
			}
			l.taken = append(l.taken, b)
			out.X, out.Y, out.Placed = px(cx), px(cy), true
			if gap > 2 {
				out.Leader = true
				out.FX, out.FY, out.TX, out.TY = px(x+r*c), px(y+r*s), px(ex), px(ey)
			}
			return out
		}
	}
	return out
}

func (l *labeller) free(b box) bool {
	return !slices.ContainsFunc(l.taken, b.overlaps) && !slices.ContainsFunc(l.marks, b.overlaps)
}

// clear reports whether a leader line can be drawn without crossing a word or,
// unless it may go over them, another mark than its own.
func (l *labeller) clear(own box, over bool, x0, y0, x1, y1 float64) bool {
	return !slices.ContainsFunc(l.taken, func(t box) bool { return t.crosses(x0, y0, x1, y1) }) &&
		(over || !slices.ContainsFunc(l.marks, func(m box) bool { return m != own && m.crosses(x0, y0, x1, y1) }))
}
