package main

import (
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"testing"
)

// TestMask reads a drawn mask: a bloom of 30 × 20 with a strip beside it that is not known, one of 20 × 20 and a speck.
func TestMask(t *testing.T) {
	im := image.NewPaletted(image.Rect(0, 0, 100, 60), color.Palette{color.Black, color.White, color.Gray{80}, color.Gray{120}})
	box := func(x0, y0, x1, y1 int, v uint8) {
		for y := y0; y < y1; y++ {
			for x := x0; x < x1; x++ {
				im.SetColorIndex(x, y, v)
			}
		}
	}
	box(0, 0, 100, 60, 3)
	box(10, 10, 40, 30, flower)
	box(40, 10, 45, 30, unknown)
	box(60, 20, 80, 40, flower)
	box(90, 50, 95, 55, flower)
	name := filepath.Join(t.TempDir(), "mask.png")
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	if err := png.Encode(f, im); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	m, err := readMask(name, true)
	if err != nil {
		t.Fatal(err)
	}
	if m.parts != 2 {
		t.Fatalf("%d blooms, want 2", m.parts)
	}
	if at := m.widest(1); at[0] < 18 || at[0] > 31 || at[1] < 18 || at[1] > 21 {
		t.Errorf("the first is widest at %v, want 9 pixels from its edges", at)
	}
	// Half of the first, all that is not known, and the same area of ground.
	head := make([]uint8, 100*60)
	for y := 10; y < 30; y++ {
		for x := 25; x < 60; x++ {
			head[y*100+x] = 255
		}
	}
	if got, want := m.overlap(head, 1), 15.0/45; got != want {
		t.Errorf("overlap %.3f, want %.3f", got, want)
	}
	if m, err = readMask(name, false); err != nil || m.parts != 1 {
		t.Errorf("taken as one: %d blooms, %v", m.parts, err)
	}
}
