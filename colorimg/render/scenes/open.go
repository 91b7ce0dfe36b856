package scenes

import (
	"bytes"
	"context"
	"image"
	"os"
	"path/filepath"
	"testing"

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
	err := photo.WriteJPEG(&b, im, 92, photo.Info{Make: "Made-up", Model: "Phone 3"})
	if err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "x.jpg")
	if err := os.WriteFile(name, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	p, err := photo.Open(context.Background(), name, nil)
	if err != nil {
		t.Fatal(err)
	}
	return p
}
