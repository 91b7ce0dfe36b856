package photo

import (
	"bytes"
	"image"
	"os"
	"path/filepath"
	"testing"
	"time"

	"hueward/colorimg/must"
)

func TestTaken(t *testing.T) {
	dir := t.TempDir()
	want := time.Date(2026, 7, 4, 9, 30, 0, 0, time.UTC)
	var b bytes.Buffer
	must.OK(t, WriteJPEG(&b, image.NewNRGBA(image.Rect(0, 0, 40, 30)), 90, Info{Taken: want}))
	good := filepath.Join(dir, "a.jpg")
	for name, data := range map[string][]byte{"a.jpg": b.Bytes(), "cut.jpg": b.Bytes()[:60], "text.jpg": []byte("no photo"),
		"empty.jpg": nil} {
		must.OK(t, os.WriteFile(filepath.Join(dir, name), data, 0o666))
	}
	if got := Taken(good); !got.Equal(want) {
		t.Errorf("Taken = %v, want %v", got, want)
	}
	for _, name := range []string{"cut.jpg", "text.jpg", "empty.jpg", "nosuch.jpg", "."} {
		if got := Taken(filepath.Join(dir, name)); !got.IsZero() {
			t.Errorf("Taken(%s) = %v, want zero", name, got)
		}
	}
}
