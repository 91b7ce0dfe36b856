package patches

import (
	"hueward/colorimg/card"
	"hueward/colorimg/shape"
)

// plane maps grid positions to the picture, with perspective; the middle of the
// patch in column c and row r has the grid position (c, r).
type plane struct{ shape.Homography }

// fitPlane returns the plane that maps from to to, four points or more. ok is false
// where the points do not determine it, such as points on one line.
func fitPlane(from, to [][2]float64) (h plane, ok bool) {
	var pts []shape.Match
	for i := range from {
		pts = append(pts, shape.Match{From: from[i], To: to[i], SD: 1})
	}
	h.Homography, ok = shape.Fit(pts)
	return h, ok
}

// half is half the width of a patch, in steps of the grid.
func (s *Set) half() float64 { return 0.5 / (1 + s.Gap) }

// corners are the outer corners of the grid of patches: from the first patch's corner along the first row, and round.
func (s *Set) corners() [][2]float64 {
	h := s.half()
	c, r := float64(s.Cols-1)+h, float64(s.Rows-1)+h
	return [][2]float64{{-h, -h}, {c, -h}, {c, r}, {-h, r}}
}

// quad is the grid's outline in the picture.
func (s *Set) quad(h plane) (q card.Quad) {
	for i, c := range s.corners() {
		q[i] = h.At(c)
	}
	return q
}

// patch is the outline of a share of the patch around (u, v), in the picture.
func (h plane) patch(u, v, half float64) (q card.Quad) {
	for i, d := range [4][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
		q[i][0], q[i][1] = h.Apply(u+half*d[0], v+half*d[1])
	}
	return q
}
