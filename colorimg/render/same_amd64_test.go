//go:build amd64 && !amd64.v3

package render_test

import (
	"flag"
	"fmt"
	"hash/fnv"
	"os"
	"strings"
	"testing"

	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/colorimg/render"
	"hueward/colorimg/render/scenes"
)

var update = flag.Bool("update", false, "rewrite testdata/same.txt")

// Scenes that use none of the later fields must keep every pixel: the demo and
// the measuring's tests stand on them. testdata/same.txt holds sums of their
// pictures, made before the first of those fields came. (On processors that
// fuse multiply and add, roundings differ; hence the build line.)
func TestOldScenesKeepTheirPixels(t *testing.T) {
	list := []render.Scene{
		{}, {Seed: 3, Card: render.CardSpec{None: true}, Ground: render.Leaves, Form: render.Spider},
		{Seed: 4, Shadow: 0.5, Gradient: 0.2, Vignette: 0.2, Blooms: 2, Ground: render.Soil, Form: render.Ball},
		{Seed: 5, Tip: &cie.Lab{L: 88, A: 1, B: 19}, Eye: &cie.Lab{L: 40, A: 30}, Form: render.Double,
			Card: render.CardSpec{Angle: 30, Tilt: 0.1, Border: render.DarkBorder}},
	}
	for i := range 20 {
		list = append(list, scenes.Varied(i, 1))
	}
	var got strings.Builder
	for i, s := range list {
		s.Width, s.Height = 320, 240
		im, truth := render.Draw(s)
		h := fnv.New64a()
		h.Write(im.Pix)
		h.Write(truth.Mask.Pix)
		fmt.Fprintf(h, "%.4f %.4f %.4f %.4f", truth.Petal, truth.Seen, truth.Card, truth.Edge)
		fmt.Fprintf(&got, "%d %016x\n", i, h.Sum64())
	}
	if *update {
		must.OK(t, os.WriteFile("testdata/same.txt", []byte(got.String()), 0o644))
	}
	want := must.Have(os.ReadFile("testdata/same.txt"))(t)
	w := strings.Split(string(want), "\n")
	for i, line := range strings.Split(got.String(), "\n") {
		if i >= len(w) || w[i] != line {
			t.Errorf("scene %d has other pixels: sum %q, want that of testdata/same.txt", i, line)
		}
	}
}
