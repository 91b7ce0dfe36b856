package patches

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"hueward/colorimg/card"
)

// plane takes grid positions to the picture, with perspective: the middle of the
// patch in column c and row r lies at (c, r).
type plane [8]float64

func (h plane) at(u, v float64) (x, y float64) {
	w := h[6]*u + h[7]*v + 1
	return (h[0]*u + h[1]*v + h[2]) / w, (h[3]*u + h[4]*v + h[5]) / w
}

// fitPlane is the plane that takes from to to, four points or more, with the
// least squares of the linear equations in it. ok is false when the points do
// not tell, as those on one line.
//
// Source: the direct linear transform, Hartley and Zisserman, Multiple View
// Geometry, 4.1 (from memory), the last element held at 1: the horizon is not
// in the middle of any card.
func fitPlane(from, to [][2]float64) (h plane, ok bool) {
	n := len(from)
	if n < 4 {
		return h, false
	}
	// The picture's numbers are brought to the size of 1, so that all equations
	// weigh alike; the grid's are small already.
	var cx, cy, size float64
	for _, p := range to {
		cx, cy = cx+p[0]/float64(n), cy+p[1]/float64(n)
	}
	for _, p := range to {
		size += math.Hypot(p[0]-cx, p[1]-cy) / float64(n)
	}
	if !(size > 1e-9) {
		return h, false
	}
	a, b := mat.NewDense(2*n, 8, nil), mat.NewVecDense(2*n, nil)
	for i, p := range from {
		u, v := p[0], p[1]
		x, y := (to[i][0]-cx)/size, (to[i][1]-cy)/size
		a.SetRow(2*i, []float64{u, v, 1, 0, 0, 0, -u * x, -v * x})
		a.SetRow(2*i+1, []float64{0, 0, 0, u, v, 1, -u * y, -v * y})
		b.SetVec(2*i, x)
		b.SetVec(2*i+1, y)
	}
	var s mat.VecDense
	if err := s.SolveVec(a, b); err != nil { // singular, or nearly
		return h, false
	}
	for i := range h {
		h[i] = s.AtVec(i)
	}
	for k := range 3 { // back to pixels
		w := 0.0
		if k < 2 {
			w = h[6+k]
		} else {
			w = 1
		}
		h[k], h[3+k] = h[k]*size+cx*w, h[3+k]*size+cy*w
	}
	for i := range from {
		if !(h[6]*from[i][0]+h[7]*from[i][1]+1 > 0.05) {
			return h, false
		}
	}
	return h, true
}

// half is half the width of a patch, in steps of the grid.
func (s *Set) half() float64 { return 0.5 / (1 + s.Gap) }

// corners are the outer corners of the grid of patches: from the first patch's
// corner along the first row, and round.
func (s *Set) corners() [][2]float64 {
	h := s.half()
	c, r := float64(s.Cols-1)+h, float64(s.Rows-1)+h
	return [][2]float64{{-h, -h}, {c, -h}, {c, r}, {-h, r}}
}

// quad is the grid's outline in the picture.
func (s *Set) quad(h plane) (q card.Quad) {
	for i, c := range s.corners() {
		q[i][0], q[i][1] = h.at(c[0], c[1])
	}
	return q
}

// patch is the outline of a share of the patch around (u, v), in the picture.
func (h plane) patch(u, v, half float64) (q card.Quad) {
	for i, d := range [4][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
		q[i][0], q[i][1] = h.at(u+half*d[0], v+half*d[1])
	}
	return q
}
