package tag

import (
	"bytes"
	"image"
	"image/jpeg"
	"testing"
	"time"

	"hueward/colorimg/must"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
)

// BenchmarkRead12MP: what a 12-megapixel photo without a tag costs, and as a
// share of decoding it with image/jpeg in the same run ("/decode").
func BenchmarkRead12MP(b *testing.B) {
	for _, ground := range []render.Ground{render.Board, render.Leaves, render.Soil} {
		b.Run(ground.String(), func(b *testing.B) {
			im, _ := render.Draw(render.Scene{Width: 4000, Height: 3000, Form: render.SemiDouble, Ground: ground, Seed: 3})
			var buf bytes.Buffer
			must.OK(b, jpeg.Encode(&buf, im, &jpeg.Options{Quality: 88}))
			start := time.Now()
			const decodes = 3
			var y *image.YCbCr
			for range decodes {
				d := must.Have(jpeg.Decode(bytes.NewReader(buf.Bytes())))(b)
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
