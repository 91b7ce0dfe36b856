package tag

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// at is apply for points, here a sheet's millimetres to a photo's pixels.
func (h *homography) at(q [2]float64) [2]float64 {
	x, y := h.apply(q[0], q[1])
	return [2]float64{x, y}
}

// scale is pixels a millimetre at q: the root of the area that a square
// millimetre covers.
func (h *homography) scale(q [2]float64) float64 {
	// The Jacobian determinant of a projective map is det / w³.
	w := h[6]*q[0] + h[7]*q[1] + h[8]
	return math.Sqrt(math.Abs(h.det() / (w * w * w)))
}

// match is one point known on the sheet and in the photo, with the standard
// deviation of its coordinates in millimetres.
type match struct {
	mm, px [2]float64
	sd     float64
}

// fitPlane fits a homography to four points or more by least squares of the
// distances in the photo, each in units of its own standard deviation.
//
// Source: the normalised direct linear transformation, Hartley and Zisserman,
// Multiple View Geometry, algorithm 4.2, its rows divided by the denominator
// of the fit before, which turns the algebraic distance into that in the photo.
func fitPlane(pts []match) (p homography, ok bool) {
	if len(pts) < 4 {
		return homography{}, false
	}
	from, to := norming(pts, false), norming(pts, true)
	for _, v := range []float64{from.x, from.y, from.s, to.x, to.y, to.s} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return homography{}, false
		}
	}
	weight := make([]float64, len(pts))
	for i := range weight {
		weight[i] = 1
	}
	for range 3 {
		a := mat.NewDense(max(9, 2*len(pts)), 9, nil)
		for i, m := range pts {
			x, y := from.do(m.mm)
			u, v := to.do(m.px)
			w := weight[i] / m.sd
			a.SetRow(2*i, []float64{w * x, w * y, w, 0, 0, 0, -w * u * x, -w * u * y, -w * u})
			a.SetRow(2*i+1, []float64{0, 0, 0, w * x, w * y, w, -w * v * x, -w * v * y, -w * v})
		}
		var svd mat.SVD
		if !svd.Factorize(a, mat.SVDThin) {
			return homography{}, false
		}
		var vt mat.Dense
		svd.VTo(&vt)
		var h homography
		for i := range h {
			h[i] = vt.At(i, 8)
		}
		sign := 0.0
		for i, m := range pts {
			x, y := from.do(m.mm)
			d := h[6]*x + h[7]*y + h[8]
			if sign == 0 {
				sign = d
			}
			if !(d*sign > 1e-9*sign*sign) { // a point behind the camera, or all in one line
				return homography{}, false
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
	return p, p.det() > 0 // else it is seen from behind
}

// norm moves points to their middle and scales them to a mean distance of √2.
type norm struct{ x, y, s float64 }

func norming(pts []match, px bool) norm {
	var n norm
	pick := func(m match) [2]float64 {
		if px {
			return m.px
		}
		return m.mm
	}
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

// undo is h with its outcome brought back from n.
func (n norm) undo(h homography) homography {
	for c := range 3 {
		h[c] = h[c]/n.s + n.x*h[6+c]
		h[3+c] = h[3+c]/n.s + n.y*h[6+c]
	}
	return h
}

// after is p of a point that n has been done to.
func (p homography) after(n norm) homography {
	for r := 0; r < 9; r += 3 {
		p[r+2] -= n.s * (p[r]*n.x + p[r+1]*n.y)
		p[r] *= n.s
		p[r+1] *= n.s
	}
	return p
}

// foretold is the standard deviation, in millimetres, of where the plane that
// was fitted to pts puts each of the places of the sheet: each coordinate is
// moved by its own standard deviation in turn.
func foretold(p homography, pts []match, places [][2]float64) []float64 {
	sd := make([]float64, len(places))
	moved := make([]match, len(pts))
	for i := range pts {
		for c := range 2 {
			copy(moved, pts)
			moved[i].mm[c] += pts[i].sd
			m, ok := fitPlane(moved)
			for k, q := range places {
				a, b := p.at(q), m.at(q)
				if d := math.Hypot(b[0]-a[0], b[1]-a[1]) / p.scale(q); ok && !math.IsNaN(d) {
					sd[k] = math.Hypot(sd[k], d)
				} else {
					sd[k] = math.Inf(1)
				}
			}
		}
	}
	return sd
}
