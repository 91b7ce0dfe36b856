package shape

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Homography is a projective map of the plane, row by row. Its third row is positive on the side that the camera sees.
type Homography [9]float64

// Apply maps a point; one beyond the horizon gives NaN.
func (h *Homography) Apply(x, y float64) (float64, float64) {
	w := h[6]*x + h[7]*y + h[8]
	if w <= 0 {
		return math.NaN(), math.NaN()
	}
	return (h[0]*x + h[1]*y + h[2]) / w, (h[3]*x + h[4]*y + h[5]) / w
}

// At is Apply for points.
func (h *Homography) At(q [2]float64) [2]float64 {
	x, y := h.Apply(q[0], q[1])
	return [2]float64{x, y}
}

// Det is the determinant: negative where h turns the plane over.
func (h *Homography) Det() float64 {
	return h[0]*(h[4]*h[8]-h[5]*h[7]) - h[1]*(h[3]*h[8]-h[5]*h[6]) + h[2]*(h[3]*h[7]-h[4]*h[6])
}

// Scale returns the factor on lengths at q: the root of the factor on areas there.
func (h *Homography) Scale(q [2]float64) float64 {
	// The Jacobian determinant of a projective map is det / w³.
	w := h[6]*q[0] + h[7]*q[1] + h[8]
	return math.Sqrt(math.Abs(h.Det() / (w * w * w)))
}

// Inverse returns the map back: the inverse matrix with its third row made
// positive where h's is. False: h maps the plane onto a line.
func (h *Homography) Inverse() (Homography, bool) {
	d := h.Det()
	if d == 0 || math.IsNaN(d) || math.IsInf(d, 0) {
		return Homography{}, false
	}
	return Homography{
		(h[4]*h[8] - h[5]*h[7]) / d, (h[2]*h[7] - h[1]*h[8]) / d, (h[1]*h[5] - h[2]*h[4]) / d,
		(h[5]*h[6] - h[3]*h[8]) / d, (h[0]*h[8] - h[2]*h[6]) / d, (h[2]*h[3] - h[0]*h[5]) / d,
		(h[3]*h[7] - h[4]*h[6]) / d, (h[1]*h[6] - h[0]*h[7]) / d, (h[0]*h[4] - h[1]*h[3]) / d,
	}, true
}

// SquareTo returns the map of the square from (0, 0) to (side, side) to the four corners, in the order top left, top
// right, bottom right, bottom left. False: they are not the corners of a convex figure.
//
// Source: Heckbert 1989, Fundamentals of Texture Mapping and Image Warping, section 2.2.3; from memory.
func SquareTo(c [4][2]float64, side float64) (Homography, bool) {
	for i := range c {
		a, b, d := c[i], c[(i+1)%4], c[(i+2)%4]
		// Clockwise as displayed, y down: each turn is a positive one.
		turn := (b[0]-a[0])*(d[1]-b[1]) - (b[1]-a[1])*(d[0]-b[0])
		if !(turn > 0) || math.IsInf(turn, 0) {
			return Homography{}, false
		}
	}
	sx := c[0][0] - c[1][0] + c[2][0] - c[3][0]
	sy := c[0][1] - c[1][1] + c[2][1] - c[3][1]
	dx1, dy1 := c[1][0]-c[2][0], c[1][1]-c[2][1]
	dx2, dy2 := c[3][0]-c[2][0], c[3][1]-c[2][1]
	den := dx1*dy2 - dx2*dy1
	g := (sx*dy2 - dx2*sy) / den
	h := (dx1*sy - sx*dy1) / den
	return Homography{
		(c[1][0] - c[0][0] + g*c[1][0]) / side, (c[3][0] - c[0][0] + h*c[3][0]) / side, c[0][0],
		(c[1][1] - c[0][1] + g*c[1][1]) / side, (c[3][1] - c[0][1] + h*c[3][1]) / side, c[0][1],
		g / side, h / side, 1,
	}, true
}

// Match is one point known on both sides of a map, with the standard deviation of From's coordinates.
type Match struct {
	From, To [2]float64
	SD       float64
}

// Fit fits a homography to four points or more by least squares of the distances of To, each in units of its own
// standard deviation. False: the points do not determine it, or one would lie beyond the horizon.
//
// Source: the normalised direct linear transformation, Hartley and Zisserman, Multiple View Geometry, algorithm 4.2,
// its rows divided by the denominator of the fit before, which turns the algebraic distance into that of To.
func Fit(pts []Match) (p Homography, ok bool) {
	if len(pts) < 4 {
		return Homography{}, false
	}
	from := norming(pts, func(m Match) [2]float64 { return m.From })
	to := norming(pts, func(m Match) [2]float64 { return m.To })
	for _, v := range []float64{from.x, from.y, from.s, to.x, to.y, to.s} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return Homography{}, false
		}
	}
	weight := slices.Repeat([]float64{1}, len(pts))
	for range 3 {
		a := mat.NewDense(max(9, 2*len(pts)), 9, nil)
		for i, m := range pts {
			x, y := from.do(m.From)
			u, v := to.do(m.To)
			w := weight[i] / m.SD
			a.SetRow(2*i, []float64{w * x, w * y, w, 0, 0, 0, -w * u * x, -w * u * y, -w * u})
			a.SetRow(2*i+1, []float64{0, 0, 0, w * x, w * y, w, -w * v * x, -w * v * y, -w * v})
		}
		var svd mat.SVD
		if !svd.Factorize(a, mat.SVDThin) {
			return Homography{}, false
		}
		var vt mat.Dense
		svd.VTo(&vt)
		var h Homography
		for i := range h {
			h[i] = vt.At(i, 8)
		}
		sign := 0.0
		for i, m := range pts {
			x, y := from.do(m.From)
			d := h[6]*x + h[7]*y + h[8]
			if sign == 0 {
				sign = d
			}
			if !(d*sign > 1e-9*sign*sign) { // a point behind the camera, or all in one line
				return Homography{}, false
			}
			weight[i] = 1 / math.Abs(d)
		}
		p = to.undo(h).after(from)
		if sign < 0 {
			for i := range p {
				p[i] = -p[i]
			}
		}
	}
	return p, true
}

// norm moves points so that their mean is the origin, and scales them to a mean distance of √2.
type norm struct{ x, y, s float64 }

func norming(pts []Match, pick func(Match) [2]float64) norm {
	var n norm
	for _, m := range pts {
		q := pick(m)
		n.x += q[0] / float64(len(pts))
		n.y += q[1] / float64(len(pts))
	}
	d := 0.0
	for _, m := range pts {
		q := pick(m)
		d += math.Hypot(q[0]-n.x, q[1]-n.y) / float64(len(pts))
	}
	n.s = math.Sqrt2 / d
	return n
}

func (n norm) do(q [2]float64) (x, y float64) { return (q[0] - n.x) * n.s, (q[1] - n.y) * n.s }

// undo returns h followed by the inverse of n.
func (n norm) undo(h Homography) Homography {
	for c := range 3 {
		h[c] = h[c]/n.s + n.x*h[6+c]
		h[3+c] = h[3+c]/n.s + n.y*h[6+c]
	}
	return h
}

// after returns n followed by h.
func (h Homography) after(n norm) Homography {
	for r := 0; r < 9; r += 3 {
		h[r+2] -= n.s * (h[r]*n.x + h[r+1]*n.y)
		h[r] *= n.s
		h[r+1] *= n.s
	}
	return h
}
