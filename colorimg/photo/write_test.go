package photo

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"testing"

	"hueward/colorimg/must"
)

// TestCoarse reads the steps of a JPEG. image/jpeg takes those of ITU-T T.81, tables K.1 and K.2, which begin with 16 and
// 17, halved at a quality of 75 and five times as large at 10.
func TestCoarse(t *testing.T) {
	for quality, want := range map[int]float64{50: 17. / 8, 75: 9. / 8, 10: 85. / 8} {
		var b bytes.Buffer
		must.OK(t, EncodeJPEG(&b, noise(16, 16, 3), quality))
		if got := jpegFacts(b.Bytes()).coarse; got != want {
			t.Errorf("at quality %d the steps are %v, want %v", quality, got, want)
		}
	}
	wide := append([]byte{0x10, 1, 44}, make([]byte, 126)...) // in 16 bits, then a table in 8 and a cut one
	if got := coarsest(append(append(wide, 0, 8), 9)); got != 300./8 {
		t.Errorf("a table in 16 bits: %v, want 37.5", got)
	}
}

// What EncodeJPEG writes of any picture is what image/jpeg writes of it, to the byte; a part of a picture and one that is
// seen through are among them.
func TestEncodeJPEG(t *testing.T) {
	whole := noise(37, 21, 3)
	thin := noise(37, 21, 4)
	thin.SetNRGBA(5, 5, color.NRGBA{R: 200, G: 100, B: 50, A: 90})
	for name, im := range map[string]image.Image{"whole": whole, "part": whole.SubImage(image.Rect(3, 2, 30, 19)), "seen through": thin,
		"gray": image.NewGray(image.Rect(0, 0, 9, 9))} {
		var got, want bytes.Buffer
		must.OK(t, EncodeJPEG(&got, im, 83))
		must.OK(t, jpeg.Encode(&want, im, &jpeg.Options{Quality: 83}))
		if !bytes.Equal(got.Bytes(), want.Bytes()) {
			t.Errorf("%s: %d bytes that differ from the %d of image/jpeg", name, got.Len(), want.Len())
		}
	}
}
