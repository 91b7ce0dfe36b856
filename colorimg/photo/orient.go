package photo

// orientation is the EXIF orientation, 1 to 8: how the stored picture must be turned to be displayed.
//
// Source: CIPA DC-008 4.6.5.1.6; the value names the sides of the display where the stored row 0 and column 0 go.
type orientation int

// swaps reports whether stored rows become displayed columns.
func (o orientation) swaps() bool { return o >= 5 && o <= 8 }

// flipX reports whether stored columns run against their displayed axis, flipY the same for stored rows.
func (o orientation) flipX() bool { return o == 2 || o == 3 || o == 7 || o == 8 }
func (o orientation) flipY() bool { return o == 3 || o == 4 || o == 6 || o == 7 }

// size returns the displayed size of a stored w × h picture.
func (o orientation) size(w, h int) (int, int) {
	if o.swaps() {
		return h, w
	}
	return w, h
}

// at returns the displayed place of the stored place (x, y) of a w × h picture.
func (o orientation) at(x, y, w, h int) (int, int) {
	if o.flipX() {
		x = w - 1 - x
	}
	if o.flipY() {
		y = h - 1 - y
	}
	if o.swaps() {
		return y, x
	}
	return x, y
}
