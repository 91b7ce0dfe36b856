package report

import "fmt"

// chartAB is the chart of plants and target in the a*b* plane.
type chartAB struct {
	plane
	TargetLabel label
	Marks       []mark
}

// newChartAB draws s w pixels wide and h high.
func newChartAB(s *Season, id string, w, h float64) chartAB {
	line := tolerance(s.Target, 180)
	e := newBounds(s.Target, line)
	for _, p := range s.Plants {
		e.grow(p.Lab.A, p.Lab.B)
		if p.SE != nil && len(s.Plants) <= crowded && finite(p.SE[1]) && finite(p.SE[2]) {
			a, b := min(ellipse95*p.SE[1], 3), min(ellipse95*p.SE[2], 3) // a wild error must not shrink the chart
			e.grow(p.Lab.A-a, p.Lab.B-b)
			e.grow(p.Lab.A+a, p.Lab.B+b)
		}
	}
	c := chartAB{plane: newPlane(s.Target, canvas{ID: id, W: px(w), H: px(h), Size: 13, X0: 50, Y0: 10, X1: px(w - 12), Y1: px(h - 48)},
		e, 20, line)}
	c.TargetArm, c.TargetIn = 13, 6
	for _, p := range s.Plants {
		if !finite(p.Lab.A) || !finite(p.Lab.B) {
			continue
		}
		m := newMark(p, len(s.Plants) > crowded)
		m.X, m.Y = px(c.ax.at(p.Lab.A)), px(c.ay.at(p.Lab.B))
		if p.SE != nil && (len(s.Plants) <= crowded || order(p.Advice) > 0) {
			m.RX, m.RY = px(ellipse95*p.SE[1]/c.unit), px(ellipse95*p.SE[2]/c.unit)
		}
		c.Marks = append(c.Marks, m)
	}
	l := c.labeller(2, c.target())
	l.name(c.Marks)
	// Last, so that it finds what room is left; the cross is in the legend too.
	c.TargetLabel = l.place("target", float64(c.TargetX), float64(c.TargetY), float64(c.TargetArm), true)

	c.Title = "Colour of each plant beside the target, a* and b*"
	c.Desc = fmt.Sprintf("The target is at a* %s, b* %s. %s drawn; the ranking table gives the same numbers.",
		number(s.Target.Lab.A, 1), number(s.Target.Lab.B, 1), wereDrawn(len(c.Marks)))
	return c
}

func wereDrawn(n int) string {
	if n == 1 {
		return "1 plant is"
	}
	return fmt.Sprintf("%d plants are", n)
}
