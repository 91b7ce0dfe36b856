package report

import (
	"fmt"
	"math"
)

// pathView is a line's way over its seasons: in the a*b* plane, and in lightness.
type pathView struct {
	Class  string
	Plane  plane
	Way    string // from mean to mean
	Errors []string
	Means  []dot
	Light  seasonsL
}

// seasonsL is lightness by season.
type seasonsL struct {
	canvas
	YTicks     []tick
	From, Tall px // of the tolerance
	TargetY    px
	Way        string
	Points     []seasonPoint
}

// seasonPoint is a season's mean with its error.
type seasonPoint struct {
	dot
	Low, High px
	Season    string
}

// newPathViews draws the seasons for a wide and a narrow page; nil for fewer than two.
func newPathViews(s *Season) []pathView {
	if s.Past == nil || len(s.Past.Seasons) < 2 {
		return nil
	}
	return []pathView{newPathView(s, "wide", 700, 420), newPathView(s, "narrow", 340, 320)}
}

func newPathView(s *Season, class string, w, h float64) pathView {
	e := newBounds(s.Target, tolerance(s.Target, 60))
	for _, q := range s.Past.Seasons {
		e.growCloud(q.Mean, q.Cov, ellipse95)
	}
	v := pathView{Class: class, Plane: newPlane(s.Target, canvas{ID: class + "-path", W: px(w), H: px(h), Size: 13,
		X0: 50, Y0: 8, X1: px(w - 8), Y1: px(h - 48)}, e, 10, tolerance(s.Target, 120))}
	p := &v.Plane
	l := p.labeller(2, p.target())
	var points [][2]float64
	for _, q := range s.Past.Seasons {
		points = append(points, [2]float64{q.Mean.A, q.Mean.B})
		v.Errors = append(v.Errors, p.cloud(q.Mean, q.Cov, ellipse95))
		d := p.dot(q.Mean, q.Hex, fmt.Sprintf("%s: mean of %d plants, L* a* b* %s", q.Season, q.Plants, labText(q.Mean)))
		l.marks = append(l.marks, around(d, 8))
		v.Means = append(v.Means, d)
	}
	for i := range v.Means {
		v.Means[i].Label = l.place(s.Past.Seasons[i].Season, float64(v.Means[i].X), float64(v.Means[i].Y), 8, true)
	}
	v.Way = p.path(points, false)
	p.Title = "The line’s mean colour in each season, a* and b*"
	p.Desc = fmt.Sprintf("%d seasons, from %s to %s; the table gives the same numbers.", len(points), s.Past.Seasons[0].Season,
		s.Past.Seasons[len(points)-1].Season)
	v.Light = newSeasonsL(s, class+"-light", w)
	return v
}

func newSeasonsL(s *Season, id string, w float64) seasonsL {
	c := seasonsL{canvas: canvas{ID: id, W: px(w), H: 230, Size: 13, X0: 50, Y0: 12, X1: px(w - 12), Y1: 190}}
	bandLow, bandHigh := lightBand(s.Target)
	low, high := bandLow, bandHigh
	for _, q := range s.Past.Seasons {
		r := 1.96 * math.Sqrt(max(q.Cov[0][0], 0))
		low, high = min(low, q.Mean.L-r), max(high, q.Mean.L+r)
	}
	ay := axis{low - 1, high + 1, float64(c.Y1), float64(c.Y0)}
	c.YTicks = ay.ticks(gridStep((ay.high-ay.low)/math.Abs(ay.p1-ay.p0), 34))
	c.TargetY, c.From = px(ay.at(s.Target.Lab.L)), px(ay.at(bandHigh))
	c.Tall = px(ay.at(bandLow)) - c.From
	n := len(s.Past.Seasons)
	for i, q := range s.Past.Seasons {
		x := float64(c.X0) + (float64(i)+0.5)*float64(c.X1-c.X0)/float64(n)
		r := 1.96 * math.Sqrt(max(q.Cov[0][0], 0))
		c.Points = append(c.Points, seasonPoint{
			dot: dot{X: px(x), Y: px(ay.at(q.Mean.L)), Fill: ink(q.Hex), Title: q.Season + ": L* " + number(q.Mean.L, 1)},
			Low: px(ay.at(q.Mean.L - r)), High: px(ay.at(q.Mean.L + r)), Season: q.Season,
		})
		c.Way += fmt.Sprintf("%c%v %v", "ML"[min(i, 1)], px(x), px(ay.at(q.Mean.L)))
	}
	c.Title = "The line’s mean lightness in each season, L*"
	c.Desc = fmt.Sprintf("The target is at L* %s.", number(s.Target.Lab.L, 1))
	return c
}
