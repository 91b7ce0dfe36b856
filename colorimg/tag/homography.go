package tag

import "math"

// homography is a projective map of the plane, row by row. Its third row is
// positive on the side that the camera sees.
type homography [9]float64

// apply maps a point; one beyond the horizon gives NaN.
func (h *homography) apply(x, y float64) (float64, float64) {
	w := h[6]*x + h[7]*y + h[8]
	if w <= 0 {
		return math.NaN(), math.NaN()
	}
	return (h[0]*x + h[1]*y + h[2]) / w, (h[3]*x + h[4]*y + h[5]) / w
}

func (h *homography) det() float64 {
	return h[0]*(h[4]*h[8]-h[5]*h[7]) - h[1]*(h[3]*h[8]-h[5]*h[6]) + h[2]*(h[3]*h[7]-h[4]*h[6])
}

// inverse returns the map back: the inverse matrix with its third row made
// positive where h's is. False: h maps the plane onto a line.
func (h *homography) inverse() (homography, bool) {
	d := h.det()
	if d == 0 || math.IsNaN(d) || math.IsInf(d, 0) {
		return homography{}, false
	}
	return homography{
		(h[4]*h[8] - h[5]*h[7]) / d, (h[2]*h[7] - h[1]*h[8]) / d, (h[1]*h[5] - h[2]*h[4]) / d,
		(h[5]*h[6] - h[3]*h[8]) / d, (h[0]*h[8] - h[2]*h[6]) / d, (h[2]*h[3] - h[0]*h[5]) / d,
		(h[3]*h[7] - h[4]*h[6]) / d, (h[1]*h[6] - h[0]*h[7]) / d, (h[0]*h[4] - h[1]*h[3]) / d,
	}, true
}

// squareTo returns the map of the square from (0, 0) to (side, side) to the four
// corners, in the order top left, top right, bottom right, bottom left. False:
// they are not the corners of a convex figure.
//
// Source: Heckbert 1989, Fundamentals of Texture Mapping and Image Warping,
// section 2.2.3; from memory.
func squareTo(c [4][2]float64, side float64) (homography, bool) {
	for i := range c {
		a, b, d := c[i], c[(i+1)%4], c[(i+2)%4]
		// Clockwise as displayed, y down: each turn is a positive one.
		turn := (b[0]-a[0])*(d[1]-b[1]) - (b[1]-a[1])*(d[0]-b[0])
		if !(turn > 0) || math.IsInf(turn, 0) {
			return homography{}, false
		}
	}
	sx := c[0][0] - c[1][0] + c[2][0] - c[3][0]
	sy := c[0][1] - c[1][1] + c[2][1] - c[3][1]
	dx1, dy1 := c[1][0]-c[2][0], c[1][1]-c[2][1]
	dx2, dy2 := c[3][0]-c[2][0], c[3][1]-c[2][1]
	den := dx1*dy2 - dx2*dy1
	g := (sx*dy2 - dx2*sy) / den
	h := (dx1*sy - sx*dy1) / den
	return homography{
		(c[1][0] - c[0][0] + g*c[1][0]) / side, (c[3][0] - c[0][0] + h*c[3][0]) / side, c[0][0],
		(c[1][1] - c[0][1] + g*c[1][1]) / side, (c[3][1] - c[0][1] + h*c[3][1]) / side, c[0][1],
		g / side, h / side, 1,
	}, true
}
