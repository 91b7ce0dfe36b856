package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"hueward/colorimg/photo"
	"hueward/colorimg/render"
)

// TestMeasureGrowing measures a folder into which photos are still being copied: those
// are set aside, and measured when they are whole; one that stays half is refused.
func TestMeasureGrowing(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	photos, book := filepath.Join(dir, "photos"), filepath.Join(dir, "book")
	var whole []byte
	for i, name := range []string{"M-01_1.jpg", "M-02_1.jpg", "M-03_1.jpg"} {
		file := filepath.Join(photos, name)
		need(drawFile(file, render.Scene{Width: 480, Height: 360, EV: -0.5, Seed: int64(i)}, photo.Info{}))(t)
		if i == 1 {
			continue
		}
		b, err := os.ReadFile(file)
		if err == nil {
			err = os.WriteFile(file, b[:len(b)/2], 0o666)
		}
		must(t, err)
		if i == 0 {
			whole = b
		}
	}
	hueward(t, statusDone, "new", book, "--line", "buff", "--season", "2026")
	copied := make(chan error)
	go func() {
		f, err := os.OpenFile(filepath.Join(photos, "M-01_1.jpg"), os.O_WRONLY|os.O_APPEND, 0)
		for rest := whole[len(whole)/2:]; err == nil && len(rest) > 0; {
			n := min(len(rest), len(whole)/16)
			time.Sleep(150 * time.Millisecond)
			_, err = f.Write(rest[:n])
			rest = rest[n:]
		}
		f.Close()
		copied <- err
	}()
	_, stderr := hueward(t, statusRefused, "measure", photos, "--book", book)
	must(t, <-copied)
	if strings.Count(stderr, "\n") != 1 || !strings.Contains(stderr, "M-03_1.jpg: the file is damaged") {
		t.Errorf("stderr = %q, want one line on M-03_1.jpg", stderr)
	}
	list, _ := hueward(t, statusDone, "plants", "--csv", "--book", book)
	if !strings.Contains(list, "M-01,") || !strings.Contains(list, "M-02,") || strings.Contains(list, "M-03,") {
		t.Errorf("kept:\n%s", list)
	}
}
