package report

import (
	"fmt"
	"math"
)

// crossView is a cross with its drawing.
type crossView struct {
	Cross
	Plane      plane
	Half, Most string // outlines that hold half, and 95 of 100, of the offspring
	Mean       dot
	Parents    []dot
	Light      lightBar
	Number     int
}

// lightBar is the lightness of the offspring on a line.
type lightBar struct {
	W                  px
	Low, Span          px // of 95 of 100 offspring
	Mean, Target       px
	BandX, BandW       px
	Parents            []px
	LowText, HighText  string
	TargetText, MeanIs string
}

// newCrossViews draws all crosses to one scale, so that they can be compared.
func newCrossViews(s *Season) []crossView {
	if s.Pairs == nil || len(s.Pairs.Crosses) == 0 {
		return nil
	}
	e, line := newBounds(s.Target, tolerance(s.Target, 60)), tolerance(s.Target, 120)
	bandLow, bandHigh := lightBand(s.Target)
	lowL, highL := bandLow, bandHigh
	for _, c := range s.Pairs.Crosses {
		e.growCloud(c.Mean, c.Cov, ellipse95)
		for _, p := range [2]Parent{c.Seed, c.Pollen} {
			e.grow(p.Lab.A, p.Lab.B)
			lowL, highL = min(lowL, p.Lab.L), max(highL, p.Lab.L)
		}
		r := 1.96 * math.Sqrt(max(c.Cov[0][0], 0))
		lowL, highL = min(lowL, c.Mean.L-r), max(highL, c.Mean.L+r)
	}
	var out []crossView
	for i, c := range s.Pairs.Crosses {
		v := crossView{Cross: c, Number: i + 1, Plane: newPlane(s.Target,
			canvas{ID: fmt.Sprintf("cross-%d", i+1), W: 320, H: 260, Size: 13, X0: 34, Y0: 8, X1: 320 - 8, Y1: 260 - 26}, e, 10, line)}
		v.Half, v.Most = v.Plane.cloud(c.Mean, c.Cov, ellipse50), v.Plane.cloud(c.Mean, c.Cov, ellipse95)
		v.Mean = v.Plane.dot(c.Mean, c.Hex, "mean of the offspring, "+c.Name)
		l := v.Plane.labeller(2, around(v.Mean, 7), v.Plane.target())
		parents := []Parent{c.Seed, c.Pollen}
		if c.Self() {
			parents = parents[:1]
		}
		for _, p := range parents {
			d := v.Plane.dot(p.Lab, p.Hex, p.ID+" passes on this")
			l.marks = append(l.marks, around(d, 5))
			v.Parents = append(v.Parents, d)
		}
		for k := range v.Parents {
			v.Parents[k].Label = l.place(parents[k].ID, float64(v.Parents[k].X), float64(v.Parents[k].Y), 5, true)
		}
		v.Plane.Title = "Offspring of " + c.Seed.ID + " and " + c.Pollen.ID + " beside the target, a* and b*"
		if c.Self() {
			v.Plane.Title = "Selfs of " + c.Seed.ID + " beside the target, a* and b*"
		}
		v.Plane.Desc = fmt.Sprintf("The offspring lie around a* %s, b* %s; the target is at a* %s, b* %s.",
			number(c.Mean.A, 1), number(c.Mean.B, 1), number(s.Target.Lab.A, 1), number(s.Target.Lab.B, 1))
		ax := axis{lowL - 1, highL + 1, 4, 316}
		r := 1.96 * math.Sqrt(max(c.Cov[0][0], 0))
		b := lightBar{W: 320, Low: px(ax.at(c.Mean.L - r)), Mean: px(ax.at(c.Mean.L)), Target: px(ax.at(s.Target.Lab.L)),
			BandX: px(ax.at(bandLow)), LowText: number(ax.low, 0), HighText: number(ax.high, 0), MeanIs: number(c.Mean.L, 1),
			TargetText: number(s.Target.Lab.L, 1)}
		b.Span, b.BandW = px(ax.at(c.Mean.L+r))-b.Low, px(ax.at(bandHigh))-b.BandX
		for _, p := range parents {
			b.Parents = append(b.Parents, px(ax.at(p.Lab.L)))
		}
		v.Light = b
		out = append(out, v)
	}
	return out
}
