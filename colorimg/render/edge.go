package render

import "math"

// EdgeShadow is a shadow with a straight edge, as a wall, a hat or an arm
// throws it over the whole of one side of the frame.
type EdgeShadow struct {
	Depth  float64    // share of the light lost, 0 to 0.99: some always finds its way
	At     [2]float64 // a point on the edge, share of the frame
	Angle  float64    // where the shadow lies as seen from the edge: degrees clockwise, 0 to the right
	Soft   float64    // width of the penumbra, share of the frame's shorter side; 0: one pixel
	Wavy   float64    // how far the edge strays from the straight, share of the shorter side
	Kelvin float64    // colour temperature of the light left in the shadow, sky's being bluer than sun's; 0: the scene's
}

type edge struct {
	nx, ny, c float32 // nx·x + ny·y + c: pixels into the shadow
	soft      float32 // half the penumbra, pixels
	depth     float32
	wavy, off float32
	scale     float32 // of the waves, pixels
	tint      rgb     // of the light left, over the scene's
	colored   bool
}

func newEdge(s Scene, off float32) *edge {
	e := s.Edge
	short := min(s.Width, s.Height)
	sin, cos := math.Sincos(e.Angle * math.Pi / 180)
	x, y := e.At[0]*float64(s.Width), e.At[1]*float64(s.Height)
	out := &edge{nx: float32(cos), ny: float32(sin), c: float32(-cos*x - sin*y), off: off,
		soft: max(float32(e.Soft*float64(short)), 1) / 2, depth: float32(min(max(e.Depth, 0), 0.99)),
		wavy: float32(e.Wavy * float64(short)), scale: 0.15 * float32(short), tint: rgb{1, 1, 1}}
	if e.Kelvin != 0 && e.Kelvin != s.Kelvin {
		a, b := Gains(e.Kelvin, 1), Gains(s.Kelvin, 1)
		for i := range out.tint {
			out.tint[i] = float32(a[i] / b[i])
		}
		out.colored = true
	}
	return out
}

// in is 0 in the open, 1 in full shadow.
func (e *edge) in(x, y float32) float32 {
	d := e.nx*x + e.ny*y + e.c
	if e.wavy != 0 {
		d += e.wavy * noise((e.nx*y-e.ny*x)/e.scale+e.off, e.off)
	}
	return ease(-e.soft, e.soft, d)
}

// color is what the shadow does to the light's colour at x, y, its strength left out.
func (l *lamp) color(x, y float32) rgb {
	one := rgb{1, 1, 1}
	if l.edge == nil || !l.edge.colored {
		return one
	}
	t := l.edge.in(x, y)
	left := t * (1 - l.edge.depth) // by the sky; the rest is the scene's own light
	return one.mix(l.edge.tint, left/(left+1-t))
}
