package report

import (
	"image"
	"image/color"
	"image/draw"
	"math"

	"golang.org/x/image/vector"

	"hueward/colorimg"
)

// The two inks of an overlay: a light line inside a dark casing can be seen on any petal and any ground.
var (
	overlayLine   = color.NRGBA{255, 255, 255, 255}
	overlayCasing = color.NRGBA{20, 24, 22, 240}
)

// DrawOverlay returns a copy of thumb with the petals' outline and the card of r drawn in: the petals as a line, the
// card as a line with a square on each corner. thumb is the whole photo as displayed, at any size; r.Size says how
// large the photo is. Without it nothing is drawn. r may be nil.
func DrawOverlay(thumb image.Image, r *colorimg.Reading) *image.NRGBA {
	n := copyOf(thumb)
	b := n.Rect
	if r == nil || r.Size[0] <= 0 || r.Size[1] <= 0 || b.Empty() {
		return n
	}
	unit := math.Max(1, float64(max(b.Dx(), b.Dy()))/ThumbSide)
	whole := window{b, [4]float64{0, 0, float64(r.Size[0]), float64(r.Size[1])}}
	loops := whole.petals(r)
	var corners [][2]float64
	if c := r.Card.Corners; c != nil {
		corners = whole.all(c[:])
		loops = append(loops, corners)
	}
	for _, pass := range []struct {
		ink    color.NRGBA
		width  float64
		square float64 // half a side
	}{{overlayCasing, 4 * unit, 4.6 * unit}, {overlayLine, 1.5 * unit, 3.2 * unit}} {
		p := newPen(n)
		for _, l := range loops {
			p.loop(l, pass.width)
		}
		for _, c := range corners {
			p.box(c, pass.square, pass.square)
		}
		p.ink(pass.ink)
	}
	return n
}

// pen collects shapes with the same winding direction, so that overlaps do
// not cancel, and then draws them at once.
type pen struct {
	to draw.Image
	z  *vector.Rasterizer
}

func newPen(to draw.Image) *pen {
	return &pen{to, vector.NewRasterizer(to.Bounds().Dx(), to.Bounds().Dy())}
}

// loop strokes a closed line.
func (p *pen) loop(pts [][2]float64, width float64) {
	if len(pts) < 2 {
		return
	}
	n := len(pts)
	for i, a := range pts {
		before, b := pts[(i+n-1)%n], pts[(i+1)%n]
		dx, dy := b[0]-a[0], b[1]-a[1]
		d := math.Hypot(dx, dy)
		// Only a real corner is rounded: where shapes overlap, their soft edges
		// add up, and a gentle curve would look like a rope.
		ex, ey := a[0]-before[0], a[1]-before[1]
		if !(dx*ex+dy*ey > 0.9*d*math.Hypot(ex, ey)) {
			p.round(a, width/2)
		}
		if d == 0 || !finite(d) {
			continue
		}
		nx, ny := -dy/d*width/2, dx/d*width/2
		p.polygon([][2]float64{{a[0] + nx, a[1] + ny}, {a[0] - nx, a[1] - ny},
			{b[0] - nx, b[1] - ny}, {b[0] + nx, b[1] + ny}})
	}
}

// round is a dot, as a polygon of 12 sides: it is a few pixels wide.
func (p *pen) round(c [2]float64, r float64) {
	var q [][2]float64
	for i := range 12 {
		s, t := math.Sincos(float64(i) * math.Pi / 6)
		q = append(q, [2]float64{c[0] + r*t, c[1] + r*s})
	}
	p.polygon(q)
}

// box is a rectangle so far from its middle to both sides.
func (p *pen) box(c [2]float64, x, y float64) {
	p.polygon([][2]float64{{c[0] - x, c[1] - y}, {c[0] + x, c[1] - y}, {c[0] + x, c[1] + y}, {c[0] - x, c[1] + y}})
}

func (p *pen) polygon(q [][2]float64) {
	for _, c := range q {
		// Far outside the picture the rasterizer would only lose time.
		if !finite(c[0]) || !finite(c[1]) || math.Abs(c[0]) > 1e5 || math.Abs(c[1]) > 1e5 {
			return
		}
	}
	p.z.MoveTo(float32(q[0][0]), float32(q[0][1]))
	for _, c := range q[1:] {
		p.z.LineTo(float32(c[0]), float32(c[1]))
	}
	p.z.ClosePath()
}

func (p *pen) ink(c color.NRGBA) {
	p.z.Draw(p.to, p.to.Bounds(), image.NewUniform(c), image.Point{})
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
