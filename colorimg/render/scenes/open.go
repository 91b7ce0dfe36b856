package scenes

import (
	"bytes"
	"context"
	"image"
	"os"
	"path/filepath"
	"testing"

	"hueward/colorimg/must"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
)

// Shoot draws the scene and opens it as a phone's JPEG would be.
func Shoot(t testing.TB, s render.Scene) (*photo.Photo, render.Truth) {
	t.Helper()
	im, truth := render.Draw(s)
	return Open(t, im), truth
}

// Open is what [photo.Open] makes of the picture, written as a JPEG.
func Open(t testing.TB, im image.Image) *photo.Photo {
	t.Helper()
	var b bytes.Buffer
	must.OK(t, photo.WriteJPEG(&b, im, 92, photo.Info{Make: "Made-up", Model: "Phone 3"}))
	name := filepath.Join(t.TempDir(), "x.jpg")
	must.OK(t, os.WriteFile(name, b.Bytes(), 0o600))
	return must.Have(photo.Open(context.Background(), name, nil))(t)
}
