package photo

import (
	"bytes"
	"context"
	"image"
	"image/jpeg"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"hueward/colorimg/must"
)

// bench12MP makes a 4:2:0 JPEG of 4000 × 3000 pixels, a gradient with noise.
func bench12MP(b *testing.B) []byte {
	b.Helper()
	const w, h = 4000, 3000
	rnd := rand.New(rand.NewPCG(1, 2))
	im := image.NewYCbCr(image.Rect(0, 0, w, h), image.YCbCrSubsampleRatio420)
	for y := range h {
		for x := range w {
			im.Y[y*im.YStride+x] = uint8(40 + 150*x/w + 20*y/h + rnd.IntN(17))
		}
	}
	for i := range im.Cb {
		im.Cb[i] = uint8(90 + 40*i/len(im.Cb) + rnd.IntN(5))
		im.Cr[i] = uint8(170 - 40*i/len(im.Cr) + rnd.IntN(5))
	}
	var buf bytes.Buffer
	must.OK(b, jpeg.Encode(&buf, im, &jpeg.Options{Quality: 92}))
	return buf.Bytes()
}

// BenchmarkDecode12MP is the floor: image/jpeg alone.
func BenchmarkDecode12MP(b *testing.B) {
	data := bench12MP(b)
	for b.Loop() {
		must.Have(jpeg.Decode(bytes.NewReader(data)))(b)
	}
}

// BenchmarkOpen12MP is the whole of Open on the same picture.
func BenchmarkOpen12MP(b *testing.B) {
	name := filepath.Join(b.TempDir(), "bench.jpg")
	must.OK(b, os.WriteFile(name, bench12MP(b), 0o600))
	for b.Loop() {
		must.Have(Open(context.Background(), name, nil))(b)
	}
}

// BenchmarkReduce12MP is the reduction to the working picture alone.
func BenchmarkReduce12MP(b *testing.B) {
	im := must.Have(jpeg.Decode(bytes.NewReader(bench12MP(b))))(b)
	e := assumedSRGB()
	for b.Loop() {
		must.Have(reduce(context.Background(), im, e, 1, defaultWork, false))(b)
	}
}
