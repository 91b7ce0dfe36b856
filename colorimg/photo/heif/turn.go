package heif

import (
	"encoding/binary"
	"image"
	"math"
)

// turning is how a stored picture is cropped and turned: cropped, then mirrored along one axis or both, then
// transposed.
type turning struct {
	cut          image.Rectangle // of the stored picture
	flipX, flipY bool
	swap         bool
}

// turned reports whether a property of the item crops or turns it.
func (m *meta) turned(it *item) bool {
	for _, p := range m.properties(it) {
		if p.kind == "irot" || p.kind == "imir" || p.kind == "clap" {
			return true
		}
	}
	return false
}

// apply adds the operation of the property after those so far; most properties have none.
//
// Source: ISO/IEC 23008-12 sections 6.5.9 (clap, of ISO/IEC 14496-12 12.1.4), 6.5.10 (irot), 6.5.12 (imir); from memory.
// imir 0 swaps top and bottom, and a part of a pixel at the left and top is cut, as libheif reads them.
func (t *turning) apply(p property) error {
	switch {
	case p.kind == "irot" && len(p.data) > 0:
		for range p.data[0] & 3 { // quarters, anticlockwise
			t.mirror(true)
			t.swap = !t.swap
		}
	case p.kind == "imir" && len(p.data) > 0:
		t.mirror(p.data[0]&1 == 1)
	case p.kind == "clap" && len(p.data) >= 32:
		return t.clap(p.data)
	}
	return nil
}

// mirror swaps left and right of what is displayed so far, or top and bottom.
func (t *turning) mirror(leftRight bool) {
	if leftRight != t.swap {
		t.flipX = !t.flipX
	} else {
		t.flipY = !t.flipY
	}
}

func (t *turning) clap(b []byte) error {
	w, h := fraction(b), fraction(b[8:])
	size := t.cut.Size()
	if t.swap {
		size = image.Pt(size.Y, size.X)
	}
	left := math.Floor(fraction(b[16:]) + (float64(size.X)-w)/2)
	top := math.Floor(fraction(b[24:]) + (float64(size.Y)-h)/2)
	w, h = math.Floor(w+0.5), math.Floor(h+0.5)
	if !(w >= 1 && h >= 1 && left >= 0 && top >= 0 && left+w <= float64(size.X) && top+h <= float64(size.Y)) {
		return badContainer("cut to %.1f × %.1f", w, h)
	}
	r := image.Rect(int(left), int(top), int(left+w), int(top+h))
	if t.swap {
		r = image.Rect(r.Min.Y, r.Min.X, r.Max.Y, r.Max.X)
	}
	if t.flipX {
		r.Min.X, r.Max.X = t.cut.Dx()-r.Max.X, t.cut.Dx()-r.Min.X
	}
	if t.flipY {
		r.Min.Y, r.Max.Y = t.cut.Dy()-r.Max.Y, t.cut.Dy()-r.Min.Y
	}
	t.cut = r.Add(t.cut.Min)
	return nil
}

func fraction(b []byte) float64 {
	return float64(int32(binary.BigEndian.Uint32(b))) / float64(int32(binary.BigEndian.Uint32(b[4:])))
}

// exif returns the EXIF orientation that turns a picture the same way.
//
// Source: CIPA DC-008 4.6.5.1.6.
func (t *turning) exif() int {
	i := 0
	for k, on := range []bool{t.flipY, t.flipX, t.swap} {
		if on {
			i |= 1 << k
		}
	}
	return [...]int{1, 4, 2, 3, 5, 6, 8, 7}[i]
}
