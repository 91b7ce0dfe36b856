package tag

import (
	"fmt"
	"math"

	"hueward/colorimg/shape"
)

// Plane is the flat piece of paper that a code is printed on, seen in the
// photo. Millimetres count from the code's top left, x along its top edge and y
// down its left edge; pixels are full size, as displayed.
type Plane struct {
	fwd, inv shape.Homography // millimetres to pixels, and back
}

// NewPlane returns the plane of a code from its corners (see [Tag]) and the
// printed width of its dark modules. The corners may be those of any square.
func NewPlane(corners [4][2]float64, mm float64) (Plane, error) {
	if !(mm > 0) || math.IsInf(mm, 0) {
		return Plane{}, fmt.Errorf("a code %g mm wide gives no scale", mm)
	}
	fwd, ok := shape.SquareTo(corners, mm)
	if !ok {
		return Plane{}, fmt.Errorf("the corners %.1f are not those of a square seen from the front", corners)
	}
	inv, ok := fwd.Inverse()
	if !ok {
		return Plane{}, fmt.Errorf("the corners %.1f lie on one line", corners)
	}
	return Plane{fwd: fwd, inv: inv}, nil
}

// Scale returns the pixels per millimetre of the paper around the pixel: the
// square root of the area that a square millimetre covers. A tilted paper has
// fewer along the tilt than across it.
func (p Plane) Scale(px, py float64) float64 {
	// The Jacobian determinant of a projective map is det / w³.
	h := p.inv
	w := h[6]*px + h[7]*py + h[8]
	if w <= 0 {
		return math.NaN()
	}
	return math.Sqrt(w * w * w / math.Abs(h.Det()))
}
