package tag

import "hueward/colorimg/shape"

// PixelsPerMM returns the scale of the paper around the code's middle, by the printed width of the code: the square
// root of the area that a square millimetre covers. A tilted paper has fewer along the tilt than across it. It is 0
// where the width or the corners tell none.
func (t Tag) PixelsPerMM(mm float64) float64 {
	fwd, ok := shape.SquareTo(t.Corners, mm) // millimetres to pixels
	inv, whole := fwd.Inverse()
	if !(mm > 0) || !ok || !whole {
		return 0
	}
	c := t.Corners
	return fwd.Scale(inv.At([2]float64{(c[0][0] + c[2][0]) / 2, (c[0][1] + c[2][1]) / 2}))
}
