package report

import (
	"fmt"
	"math"
	"strings"

	"hueward/colorimg/cie"
)

// plane is a part of the a*b* plane with the target and its tolerance, to draw on.
type plane struct {
	ID                          string
	W, H, Size                  px
	X0, Y0, X1, Y1              px
	XTicks, YTicks              []tick
	Tolerance                   string
	TargetX, TargetY, TargetArm px
	TargetIn                    px
	TargetFill                  string
	Title, Desc                 string
	ax, ay                      axis
}

// Cross is the target's cross hair.
func (p plane) Cross() string {
	return fmt.Sprintf("M%v %vV%vM%v %vH%v", p.TargetX, p.TargetY-p.TargetArm, p.TargetY+p.TargetArm,
		p.TargetX-p.TargetArm, p.TargetY, p.TargetX+p.TargetArm)
}

// bounds is a rectangle of a* and b*.
type bounds struct{ low, high [2]float64 }

// newBounds holds the target and its tolerance.
func newBounds(t Target) bounds {
	e := bounds{[2]float64{t.Lab.A, t.Lab.B}, [2]float64{t.Lab.A, t.Lab.B}}
	if t.Within > 0 {
		for _, q := range contour(t.Lab, t.Within, 60) {
			e.grow(q[0], q[1])
		}
	}
	return e
}

func (e *bounds) grow(a, b float64) {
	for i, v := range [2]float64{a, b} {
		if finite(v) {
			e.low[i], e.high[i] = min(e.low[i], v), max(e.high[i], v)
		}
	}
}

// growCloud makes room for the ellipse of a covariance.
func (e *bounds) growCloud(m cie.Lab, cov [3][3]float64, reach float64) {
	a, b := reach*math.Sqrt(max(cov[1][1], 0)), reach*math.Sqrt(max(cov[2][2], 0))
	e.grow(m.A-a, m.B-b)
	e.grow(m.A+a, m.B+b)
}

// newPlane is w × h pixels, of which left and bottom are for the axes.
func newPlane(t Target, e bounds, id string, w, h, left, bottom float64) plane {
	p := plane{ID: id, W: px(w), H: px(h), Size: 13, X0: px(left), Y0: 8, X1: px(w - 8), Y1: px(h - bottom), TargetArm: 11, TargetIn: 5,
		TargetFill: ink(t.Hex)}
	pw, ph := float64(p.X1-p.X0), float64(p.Y1-p.Y0)
	const edge = 10
	unit := max((e.high[0]-e.low[0])/(pw-2*edge), (e.high[1]-e.low[1])/(ph-2*edge), 4/min(pw, ph))
	ma, mb := (e.low[0]+e.high[0])/2, (e.low[1]+e.high[1])/2
	p.ax = axis{ma - unit*pw/2, ma + unit*pw/2, float64(p.X0), float64(p.X1)}
	p.ay = axis{mb - unit*ph/2, mb + unit*ph/2, float64(p.Y1), float64(p.Y0)}
	step := gridStep(unit, 45)
	p.XTicks, p.YTicks = p.ax.ticks(step), p.ay.ticks(step)
	p.TargetX, p.TargetY = px(p.ax.at(t.Lab.A)), px(p.ay.at(t.Lab.B))
	if t.Within > 0 {
		p.Tolerance = p.path(contour(t.Lab, t.Within, 120), true)
	}
	return p
}

// path is a line through points of the plane.
func (p *plane) path(points [][2]float64, closed bool) string {
	var d strings.Builder
	for i, q := range points {
		fmt.Fprintf(&d, "%c%v %v", "ML"[min(i, 1)], px(p.ax.at(q[0])), px(p.ay.at(q[1])))
	}
	if closed && d.Len() > 0 {
		d.WriteByte('Z')
	}
	return d.String()
}

// cloud is the outline of the ellipse that reaches so many standard deviations from m
// in a* and b*.
func (p *plane) cloud(m cie.Lab, cov [3][3]float64, reach float64) string {
	// The root of the 2 × 2 part: [l0 0; l1 l2].
	l0 := math.Sqrt(max(cov[1][1], 1e-9))
	l1 := cov[1][2] / l0
	l2 := math.Sqrt(max(cov[2][2]-l1*l1, 1e-9))
	var points [][2]float64
	for i := range 72 {
		s, c := math.Sincos(2 * math.Pi * float64(i) / 72)
		points = append(points, [2]float64{m.A + reach*l0*c, m.B + reach*(l1*c+l2*s)})
	}
	return p.path(points, true)
}

// dot is a small mark in a drawing.
type dot struct {
	X, Y  px
	Fill  string
	Label label
	Title string
}

func (p *plane) dot(c cie.Lab, hex, title string) dot {
	return dot{X: px(p.ax.at(c.A)), Y: px(p.ay.at(c.B)), Fill: ink(hex), Title: title}
}

// ellipse50 is as ellipse95, for half of all.
const ellipse50 = 1.177
