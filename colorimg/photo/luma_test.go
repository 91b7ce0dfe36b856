package photo

import (
	"image"
	"image/color"
	"image/draw"
	"math"
	"testing"
)

// TestLuma: the lightness of one scene stored in the eight ways is that of the
// scene, by Y of ITU-T T.871 in floating point.
func TestLuma(t *testing.T) {
	scene := noise(203, 121, 5)
	area := image.Rect(20, 11, 190, 300) // lower edge outside
	for orient := 1; orient <= 8; orient++ {
		exif, err := exifBlock(Info{Orientation: orient})
		if err != nil {
			t.Fatal(err)
		}
		p := open(t, "scene.png", withChunk(pngBytes(t, turned(scene, orient)), "eXIf", exif), nil)
		for _, step := range []int{1, 3} {
			g := p.Luma(area, step)
			if want := image.Rect(0, 0, (170+step-1)/step, (110+step-1)/step); g.Rect != want {
				t.Fatalf("orientation %d, step %d: Luma is %v, want %v", orient, step, g.Rect, want)
			}
			for y := range g.Rect.Dy() {
				for x := range g.Rect.Dx() {
					sx, sy := min(20+step*x+step/2, 189), min(11+step*y+step/2, 120)
					c := scene.NRGBAAt(sx, sy)
					want := 0.299*float64(c.R) + 0.587*float64(c.G) + 0.114*float64(c.B)
					if got := float64(g.GrayAt(x, y).Y); math.Abs(got-want) > 0.51 {
						t.Fatalf("orientation %d, step %d: Luma(%d, %d) = %.0f, want %.2f ± 0.51", orient, step, sx, sy, got, want)
					}
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
		g := p.Luma(image.Rect(0, 0, 1000, 1000), 1)
		if g.Rect != image.Rect(0, 0, 33, 25) {
			t.Fatalf("%s: Luma is %v, want 33 × 25", name, g.Rect)
		}
		for y := range 25 {
			for x := range 33 {
				// Package color's own grey model; its rounding differs by one step.
				want := color.GrayModel.Convert(im.At(x+5, y+4)).(color.Gray).Y
				if got := g.GrayAt(x, y).Y; math.Abs(float64(got)-float64(want)) > 1 {
					t.Fatalf("%s: Luma(%d, %d) = %d, want %d ± 1", name, x, y, got, want)
				}
			}
		}
	}
}

func TestLumaOfNothing(t *testing.T) {
	p := Photo{Width: 100, Height: 100}
	if g := p.Luma(image.Rect(0, 0, 100, 100), 1); !g.Rect.Empty() {
		t.Errorf("Luma of a photo without pixels is %v, want nothing", g.Rect)
	}
	p = Photo{stored: noise(10, 10, 1), turn: 1}
	if g := p.Luma(image.Rect(20, 20, 30, 30), 0); !g.Rect.Empty() {
		t.Errorf("Luma outside the photo is %v, want nothing", g.Rect)
	}
}
