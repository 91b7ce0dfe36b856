package report

import (
	"fmt"
	"math"
	"strings"
)

// chartAB is the plants and the target seen along the lightness axis: a* to
// the right, b* up, the same scale for both.
type chartAB struct {
	ID                  string // prefix of the ids inside the drawing
	W, H, Size          px     // Size: of the type
	X0, Y0, X1, Y1      px     // the plotting area
	XTicks, YTicks      []tick
	XName, YName        string
	Tolerance           string // path; empty: none set
	TargetX, TargetY    px
	TargetFill          string
	TargetLabel         label
	Marks               []mark
	Title, Desc         string
	XNameX, YNameY      px
	TargetArm, TargetIn px
}

// Cross is the target's cross hair.
func (c chartAB) Cross() string {
	return fmt.Sprintf("M%v %vV%vM%v %vH%v", c.TargetX, c.TargetY-c.TargetArm, c.TargetY+c.TargetArm,
		c.TargetX-c.TargetArm, c.TargetY, c.TargetX+c.TargetArm)
}

// ellipse95 is how many standard errors an ellipse reaches in a* and in b* to
// hold the true colour 95 times of 100: the root of the 0.95 quantile of
// chi-square with 2 degrees of freedom, 5.991.
const ellipse95 = 2.448

// newChartAB draws s w pixels wide and h high.
func newChartAB(s *Season, id string, w, h float64) chartAB {
	c := chartAB{
		ID: id, W: px(w), H: px(h), Size: 13,
		X0: 50, Y0: 10, X1: px(w - 12), Y1: px(h - 48),
		XName: "a* (green – red)", YName: "b* (blue – yellow)",
		TargetFill: ink(s.Target.Hex), TargetArm: 13, TargetIn: 6,
	}
	var line [][2]float64
	if s.Target.Within > 0 {
		line = contour(s.Target.Lab, s.Target.Within, 180)
	}
	ax, ay, unit := fitAB(s, line, c)
	step := gridStep(unit, 45)
	c.XTicks, c.YTicks = ax.ticks(step), ay.ticks(step)
	c.XNameX, c.YNameY = (c.X0+c.X1)/2, (c.Y0+c.Y1)/2
	c.TargetX, c.TargetY = px(ax.at(s.Target.Lab.A)), px(ay.at(s.Target.Lab.B))

	var d strings.Builder
	for i, q := range line {
		fmt.Fprintf(&d, "%c%v %v", "ML"[min(i, 1)], px(ax.at(q[0])), px(ay.at(q[1])))
	}
	if d.Len() > 0 {
		c.Tolerance = d.String() + "Z"
	}

	for _, p := range s.Plants {
		if !finite(p.Lab.A) || !finite(p.Lab.B) {
			continue
		}
		m := newMark(p, len(s.Plants) > crowded)
		m.X, m.Y = px(ax.at(p.Lab.A)), px(ay.at(p.Lab.B))
		if p.SE != nil && (len(s.Plants) <= crowded || order(p.Advice) > 0) {
			m.RX, m.RY = px(ellipse95*p.SE[1]/unit), px(ellipse95*p.SE[2]/unit)
		}
		c.Marks = append(c.Marks, m)
	}
	tx, ty := float64(c.TargetX), float64(c.TargetY)
	arm := float64(c.TargetArm)
	l := &labeller{
		area:  box{float64(c.X0) + 2, float64(c.Y0) + 2, float64(c.X1) - 2, float64(c.Y1) - 2},
		size:  float64(c.Size),
		marks: []box{{tx - arm, ty - arm, tx + arm, ty + arm}},
	}
	l.name(c.Marks)
	// Last, so that it finds what room is left; the cross is in the legend too.
	c.TargetLabel = l.place("target", tx, ty, arm, true)

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

// fitAB chooses the axes so that target, tolerance and plants fit and a unit
// is as long in a* as in b*. unit is units a pixel.
func fitAB(s *Season, line [][2]float64, c chartAB) (ax, ay axis, unit float64) {
	low := [2]float64{s.Target.Lab.A, s.Target.Lab.B}
	high := low
	grow := func(a, b float64) {
		for i, v := range [2]float64{a, b} {
			if finite(v) {
				low[i], high[i] = min(low[i], v), max(high[i], v)
			}
		}
	}
	for _, q := range line {
		grow(q[0], q[1])
	}
	for _, p := range s.Plants {
		grow(p.Lab.A, p.Lab.B)
		if p.SE != nil && len(s.Plants) <= crowded && finite(p.SE[1]) && finite(p.SE[2]) {
			a, b := min(ellipse95*p.SE[1], 3), min(ellipse95*p.SE[2], 3) // a wild error must not shrink the chart
			grow(p.Lab.A-a, p.Lab.B-b)
			grow(p.Lab.A+a, p.Lab.B+b)
		}
	}
	w, h := float64(c.X1-c.X0), float64(c.Y1-c.Y0)
	const edge = 20 // px kept free on each side, for the marks themselves
	unit = math.Max((high[0]-low[0])/(w-2*edge), (high[1]-low[1])/(h-2*edge))
	unit = math.Max(unit, 4/math.Min(w, h)) // one plant on the target is no scale
	ma, mb := (low[0]+high[0])/2, (low[1]+high[1])/2
	ax = axis{ma - unit*w/2, ma + unit*w/2, float64(c.X0), float64(c.X1)}
	ay = axis{mb - unit*h/2, mb + unit*h/2, float64(c.Y1), float64(c.Y0)}
	return ax, ay, unit
}
