package report

import (
	"fmt"
	"math"
	"strings"

	"hueward/colorimg/cie"
)

// canvas is what all charts have: their size, the plotting area, and ids.
type canvas struct {
	ID             string // prefix of the ids inside the drawing
	W, H, Size     px     // Size: of the type
	X0, Y0, X1, Y1 px     // the plotting area
	Title, Desc    string
}

// BandW and BandH are the width and the height of the plotting area.
func (d canvas) BandW() px { return d.X1 - d.X0 }
func (d canvas) BandH() px { return d.Y1 - d.Y0 }

// MiddleX and MiddleY are the middle of the plotting area.
func (d canvas) MiddleX() px { return (d.X0 + d.X1) / 2 }
func (d canvas) MiddleY() px { return (d.Y0 + d.Y1) / 2 }

// labeller puts words into the plotting area, at least so far from its sides, and clear of the marks.
func (d canvas) labeller(side float64, marks ...box) *labeller {
	return &labeller{size: float64(d.Size), marks: marks,
		area: box{float64(d.X0) + side, float64(d.Y0) + 2, float64(d.X1) - side, float64(d.Y1) - 2}}
}

// plane is a part of the a*b* plane with the target and its tolerance, to draw on: a* to the right, b* up, the same scale
// for both.
type plane struct {
	canvas
	XTicks, YTicks              []tick
	Tolerance                   string // path; empty: none set
	TargetX, TargetY, TargetArm px
	TargetIn                    px
	TargetFill                  string
	ax, ay                      axis
	unit                        float64 // of a* and b*, a pixel
}

// Cross is the target's cross hair.
func (p plane) Cross() string {
	return fmt.Sprintf("M%v %vV%vM%v %vH%v", p.TargetX, p.TargetY-p.TargetArm, p.TargetY+p.TargetArm,
		p.TargetX-p.TargetArm, p.TargetY, p.TargetX+p.TargetArm)
}

// target is the place of the cross hair.
func (p plane) target() box { return around(dot{X: p.TargetX, Y: p.TargetY}, float64(p.TargetArm)) }

// bounds is a rectangle of a* and b*.
type bounds struct{ low, high [2]float64 }

// newBounds returns the bounds of the target and the line of its tolerance.
func newBounds(t Target, line [][2]float64) bounds {
	e := bounds{[2]float64{t.Lab.A, t.Lab.B}, [2]float64{t.Lab.A, t.Lab.B}}
	for _, q := range line {
		e.grow(q[0], q[1])
	}
	return e
}

// tolerance returns the line of n points around the target at its tolerance; nil: none is set.
func tolerance(t Target, n int) [][2]float64 {
	if t.Within > 0 {
		return contour(t.Lab, t.Within, n)
	}
	return nil
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

// newPlane returns a plane that shows the bounds, with a margin of edge pixels for the marks; line is the tolerance.
func newPlane(t Target, d canvas, e bounds, edge float64, line [][2]float64) plane {
	p := plane{canvas: d, TargetArm: 11, TargetIn: 5, TargetFill: ink(t.Hex)}
	pw, ph := float64(p.BandW()), float64(p.BandH())
	p.unit = max((e.high[0]-e.low[0])/(pw-2*edge), (e.high[1]-e.low[1])/(ph-2*edge), 4/min(pw, ph)) // one plant on the target is no scale
	ma, mb := (e.low[0]+e.high[0])/2, (e.low[1]+e.high[1])/2
	p.ax = axis{ma - p.unit*pw/2, ma + p.unit*pw/2, float64(p.X0), float64(p.X1)}
	p.ay = axis{mb - p.unit*ph/2, mb + p.unit*ph/2, float64(p.Y1), float64(p.Y0)}
	step := gridStep(p.unit, 45)
	p.XTicks, p.YTicks = p.ax.ticks(step), p.ay.ticks(step)
	p.TargetX, p.TargetY = px(p.ax.at(t.Lab.A)), px(p.ay.at(t.Lab.B))
	p.Tolerance = p.path(line, true)
	return p
}

// path returns the SVG path through points of the plane.
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

// cloud returns the SVG path of the ellipse at reach standard deviations from m in a* and b*.
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

// ellipse95 is how many standard errors an ellipse reaches in a* and in b* to hold the true colour 95 times of 100: the
// root of the 0.95 quantile of chi-square with 2 degrees of freedom, 5.991. ellipse50 is the same for half of all.
const ellipse95, ellipse50 = 2.448, 1.177

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

func around(d dot, r float64) box {
	x, y := float64(d.X), float64(d.Y)
	return box{x - r, y - r, x + r, y + r}
}

// lightBand is the lightness of the target and of all that is within its tolerance.
func lightBand(t Target) (low, high float64) {
	if t.Within > 0 {
		return lightnessRange(t.Lab, t.Within)
	}
	return t.Lab.L, t.Lab.L
}
