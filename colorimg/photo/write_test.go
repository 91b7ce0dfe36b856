package photo

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"testing"

	"hueward/colorimg/must"
)

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
