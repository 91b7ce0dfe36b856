package tag

import (
	"math"

	"hueward/colorimg/shape"
)

// match is one point known on the sheet, in millimetres, and in the photo.
type match = shape.Match

// fitPlane fits the map from the sheet's millimetres to the photo's pixels. False:
// the points do not determine it, or the sheet is seen from behind.
func fitPlane(pts []match) (shape.Homography, bool) {
	p, ok := shape.Fit(pts)
	return p, ok && p.Det() > 0
}

// foretold returns the standard error, in millimetres, of each of the places of the sheet under the plane fitted to pts, by
// moving each coordinate of pts by its own standard deviation in turn.
func foretold(p shape.Homography, pts []match, places [][2]float64) []float64 {
	sd := make([]float64, len(places))
	moved := make([]match, len(pts))
	for i := range pts {
		for c := range 2 {
			copy(moved, pts)
			moved[i].From[c] += pts[i].SD
			m, ok := fitPlane(moved)
			for k, q := range places {
				a, b := p.At(q), m.At(q)
				if d := math.Hypot(b[0]-a[0], b[1]-a[1]) / p.Scale(q); ok && !math.IsNaN(d) {
					sd[k] = math.Hypot(sd[k], d)
				} else {
					sd[k] = math.Inf(1)
				}
			}
		}
	}
	return sd
}
