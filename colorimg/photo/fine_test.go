package photo_test

import (
	"bytes"
	"context"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/colorimg/photo"
)

// TestFiner: the mean of an even grey area with some grain, whose colour is known as it is
// drawn here, is told by Finer to little more than half of the error that the whole steps of a JPEG leave;
// the rest is that of the steps in the file.
func TestFiner(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	dir := t.TempDir()
	var before, after float64
	const n = 12
	for k := range n {
		want := [3]float64{105 + 12*rng.Float64(), 105 + 12*rng.Float64(), 105 + 12*rng.Float64()}
		im := image.NewNRGBA(image.Rect(0, 0, 96, 80))
		var mean [3]float64
		for i := range 96 * 80 {
			grain := 3 * rng.NormFloat64()
			var c [3]uint8
			for j := range c {
				c[j] = uint8(want[j] + grain + rng.NormFloat64() + 0.5)
				mean[j] += cie.Linear(float64(c[j])/255) / (96 * 80)
			}
			im.SetNRGBA(i%96, i/96, color.NRGBA{c[0], c[1], c[2], 255})
		}
		var b bytes.Buffer
		must.OK(t, jpeg.Encode(&b, im, &jpeg.Options{Quality: 92}))
		name := filepath.Join(dir, "x.jpg")
		must.OK(t, os.WriteFile(name, b.Bytes(), 0o600))
		p := must.Have(photo.Open(context.Background(), name, nil))(t)
		f, ok := p.Finer(func(at func(x, y int)) {
			for i := range p.Image.W * p.Image.H {
				at(i%p.Image.W, i/p.Image.W)
			}
		})
		if !ok {
			t.Fatalf("photo %d: nothing finer is known", k)
		}
		for j := range 3 {
			got := 0.0
			for i := j; i < len(p.Image.Pix); i += 3 {
				got += float64(p.Image.Pix[i]) / float64(len(p.Image.Pix)/3)
			}
			before += math.Pow(got/mean[j]-1, 2) / (3 * n)
			after += math.Pow(got*f[j]/mean[j]-1, 2) / (3 * n)
		}
	}
	before, after = math.Sqrt(before), math.Sqrt(after)
	t.Logf("root mean square error of a channel %.4f, finer %.4f", before, after)
	if !(after < 0.65*before) {
		t.Errorf("root mean square error of a channel %.4f, want less than 0.65 of %.4f", after, before)
	}
}
