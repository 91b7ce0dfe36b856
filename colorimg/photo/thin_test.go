package photo

import (
	"bytes"
	"context"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"math/rand/v2"
	"testing"
)

// TestReduceThinned compares a large JPEG, of which not all pixels are read,
// with the same picture given as plain pixels, of which all are: they may
// differ by the noise of the pixels left out, and on average by nothing.
func TestReduceThinned(t *testing.T) {
	const w, h, noise = 3600, 2400, 10.0
	if w*h < thinFrom {
		t.Fatalf("%d pixels are no large JPEG", w*h)
	}
	rng := rand.New(rand.NewPCG(3, 9))
	im := image.NewNRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			d := noise * rng.NormFloat64()
			at := func(v float64) uint8 { return uint8(min(max(v+d, 0), 255)) }
			im.SetNRGBA(x, y, color.NRGBA{at(60 + 140*float64(x)/w), at(150 - 60*float64(y)/h), at(90), 255})
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, im, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	stored, err := jpeg.Decode(&b)
	if err != nil {
		t.Fatal(err)
	}
	plain := image.NewNRGBA(stored.Bounds())
	for y := range h {
		for x := range w {
			c := stored.(*image.YCbCr).YCbCrAt(x, y)
			r, g, b := exactRGB(c)
			plain.SetNRGBA(x, y, color.NRGBA{r, g, b, 255})
		}
	}
	got, err := reduce(context.Background(), stored, assumedSRGB(), 1, 900, false)
	if err != nil {
		t.Fatal(err)
	}
	want, err := reduce(context.Background(), plain, assumedSRGB(), 1, 900, false)
	if err != nil {
		t.Fatal(err)
	}
	var sum, square float64
	for i := range got.Pix {
		d := float64(got.Pix[i] - want.Pix[i])
		sum += d
		square += d * d
	}
	n := float64(len(got.Pix))
	mean, sd := sum/n, math.Sqrt(square/n)
	// 10 of 255 steps of noise are about 0.03 in linear light here; between the
	// mean of four pixels and that of the sixteen they are taken from that is
	// 0.03·√(1/4 − 1/16).
	if math.Abs(mean) > 2e-4 || sd > 0.017 {
		t.Errorf("thinned reduction differs by %.5f on average and %.4f in standard deviation, want at most 0.0002 and 0.017", mean, sd)
	}
	if sd == 0 {
		t.Error("all pixels were read, want the large JPEG thinned")
	}
}

// exactRGB is the JPEG conversion (JFIF 1.02, from memory), rounded.
func exactRGB(c color.YCbCr) (r, g, b uint8) {
	y, cb, cr := float64(c.Y), float64(c.Cb)-128, float64(c.Cr)-128
	at := func(v float64) uint8 { return uint8(math.Round(min(max(v, 0), 255))) }
	return at(y + 1.402*cr), at(y - 0.344136*cb - 0.714136*cr), at(y + 1.772*cb)
}
