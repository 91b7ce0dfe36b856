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

	"hueward/colorimg/cie"
	"hueward/colorimg/must"
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
	must.OK(t, jpeg.Encode(&b, im, &jpeg.Options{Quality: 95}))
	stored := must.Have(jpeg.Decode(&b))(t)
	plain := image.NewNRGBA(stored.Bounds())
	for y := range h {
		for x := range w {
			c := stored.(*image.YCbCr).YCbCrAt(x, y)
			r, g, b := exactRGB(c)
			plain.SetNRGBA(x, y, color.NRGBA{r, g, b, 255})
		}
	}
	got := must.Have(reduce(context.Background(), stored, assumedSRGB(), 1, 900, false))(t)
	want := must.Have(reduce(context.Background(), plain, assumedSRGB(), 1, 900, false))(t)
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

// TestReduceThinnedPlaces looks at every working pixel of a grey ramp, for even
// and odd sizes, turned and not: each holds the light of its own place, to
// within the one stored pixel that edges are moved by.
func TestReduceThinnedPlaces(t *testing.T) {
	for _, c := range []struct{ w, h, work, turn int }{
		{4000, 3000, defaultWork, 1}, {4000, 3000, defaultWork, 6}, {3265, 2451, defaultWork, 3},
		{3265, 2451, defaultWork, 8}, {2999, 2801, 900, 5}, {8001, 1001, 997, 2}, {4033, 2003, 1009, 7}, {4000, 2250, 40, 4},
	} {
		im := image.NewYCbCr(image.Rect(0, 0, c.w, c.h), image.YCbCrSubsampleRatio420)
		code := func(x, y float64) float64 { return 30 + 100*x/float64(c.w) + 90*y/float64(c.h) }
		for y := range c.h {
			for x := range c.w {
				im.Y[y*im.YStride+x] = uint8(math.Round(code(float64(x), float64(y))))
			}
		}
		for i := range im.Cb {
			im.Cb[i], im.Cr[i] = 128, 128
		}
		e, turn := assumedSRGB(), orientation(c.turn)
		got := must.Have(reduce(context.Background(), im, e, turn, c.work, false))(t)
		long := c.work
		if long == defaultWork {
			long = largeWork
		}
		if m := max(got.W, got.H); m > long || 10*m < 8*long {
			t.Errorf("%v: the longest side is %d, want at most %d and not much less", c, m, long)
		}
		sx, sy := got.ScaleX, got.ScaleY
		if turn.swaps() {
			sx, sy = sy, sx
		}
		// One code for the rounding, and the ramp over one and a half pixels each
		// way; the light of a working pixel as large as the ramp is not that of its
		// middle.
		tol := 1 + 1.5*(100/float64(c.w)+90/float64(c.h))
		if c.work < 100 {
			tol = 12
		}
		nx, ny := int(math.Round(float64(c.w)/sx)), int(math.Round(float64(c.h)/sy))
		for j := range ny {
			for i := range nx {
				want := code((float64(i)+0.5)*sx-0.5, (float64(j)+0.5)*sy-0.5)
				x, y := turn.at(i, j, nx, ny)
				v := float64(got.Pix[3*(y*got.W+x)+1])
				if g := 255 * cie.Encode(v); !(math.Abs(g-want) <= tol) {
					t.Fatalf("%v: working pixel %d, %d = %.2f, want %.2f ± %.2f", c, x, y, g, want, tol)
				}
			}
		}
	}
}
