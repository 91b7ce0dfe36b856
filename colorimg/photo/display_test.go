package photo

import (
	"bytes"
	"context"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"

	"hueward/colorimg/cie"
	"hueward/colorimg/must"
)

// TestDisplayRoundTrip: every 8-bit value shown is the value stored.
func TestDisplayRoundTrip(t *testing.T) {
	im := image.NewGray(image.Rect(0, 0, 256, 1))
	for x := range 256 {
		im.Pix[x] = uint8(x)
	}
	d := open(t, "x.png", pngBytes(t, im), nil).Image.Display()
	for x := range 256 {
		v := uint8(x)
		if got, want := d.NRGBAAt(x, 0), (color.NRGBA{R: v, G: v, B: v, A: 255}); got != want {
			t.Errorf("stored %d is shown %v", x, got)
		}
	}
}

// TestDisplayClips: colours that a screen cannot show are held at its ends,
// and no number is a NaN on the screen.
func TestDisplayClips(t *testing.T) {
	l := &Linear{W: 1, H: 2, Pix: []float32{-0.2, 1.7, 0.215861, float32(math.NaN()), float32(math.Inf(1)), float32(math.Inf(-1))}}
	d := l.Display()
	if got, want := d.NRGBAAt(0, 0), (color.NRGBA{R: 0, G: 255, B: 128, A: 255}); got != want { // 0.215861 is code 128
		t.Errorf("shown %v, want %v", got, want)
	}
	if got, want := d.NRGBAAt(0, 1), (color.NRGBA{R: 0, G: 255, B: 0, A: 255}); got != want {
		t.Errorf("shown %v, want %v", got, want)
	}
}

func far(a, b uint8) bool { return max(a, b)-min(a, b) > 4 }

// TestDisplayConverts: a Display P3 photo is shown in sRGB.
func TestDisplayConverts(t *testing.T) {
	lab := cie.Lab{L: 60, A: 30, B: 50}
	c, _ := code(cie.DisplayP3.RGB(lab.XYZ()))
	want, _ := code(cie.SRGB.RGB(lab.XYZ()))
	p := open(t, "p3.jpg", jpegBytes(t, plainImage(64, 64, c), 100, Info{ICC: p3Profile}), nil)
	got := p.Image.Display().NRGBAAt(8, 8)
	if far(got.R, want.R) || far(got.G, want.G) || far(got.B, want.B) {
		t.Errorf("shown %v, want %v ± 4", got, want)
	}
}

// TestHostilePalette: pixels that name colours beyond the palette, over which
// the resizing library can trip, open and are shown or are refused.
func TestHostilePalette(t *testing.T) {
	im := image.NewPaletted(image.Rect(0, 0, 40, 30), color.Palette{color.Black, color.White})
	b := pngBytes(t, im)
	for i := range im.Pix {
		im.Pix[i] = uint8(i)
	}
	if l, err := reduce(context.Background(), im, assumedSRGB(), 1, 8, false); err != nil || l.W != 8 {
		t.Errorf("reduce: %v", err)
	}
	big := image.NewPaletted(im.Rect, make(color.Palette, 256))
	for i := range big.Palette {
		big.Palette[i] = color.Gray{Y: uint8(i)}
	}
	copy(big.Pix, im.Pix)
	c := pngBytes(t, big)
	at := bytes.Index(c, []byte("PLTE"))
	end := bytes.Index(c, []byte("IDAT"))
	short := withChunk(append(bytes.Clone(c[:at-4]), c[end-4:]...), "PLTE", []byte{0, 0, 0, 255, 255, 255})
	for n, data := range map[string][]byte{"two.png": b, "short.png": short} {
		name := filepath.Join(t.TempDir(), n)
		must.OK(t, os.WriteFile(name, data, 0o600))
		if _, err := png.DecodeConfig(bytes.NewReader(data)); err != nil {
			t.Fatalf("%s is not even a PNG: %v", n, err)
		}
		if p, err := Open(context.Background(), name, &Options{Work: 10}); err == nil && p.Image.Display().Rect.Dx() != 10 {
			t.Errorf("%s: %v", n, p.Image.Display().Rect)
		} else if err != nil && kind(err) != "broken" {
			t.Errorf("%s: %v", n, err)
		}
	}
}
