package photo

import (
	"context"
	"fmt"
	"image"
	"image/color"
	"image/color/palette"
	"image/draw"
	"math/rand/v2"
	"testing"

	"hueward/colorimg/cie"
	"hueward/colorimg/must"
)

// subsampled is a YCbCr picture of random planes, outside the range of RGB too.
func subsampled(w, h int, ratio image.YCbCrSubsampleRatio) *image.YCbCr {
	rnd := rand.New(rand.NewPCG(uint64(ratio), 3))
	im := image.NewYCbCr(image.Rect(0, 0, w, h), ratio)
	for _, p := range [][]uint8{im.Y, im.Cb, im.Cr} {
		for i := range p {
			p[i] = uint8(rnd.IntN(256))
		}
	}
	return im
}

// pictures are one of each kind that a decoder may return, and others.
func pictures() map[string]image.Image {
	const w, h = 31, 23 // odd and prime: no bin is like the next
	src := noise(w, h, 1)
	m := map[string]image.Image{
		"NRGBA":                 src,
		"RGBA":                  image.NewRGBA(src.Rect),
		"Gray":                  image.NewGray(src.Rect),
		"Gray16":                image.NewGray16(src.Rect),
		"NRGBA64":               image.NewNRGBA64(src.Rect),
		"RGBA64":                image.NewRGBA64(src.Rect),
		"Paletted":              image.NewPaletted(src.Rect, palette.WebSafe),
		"NRGBA in a larger one": noise(w+9, h+8, 2).SubImage(image.Rect(5, 3, 5+w, 3+h)),
		"any other":             struct{ image.Image }{src},
	}
	for k, im := range m {
		if d, ok := im.(draw.Image); ok && k != "NRGBA in a larger one" && k != "NRGBA" {
			draw.Draw(d, src.Rect, src, image.Point{}, draw.Src)
		}
	}
	veil := noise(w, h, 4)
	for i := 3; i < len(veil.Pix); i += 4 {
		veil.Pix[i] = uint8(i * 7)
	}
	m["NRGBA with alpha"] = veil
	thin := image.NewNRGBA64(src.Rect)
	for i := range thin.Pix {
		thin.Pix[i] = uint8(i * 31 % 251)
	}
	m["NRGBA64 with alpha"] = thin
	for _, r := range []image.YCbCrSubsampleRatio{
		image.YCbCrSubsampleRatio444, image.YCbCrSubsampleRatio422, image.YCbCrSubsampleRatio420,
		image.YCbCrSubsampleRatio440, image.YCbCrSubsampleRatio411, image.YCbCrSubsampleRatio410,
	} {
		m[r.String()] = subsampled(w, h, r)
		m[r.String()+" in a larger one"] = subsampled(w+9, h+9, r).SubImage(image.Rect(5, 3, 5+w, 3+h))
	}
	return m
}

// TestReduceSlow compares every way to read pixels with the definition, for
// all orientations and sizes. The tolerance is the step of the fixed-point
// tables, once for each of the two roundings.
func TestReduceSlow(t *testing.T) {
	ctx := context.Background()
	e := assumedSRGB()
	for name, im := range pictures() {
		for orient := 1; orient <= 8; orient++ {
			for _, work := range []int{1, 7, 17, 23, 30, 31, 100} {
				got := must.Have(reduce(ctx, im, e, orientation(orient), work, false))(t)
				want := slow(im, cie.Linear, orient, work)
				at := fmt.Sprintf("%s, orientation %d, work %d", name, orient, work)
				if d := furthest(t, got, want); d > 3e-7 {
					t.Errorf("reduce(%s) is off by %.3g, want at most 3e-7", at, d)
				}
				for i := range got.Clipped {
					if d := int(got.Clipped[i]) - int(want.Clipped[i]); d < -1 || d > 1 {
						t.Fatalf("reduce(%s): Clipped[%d] = %d, want %d", at, i, got.Clipped[i], want.Clipped[i])
					}
				}
			}
		}
	}
}

// TestReduceScale checks the geometry that is promised on Linear: a lone
// bright pixel is found around the place that its working pixel names.
func TestReduceScale(t *testing.T) {
	const w, h = 1000, 371
	for _, at := range []image.Point{{0, 0}, {999, 370}, {500, 185}, {333, 77}} {
		im := image.NewGray(image.Rect(0, 0, w, h))
		im.SetGray(at.X, at.Y, color.Gray{Y: 255})
		l := must.Have(reduce(context.Background(), im, assumedSRGB(), 1, 128, false))(t)
		best := 0
		for i := range l.W * l.H {
			if l.Pix[3*i] > l.Pix[3*best] {
				best = i
			}
		}
		x := (float64(best%l.W)+0.5)*l.ScaleX - 0.5
		y := (float64(best/l.W)+0.5)*l.ScaleY - 0.5
		if dx, dy := x-float64(at.X), y-float64(at.Y); dx*dx > (l.ScaleX/2+0.5)*(l.ScaleX/2+0.5) ||
			dy*dy > (l.ScaleY/2+0.5)*(l.ScaleY/2+0.5) {
			t.Errorf("pixel %v lies in the working pixel around %.1f, %.1f (scale %.2f, %.2f)", at, x, y, l.ScaleX, l.ScaleY)
		}
	}
}

// TestReduceMeanInLinearLight: a fine checkerboard of black and white is half
// the light of white, not the light of the middle code.
func TestReduceMeanInLinearLight(t *testing.T) {
	im := image.NewGray(image.Rect(0, 0, 64, 64))
	for i := range im.Pix {
		if (i%64+i/64)%2 == 0 {
			im.Pix[i] = 255
		}
	}
	l := must.Have(reduce(context.Background(), im, assumedSRGB(), 1, 8, false))(t)
	for i, v := range l.Pix {
		if d := v - 0.5; d < -1e-6 || d > 1e-6 {
			t.Fatalf("Pix[%d] = %v, want 0.5 ± 1e-6", i, v)
		}
	}
	for i, v := range l.Clipped {
		if v != 128 {
			t.Fatalf("Clipped[%d] = %d, want 128", i, v)
		}
	}
}

// TestReduceEnds: an ended context ends the work.
func TestReduceEnds(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := reduce(ctx, noise(50, 50, 1), assumedSRGB(), 1, 10, false); err != context.Canceled {
		t.Errorf("reduce with an ended context: %v, want %v", err, context.Canceled)
	}
}
