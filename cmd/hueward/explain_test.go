package main

import (
	"encoding/json"
	"fmt"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"testing"

	"hueward/colorimg/cie"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
)

// TestExplain measures a made-up photo and one without a card, and looks into
// the pictures that explain them: the first shows the reading's own colour,
// and the petals' line where the photo, turned upright, has its bloom.
func TestExplain(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	shot := render.Scene{Width: 1000, Height: 750, Petal: cie.Lab{L: 76, A: 15, B: 39}, EV: -0.5, Seed: 1}
	need(drawFile(filepath.Join(dir, "M-01_1.jpg"), shot, photo.Info{Orientation: 6}))(t)
	shot.Card.None = true
	need(drawFile(filepath.Join(dir, "IMG_0007.jpg"), shot, photo.Info{}))(t)
	why := filepath.Join(dir, "why")
	out, _ := hueward(t, statusRefused, "measure", "--no-book", "--json", "--explain", why, filepath.Join(dir, "M-01_1.jpg"),
		filepath.Join(dir, "IMG_0007.jpg"))
	var list []struct {
		Hex   string
		Petal struct{ Outline [][][2]float64 }
	}
	if err := json.Unmarshal([]byte(out), &list); err != nil || len(list) != 2 {
		t.Fatalf("%v: %s", err, out)
	}
	for i, name := range []string{"M-01_1.jpg.explain.png", "IMG_0007.jpg.explain.png"} {
		f := need(os.Open(filepath.Join(why, name)))(t)
		im, err := png.Decode(f)
		f.Close()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if b := im.Bounds(); b.Dx() != 1600 || b.Dy() < 1100 {
			t.Errorf("%s: %v, want 1600 × 1100 or higher", name, b)
		}
		at := func(x, y int) color.NRGBA { return color.NRGBAModel.Convert(im.At(x, y)).(color.NRGBA) }
		if i == 1 {
			continue
		}
		c := at(1400, 200)
		if hex := fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B); hex != list[i].Hex {
			t.Errorf("%s: the large swatch is %s, want the reading's %s", name, hex, list[i].Hex)
		}
		// 750 × 1000, upright, is shown 465 high: 349 wide, in the middle of 620
		// from 40, 148 down. Every tenth point of the outline has light ink near.
		if len(list[i].Petal.Outline) == 0 {
			t.Fatalf("%s: no outline", name)
		}
		missed, tried := 0, 0
		for k, p := range list[i].Petal.Outline[0] {
			if k%10 != 0 {
				continue
			}
			x, y := 175+int((p[0]+0.5)*0.465), 148+int((p[1]+0.5)*0.465)
			light := false
			for dy := -2; dy <= 2; dy++ {
				for dx := -2; dx <= 2; dx++ {
					c := at(x+dx, y+dy)
					light = light || min(c.R, c.G, c.B) > 235
				}
			}
			tried++
			if !light {
				missed++
			}
		}
		if tried < 5 || missed > tried/10 {
			t.Errorf("%s: the line misses %d of %d points of the outline", name, missed, tried)
		}
	}
}
