package photo

import (
	"image"
	"testing"

	"hueward/colorimg/must"
)

// turned returns the picture that must be stored so that, shown with the given
// EXIF orientation, it looks like im.
//
// Source: CIPA DC-008 4.6.5.1.6: where the display has its row 0 and column 0.
func turned(im *image.NRGBA, orient int) *image.NRGBA {
	w, h := im.Rect.Dx(), im.Rect.Dy()
	sw, sh := w, h
	if orient >= 5 {
		sw, sh = h, w
	}
	out := image.NewNRGBA(image.Rect(0, 0, sw, sh))
	for y := range sh {
		for x := range sw {
			var dx, dy int
			switch orient {
			case 1: // row 0 top, column 0 left
				dx, dy = x, y
			case 2: // top, right
				dx, dy = w-1-x, y
			case 3: // bottom, right
				dx, dy = w-1-x, h-1-y
			case 4: // bottom, left
				dx, dy = x, h-1-y
			case 5: // left, top
				dx, dy = y, x
			case 6: // right, top
				dx, dy = w-1-y, x
			case 7: // right, bottom
				dx, dy = w-1-y, h-1-x
			case 8: // left, bottom
				dx, dy = y, h-1-x
			}
			out.SetNRGBA(x, y, im.NRGBAAt(dx, dy))
		}
	}
	return out
}

// TestOrientation: one scene stored in the eight ways opens alike, through
// the EXIF chunk of a PNG, in full and uneven bins.
func TestOrientation(t *testing.T) {
	scene := noise(203, 121, 5)
	for _, work := range []int{64, 203} {
		var first *Photo
		for orient := 1; orient <= 8; orient++ {
			exif := must.Have(exifBlock(Info{Orientation: orient}))(t)
			b := withChunk(pngBytes(t, turned(scene, orient)), "eXIf", exif)
			p := open(t, "scene.png", b, &Options{Work: work})
			if first == nil {
				first = p
			}
			if p.Width != 203 || p.Height != 121 {
				t.Errorf("orientation %d is shown %d × %d, want 203 × 121", orient, p.Width, p.Height)
			}
			if p.Image.ScaleX != first.Image.ScaleX || p.Image.ScaleY != first.Image.ScaleY {
				t.Errorf("orientation %d has scale %v, %v, want %v, %v", orient, p.Image.ScaleX, p.Image.ScaleY, first.Image.ScaleX,
					first.Image.ScaleY)
			}
			if d := furthest(t, p.Image, first.Image); d > 1e-6 {
				t.Errorf("orientation %d differs by %.3g, want at most 1e-6", orient, d)
			}
		}
	}
}

// TestOrientationJPEG: the same JPEG data with each orientation written opens
// as the turned picture by definition.
func TestOrientationJPEG(t *testing.T) {
	scene := noise(150, 90, 6)
	for orient := 1; orient <= 8; orient++ {
		b := jpegBytes(t, scene, 90, Info{Orientation: orient})
		got := open(t, "scene.jpg", b, &Options{Work: 40}).Image
		want := slow(decodeJPEG(t, b), assumedSRGB().curve[0], orient, 40)
		if d := furthest(t, got, want); d > 3e-7 {
			t.Errorf("orientation %d differs by %.3g, want at most 3e-7", orient, d)
		}
	}
}
