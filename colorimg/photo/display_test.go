package photo

import (
	"bytes"
	"context"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"hueward/colorimg/cie"
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

func TestThumbnail(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "x.jpg")
	// Stored 300 × 200 with orientation 6: shown 200 × 300, its top from the left side.
	im := plainImage(300, 200, color.NRGBA{R: 240, G: 240, B: 240, A: 255})
	for y := range 200 {
		for x := range 60 {
			im.SetNRGBA(x, y, color.NRGBA{R: 200, G: 60, B: 20, A: 255})
		}
	}
	b := jpegBytes(t, im, 95, Info{Orientation: 6, Taken: time.Date(2025, 8, 2, 9, 41, 7, 0, time.UTC), Make: "Acorn", GPS: true})
	if err := os.WriteFile(name, b, 0o600); err != nil {
		t.Fatal(err)
	}
	th, err := Thumbnail(context.Background(), name, 60, nil)
	if err != nil {
		t.Fatal(err)
	}
	if th.Bounds() != image.Rect(0, 0, 40, 60) {
		t.Fatalf("thumbnail is %v, want 40 × 60", th.Bounds())
	}
	for _, c := range []struct {
		y    int
		want color.NRGBA
	}{{4, color.NRGBA{200, 60, 20, 255}}, {50, color.NRGBA{240, 240, 240, 255}}} {
		got := color.NRGBAModel.Convert(th.At(20, c.y)).(color.NRGBA)
		if far(got.R, c.want.R) || far(got.G, c.want.G) || far(got.B, c.want.B) || got.A != 255 {
			t.Errorf("thumbnail at row %d is %v, want %v ± 4", c.y, got, c.want)
		}
	}
	var out bytes.Buffer
	if err := jpeg.Encode(&out, th, nil); err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(out.Bytes(), []byte("Exif")) || bytes.Contains(out.Bytes(), []byte("Acorn")) {
		t.Error("the thumbnail carries the photo's facts")
	}

	small, err := Thumbnail(context.Background(), name, 5000, nil)
	if err != nil {
		t.Fatal(err)
	}
	if small.Bounds() != image.Rect(0, 0, 200, 300) {
		t.Errorf("thumbnail is %v, want the photo's own 200 × 300", small.Bounds())
	}
	if _, err := Thumbnail(context.Background(), name, 0, nil); err == nil {
		t.Error("a thumbnail of no size was made")
	}
	if _, err := Thumbnail(context.Background(), filepath.Join(dir, "none.jpg"), 60, nil); err == nil {
		t.Error("a thumbnail of no file was made")
	}
}

func far(a, b uint8) bool { return max(a, b)-min(a, b) > 4 }

// TestThumbnailConverts: a Display P3 photo's thumbnail is in sRGB.
func TestThumbnailConverts(t *testing.T) {
	lab := cie.Lab{L: 60, A: 30, B: 50}
	c, _ := code(cie.DisplayP3.RGB(lab.XYZ()))
	want, _ := code(cie.SRGB.RGB(lab.XYZ()))
	name := filepath.Join(t.TempDir(), "p3.jpg")
	if err := os.WriteFile(name, jpegBytes(t, plainImage(64, 64, c), 100, Info{ICC: ProfileDisplayP3()}), 0o600); err != nil {
		t.Fatal(err)
	}
	th, err := Thumbnail(context.Background(), name, 16, nil)
	if err != nil {
		t.Fatal(err)
	}
	got := color.NRGBAModel.Convert(th.At(8, 8)).(color.NRGBA)
	if far(got.R, want.R) || far(got.G, want.G) || far(got.B, want.B) {
		t.Errorf("thumbnail is %v, want %v ± 4", got, want)
	}
}

// TestHostilePalette: pixels that name colours beyond the palette, over which
// the resizing library can trip, open and make a thumbnail or are refused.
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
		if err := os.WriteFile(name, data, 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := png.DecodeConfig(bytes.NewReader(data)); err != nil {
			t.Fatalf("%s is not even a PNG: %v", n, err)
		}
		if th, err := Thumbnail(context.Background(), name, 10, nil); err == nil && th.Bounds().Dx() != 10 {
			t.Errorf("%s: %v", n, th.Bounds())
		} else if err != nil && kind(err) != "broken" {
			t.Errorf("%s: %v", n, err)
		}
	}
}
