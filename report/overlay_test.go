package report

import (
	"image"
	"image/color"
	"math"
	"testing"

	"hueward/colorimg"
	"hueward/colorimg/photo"
)

func flat(w, h int, c color.NRGBA) *image.NRGBA {
	im := image.NewNRGBA(image.Rect(0, 0, w, h))
	for i := range w * h {
		im.SetNRGBA(i%w, i/w, c)
	}
	return im
}

func luma(c color.NRGBA) int { return (int(c.R) + int(c.G) + int(c.B)) / 3 }

// On any ground, the line is light with dark beside it, and lies where the
// reading says: a square from 1000 to 3000 in a photo of 4000 × 3000 lies
// from 75 to 225 (and a half pixel) in a thumbnail of 300 × 225.
func TestDrawOverlay(t *testing.T) {
	r := &colorimg.Reading{
		Size: [2]int{4000, 3000},
		Petal: colorimg.PetalArea{Outline: [][]colorimg.Point{
			{{1000, 400}, {3000, 400}, {3000, 2400}, {1000, 2400}}}},
		Card: colorimg.CardRead{Corners: &[4]colorimg.Point{{200, 2500}, {600, 2500}, {600, 2900}, {200, 2900}}},
	}
	for _, ground := range []color.NRGBA{{255, 255, 255, 255}, {0, 0, 0, 255}, {245, 150, 40, 255}, {119, 119, 119, 255}, {160, 20, 90, 255}} {
		before := flat(300, 225, ground)
		got := DrawOverlay(before, r)
		for _, p := range []image.Point{{75, 100}, {225, 100}, {150, 30}, {150, 180}, {15, 187}, {45, 217}, {45, 187}} {
			light, dark := 0, 255
			for dy := -3; dy <= 3; dy++ {
				for dx := -3; dx <= 3; dx++ {
					l := luma(got.NRGBAAt(p.X+dx, p.Y+dy))
					light, dark = max(light, l), min(dark, l)
				}
			}
			if light < 200 || dark > 90 {
				t.Errorf("on %v near %v: lightest %d, darkest %d; want at least 200 and at most 90", ground, p, light, dark)
			}
		}
		for _, p := range []image.Point{{150, 100}, {68, 100}, {30, 202}, {290, 5}} {
			if got.NRGBAAt(p.X, p.Y) != ground {
				t.Errorf("on %v: pixel %v changed to %v", ground, p, got.NRGBAAt(p.X, p.Y))
			}
		}
		if before.NRGBAAt(75, 100) != ground {
			t.Error("the given picture was drawn on")
		}
	}
}

func TestDrawOverlayAwkward(t *testing.T) {
	im := flat(40, 30, color.NRGBA{90, 90, 90, 255})
	nan, inf := math.NaN(), math.Inf(1)
	for name, r := range map[string]*colorimg.Reading{
		"nil":         nil,
		"no size":     {Petal: colorimg.PetalArea{Outline: [][]colorimg.Point{{{1, 1}, {9, 9}, {1, 9}}}}},
		"nothing":     {Size: [2]int{400, 300}},
		"one point":   {Size: [2]int{400, 300}, Petal: colorimg.PetalArea{Outline: [][]colorimg.Point{{{1, 1}}, {}}}},
		"no number":   {Size: [2]int{400, 300}, Petal: colorimg.PetalArea{Outline: [][]colorimg.Point{{{nan, inf}, {nan, 3}, {inf, 4}}}}},
		"far outside": {Size: [2]int{400, 300}, Petal: colorimg.PetalArea{Outline: [][]colorimg.Point{{{1e300, 0}, {1e301, 9}, {-1e300, 9}}}}},
	} {
		got := DrawOverlay(im, r)
		for i := range im.Pix {
			if got.Pix[i] != im.Pix[i] {
				t.Errorf("%s: byte %d = %d, want %d as before", name, i, got.Pix[i], im.Pix[i])
				break
			}
		}
	}
	if got := DrawOverlay(image.NewNRGBA(image.Rectangle{}), &colorimg.Reading{Size: [2]int{4, 3}}); !got.Rect.Empty() {
		t.Errorf("overlay of an empty picture = %v", got.Rect)
	}
}

// The first image would panic in imaging v1.6.2: pixels past the end of its
// palette (its issue 165).
func TestThumbnail(t *testing.T) {
	bad := image.NewPaletted(image.Rect(0, 0, 500, 400), color.Palette{color.Black})
	for i := range bad.Pix {
		bad.Pix[i] = byte(i)
	}
	for _, c := range []struct {
		name string
		im   image.Image
		w, h int
	}{
		{"paletted", bad, 320, 256},
		{"landscape", image.NewRGBA(image.Rect(0, 0, 4000, 3000)), 320, 240},
		{"portrait, not from zero", image.NewYCbCr(image.Rect(100, 50, 1600, 2050), image.YCbCrSubsampleRatio420), 240, 320},
		{"small", image.NewGray(image.Rect(0, 0, 31, 17)), 31, 17},
		{"a line", image.NewGray(image.Rect(0, 0, 4000, 1)), 320, 1},
		{"empty", image.NewGray(image.Rectangle{}), 0, 0},
	} {
		if got := Thumbnail(c.im).Rect; got != image.Rect(0, 0, c.w, c.h) {
			t.Errorf("Thumbnail(%s) = %v, want %d × %d", c.name, got, c.w, c.h)
		}
	}
}

// Source: IEC 61966-2-1:1999, from memory: linear 0.18 is 8-bit 118, linear
// 0.5 is 188; what is outside sRGB goes to its edge.
func TestThumbnailProfile(t *testing.T) {
	l := &photo.Linear{W: 2, H: 1, Pix: []float32{0.18, 0.5, 1, -0.2, 1.4, 0}, ScaleX: 10, ScaleY: 10}
	got := Thumbnail(l.Display())
	for x, want := range []color.NRGBA{{118, 188, 255, 255}, {0, 255, 0, 255}} {
		if c := got.NRGBAAt(x, 0); c != want {
			t.Errorf("pixel %d = %v, want %v", x, c, want)
		}
	}
}
