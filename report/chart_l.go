package report

import (
	"fmt"
	"math"
	"slices"
)

// stripL is the chart of the plants' lightness on a line, dark on the left; plants of equal lightness are stacked.
type stripL struct {
	canvas
	Ticks      []tick
	HasBand    bool // the tolerance
	From, Wide px   // of it
	TargetX    px
	TargetText string
	TargetAt   px // of the text
	Anchor     string
	Marks      []mark
}

// newStripL draws s w pixels wide, as high as its marks need.
func newStripL(s *Season, id string, w float64) stripL {
	c := stripL{canvas: canvas{ID: id, W: px(w), Size: 13, X0: 14, Y0: 28, X1: px(w - 14)}}
	bandLow, bandHigh := lightBand(s.Target)
	low, high := bandLow, bandHigh
	for _, p := range s.Plants {
		if finite(p.Lab.L) {
			low, high = min(low, p.Lab.L), max(high, p.Lab.L)
		}
	}
	edge := max(2, (high-low)*0.04)
	ax := axis{max(0, low-edge), min(100, high+edge), float64(c.X0), float64(c.X1)}
	unit := (ax.high - ax.low) / (ax.p1 - ax.p0)
	c.Ticks = ax.ticks(gridStep(unit, 48))
	c.TargetX = px(ax.at(s.Target.Lab.L))
	c.TargetText = "target " + number(s.Target.Lab.L, 1)
	c.TargetAt, c.Anchor = c.TargetX, "middle"
	switch room := 44.0; {
	case float64(c.TargetX) < room:
		c.TargetAt, c.Anchor = c.X0, "start"
	case float64(c.TargetX) > w-room:
		c.TargetAt, c.Anchor = c.X1, "end"
	}
	c.HasBand, c.From = s.Target.Within > 0, px(ax.at(bandLow))
	c.Wide = px(ax.at(bandHigh)) - c.From
	for _, p := range s.Plants {
		if !finite(p.Lab.L) {
			continue
		}
		m := newMark(p, len(s.Plants) > crowded)
		m.X = px(ax.at(p.Lab.L))
		c.Marks = append(c.Marks, m)
	}
	tallest := swarm(c.Marks)
	middle := float64(c.Y0) + tallest + 24
	for i := range c.Marks {
		c.Marks[i].Y += px(middle)
	}
	c.Y1 = px(middle + tallest + 24)
	c.H = c.Y1 + 42
	c.labeller(0).name(c.Marks)

	c.Title = "Lightness of each plant beside the target, L*"
	c.Desc = fmt.Sprintf("The target is at L* %s. %s drawn.", number(s.Target.Lab.L, 1), wereDrawn(len(c.Marks)))
	return c
}

// swarmMost is how far from the middle line a mark may be moved, px; more
// plants than find room so, at one lightness, cover one another.
const swarmMost = 120

// swarm moves marks up and down from the middle line until none covers another, with the most important ones nearest to
// it, and returns the distance of the farthest mark's edge.
func swarm(marks []mark) float64 {
	by := make([]int, len(marks))
	for i := range by {
		by[i] = i
	}
	slices.SortStableFunc(by, func(i, j int) int { return order(marks[j].Advice) - order(marks[i].Advice) })
	tallest := 0.0
	const cell = 24 // px; wider than any two marks that touch
	placed := map[int][]int{}
	for _, i := range by {
		m := &marks[i]
		col := int(m.X) / cell
		near := slices.Concat(placed[col-1], placed[col], placed[col+1])
		for step := 0; ; step++ {
			// 0, −1, 1, −2, 2 … times 2 px
			y := 2 * float64((step+1)/2)
			if step%2 == 1 {
				y = -y
			}
			hit := slices.ContainsFunc(near, func(j int) bool {
				o := marks[j]
				return math.Hypot(float64(o.X-m.X), float64(o.Y)-y) < o.outer+m.outer+1.5
			})
			if !hit || math.Abs(y) > swarmMost {
				m.Y = px(y)
				tallest = max(tallest, math.Abs(y)+m.outer)
				break
			}
		}
		placed[col] = append(placed[col], i)
	}
	return tallest
}
