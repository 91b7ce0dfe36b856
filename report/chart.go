package report

import (
	"fmt"
	"math"
	"slices"

	"hueward/report/words"
)

// The charts are drawn as SVG by templates and not by a plotting library, so that each mark carries its
// plant's name for a pointer or a screen reader, the font is the reader's own and keeps its size on a phone, and all
// text is escaped in one place.

// Marks of plants, by advice; the same shapes stand in the table.
const (
	markKeep    = 7.0
	markReserve = 7.5 // half the diagonal of a diamond
	markPass    = 5.0
	markRing    = 3.0 // from a kept plant's mark to the ring around it
)

// mark is one plant in a chart.
type mark struct {
	ID, Fill, Advice, Text string
	X, Y, R                px
	RX, RY                 px // of the error ellipse; 0: none
	Label                  label
	outer                  float64 // radius of all that is drawn
}

// Ring is the radius of the ring around a kept plant.
func (m mark) Ring() px { return m.R + markRing }

// Diamond is the outline of a reserve plant.
func (m mark) Diamond() string {
	return fmt.Sprintf("%v,%v %v,%v %v,%v %v,%v",
		m.X, m.Y-m.R, m.X+m.R, m.Y, m.X, m.Y+m.R, m.X-m.R, m.Y)
}

// tick is a line of the grid.
type tick struct {
	At   px
	Text string
}

// axis maps a quantity to pixels.
type axis struct {
	low, high float64 // of the quantity
	p0, p1    float64 // where low and high lie
}

func (a axis) at(v float64) float64 {
	return a.p0 + (v-a.low)/(a.high-a.low)*(a.p1-a.p0)
}

// ticks puts a grid line on each multiple of step.
func (a axis) ticks(step float64) []tick {
	var out []tick
	for i := math.Ceil(a.low/step - 1e-9); i*step <= a.high+1e-9*step; i++ {
		out = append(out, tick{px(a.at(i * step)), number(i*step, 0)})
	}
	return out
}

// gridStep is the smallest of 1, 2, 5, 10, 20 … whose lines are at least gap
// pixels apart at the given number of units a pixel.
func gridStep(unit, gap float64) float64 {
	for s := 1.0; ; s *= 10 {
		for _, m := range []float64{1, 2, 5} {
			if s*m >= unit*gap {
				return s * m
			}
		}
	}
}

// newMark returns p's mark without a position; many says that the chart is crowded.
func newMark(p Plant, many bool) mark {
	m := mark{ID: p.ID, Fill: ink(p.Hex), Advice: p.Advice, R: []px{markPass, markReserve, markKeep}[order(p.Advice)]}
	if many {
		m.R *= 0.7
	}
	m.outer = float64(m.R)
	if p.Advice == Keep {
		m.outer = float64(m.Ring())
	}
	m.Text = words.Joined(", ", p.ID, AdviceWord(p.Advice), "difference "+number(p.DeltaE, 1), p.Name, "L* a* b* "+labText(p.Lab))
	return m
}

// crowded is the number of plants from which on marks are drawn smaller and
// only the kept and the reserve have names and error ellipses.
const crowded = 80

// order returns the rank of an advice: important marks are labelled first and drawn last.
func order(advice string) int {
	switch advice {
	case Keep:
		return 2
	case Reserve:
		return 1
	}
	return 0
}

// name places the labels of marks, those of kept plants first, and leaves out labels
// without room. Then it sorts marks so that the kept ones are drawn on top.
func (l *labeller) name(marks []mark) {
	for _, m := range marks {
		x, y := float64(m.X), float64(m.Y)
		l.marks = append(l.marks, box{x - m.outer, y - m.outer, x + m.outer, y + m.outer})
	}
	orders := []int{2, 1, 0}
	if len(marks) > crowded {
		orders = orders[:2] // names of the dropped would only be noise
	}
	for _, o := range orders {
		for i := range marks {
			if m := &marks[i]; order(m.Advice) == o {
				m.Label = l.place(m.ID, float64(m.X), float64(m.Y), m.outer, o > 0)
			}
		}
	}
	slices.SortStableFunc(marks, func(a, b mark) int { return order(a.Advice) - order(b.Advice) })
}
