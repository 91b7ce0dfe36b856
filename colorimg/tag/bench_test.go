package tag

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"math/rand/v2"
	"testing"
	"time"

	"hueward/colorimg/photo"
)

// BenchmarkRead12MP: what a 12-megapixel photo without a tag costs, and as a
// share of decoding it with image/jpeg in the same run ("/decode").
func BenchmarkRead12MP(b *testing.B) {
	for _, kind := range grounds {
		b.Run(kind, func(b *testing.B) {
			gray := frame(kind, 1)
			// In colour, so that the decoder has the usual work.
			im := image.NewNRGBA(gray.Rect)
			rnd := rand.New(rand.NewPCG(1, 1))
			for y := range 3000 {
				for x := range 4000 {
					v := gray.GrayAt(x, y).Y
					im.SetNRGBA(x, y, color.NRGBA{R: v, G: v/2 + uint8(rnd.IntN(4)) + 60, B: v / 2, A: 255})
				}
			}
			var buf bytes.Buffer
			if err := jpeg.Encode(&buf, im, &jpeg.Options{Quality: 88}); err != nil {
				b.Fatal(err)
			}
			start := time.Now()
			const decodes = 3
			var y *image.YCbCr
			for range decodes {
				d, err := jpeg.Decode(bytes.NewReader(buf.Bytes()))
				if err != nil {
					b.Fatal(err)
				}
				y = d.(*image.YCbCr)
			}
			decode := time.Since(start) / decodes
			l := photo.Lightness{W: 4000, H: 3000, Pix: y.Y, DX: 1, DY: y.YStride}
			for b.Loop() {
				if tags := read(&l); tags != nil {
					b.Fatalf("read %+v", tags)
				}
			}
			b.ReportMetric(float64(b.Elapsed())/float64(b.N)/float64(decode), "/decode")
		})
	}
}

// BenchmarkReadTag: a photo with a tag in it.
func BenchmarkReadTag(b *testing.B) {
	im := frame("leaves", 1)
	p := pose{text: short, width: 200, light: 0.5, blur: 0.7, noise: 2, quality: 88, turn: 0.4, tilt: 0.4, cx: 1500, cy: 1200}
	p.hold(b, im)
	l := lightness(im)
	for b.Loop() {
		if tags := read(l); len(tags) != 1 || tags[0].Text != short {
			b.Fatalf("read %+v", tags)
		}
	}
}
