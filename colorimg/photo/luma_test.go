package photo

import (
	"image"
	"image/color"
	"image/draw"
	"math"
	"testing"

	"hueward/colorimg/must"
)

// TestLuma: the lightness of one scene stored in the eight ways is that of the
// scene, by Y of ITU-T T.871 in floating point.
func TestLuma(t *testing.T) {
	scene := noise(203, 121, 5)
	for orient := 1; orient <= 8; orient++ {
		exif := must.Have(exifBlock(Info{Orientation: orient}))(t)
		p := open(t, "scene.png", withChunk(pngBytes(t, turned(scene, orient)), "eXIf", exif), nil)
		l := p.Lightness()
		if l.W != 203 || l.H != 121 {
			t.Fatalf("orientation %d: Lightness is %d × %d, want 203 × 121", orient, l.W, l.H)
		}
		for y := range l.H {
			for x := range l.W {
				c := scene.NRGBAAt(x, y)
				want := 0.299*float64(c.R) + 0.587*float64(c.G) + 0.114*float64(c.B)
				if got := float64(l.At(x, y)); math.Abs(got-want) > 0.51 {
					t.Fatalf("orientation %d: lightness at %d, %d = %.0f, want %.2f ± 0.51", orient, x, y, got, want)
				}
			}
		}
	}
}

// TestLumaJPEG: a JPEG's lightness is its luma plane, turned.
func TestLumaJPEG(t *testing.T) {
	scene := noise(150, 90, 6)
	for orient := 1; orient <= 8; orient++ {
		b := jpegBytes(t, scene, 90, Info{Orientation: orient})
		plane := decodeJPEG(t, b).(*image.YCbCr)
		l := open(t, "scene.jpg", b, nil).Lightness()
		for y := range 90 {
			for x := range 150 {
				dx, dy := orientation(orient).at(x, y, 150, 90)
				if got, want := l.At(dx, dy), plane.Y[plane.YOffset(x, y)]; got != want {
					t.Fatalf("orientation %d: lightness of stored (%d, %d) = %d, want %d", orient, x, y, got, want)
				}
			}
		}
	}
}

// Every kind of picture that a decoder returns gives the same lightness, of a
// part of a picture too.
func TestLumaKinds(t *testing.T) {
	full := noise(40, 30, 9)
	part := image.Rect(5, 4, 38, 29)
	var palette color.Palette
	for i := range 256 {
		palette = append(palette, color.Gray{Y: uint8(i)})
	}
	for name, im := range map[string]draw.Image{
		"NRGBA":    image.NewNRGBA(full.Rect),
		"RGBA":     image.NewRGBA(full.Rect),
		"NRGBA64":  image.NewNRGBA64(full.Rect),
		"RGBA64":   image.NewRGBA64(full.Rect),
		"Gray":     image.NewGray(full.Rect),
		"Gray16":   image.NewGray16(full.Rect),
		"Paletted": image.NewPaletted(full.Rect, palette),
		"CMYK":     image.NewCMYK(full.Rect),
	} {
		draw.Draw(im, full.Rect, full, image.Point{}, draw.Src)
		sub := im.(interface {
			SubImage(image.Rectangle) image.Image
		}).SubImage(part)
		p := Photo{stored: sub, turn: 1}
		l := p.Lightness()
		if l.W != 33 || l.H != 25 {
			t.Fatalf("%s: Lightness is %d × %d, want 33 × 25", name, l.W, l.H)
		}
		for y := range 25 {
			for x := range 33 {
				// Package color's own grey model; its rounding differs by one step.
				want := color.GrayModel.Convert(im.At(x+5, y+4)).(color.Gray).Y
				if got := l.At(x, y); math.Abs(float64(got)-float64(want)) > 1 {
					t.Fatalf("%s: lightness at %d, %d = %d, want %d ± 1", name, x, y, got, want)
				}
			}
		}
	}
}

func TestLumaOfNothing(t *testing.T) {
	p := Photo{Width: 100, Height: 100}
	if l := p.Lightness(); l.W != 0 || l.H != 0 {
		t.Errorf("Lightness of a photo without pixels is %d × %d, want nothing", l.W, l.H)
	}
}
