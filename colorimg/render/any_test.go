package render_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"hueward/colorimg/render"
)

// Whatever is asked for, drawing comes to an end with a picture of the size
// asked, numbers that are numbers, shares from 0 to 1, and a doubt or none.
func TestAnySceneIsDrawn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		wild := rapid.Float64Range(-1, 2)
		s := render.Scene{
			Width: rapid.IntRange(8, 90).Draw(t, "width"), Height: rapid.IntRange(8, 90).Draw(t, "height"),
			Form: render.Form(rapid.IntRange(-1, 8).Draw(t, "form")), Petals: rapid.IntRange(-1, 30).Draw(t, "petals"),
			Ground: render.Ground(rapid.IntRange(-1, 3).Draw(t, "ground")), Diameter: wild.Draw(t, "diameter"),
			At:      [2]float64{wild.Draw(t, "x"), wild.Draw(t, "y")},
			NoBloom: rapid.Bool().Draw(t, "no bloom"), Blooms: rapid.IntRange(0, 1).Draw(t, "blooms"),
			Bee: rapid.Bool().Draw(t, "bee"), Hand: rapid.Bool().Draw(t, "hand"), Dew: rapid.IntRange(-1, 30).Draw(t, "dew"),
			Browned: wild.Draw(t, "browned"), Faded: wild.Draw(t, "faded"), Seed: rapid.Int64().Draw(t, "seed"),
			Card: render.CardSpec{None: rapid.Bool().Draw(t, "no card"), Strip: rapid.Bool().Draw(t, "strip"),
				Angle: 400 * wild.Draw(t, "angle"),
				Tilt:  rapid.Float64Range(0, 0.15).Draw(t, "card tilt"), Border: render.Border(rapid.IntRange(0, 2).Draw(t, "border"))},
		}
		if rapid.Bool().Draw(t, "chart") {
			s.Card.Chart = &render.ChartSpec{Rows: rapid.IntRange(-1, 5).Draw(t, "rows"), Cols: rapid.IntRange(-1, 5).Draw(t, "cols"),
				Gap: wild.Draw(t, "gap"), Turned: true}
		}
		if rapid.Bool().Draw(t, "edge") {
			s.Edge = &render.EdgeShadow{Depth: wild.Draw(t, "depth"), At: [2]float64{wild.Draw(t, "ex"), 0.5},
				Angle: 300 * wild.Draw(t, "turn"),
				Soft:  wild.Draw(t, "soft"), Wavy: wild.Draw(t, "wavy"), Kelvin: rapid.SampledFrom([]float64{0, 9000}).Draw(t, "kelvin")}
		}
		if rapid.Bool().Draw(t, "phone") {
			s.Phone = &render.Phone{Contrast: rapid.Float64Range(0, 1).Draw(t, "contrast"),
				Saturation: rapid.Float64Range(0, 2).Draw(t, "saturation")}
		}
		if rapid.Bool().Draw(t, "tag") {
			s.Tag = &render.TagSpec{Modules: [][]bool{{true, false, true}, {true}, {}}, Width: wild.Draw(t, "tag width"),
				Angle: 200 * wild.Draw(t, "tag angle"), Tilt: 90 * wild.Draw(t, "tag tilt")}
		}
		im, truth := render.Draw(s)
		if im.Rect.Dx() != s.Width || im.Rect.Dy() != s.Height || truth.Mask.Rect != im.Rect {
			t.Fatalf("picture %v, mask %v, want %d × %d", im.Rect, truth.Mask.Rect, s.Width, s.Height)
		}
		for i := 3; i < len(im.Pix); i += 4 {
			if im.Pix[i] != 255 {
				t.Fatalf("pixel %d has opacity %d, want 255", i/4, im.Pix[i])
			}
		}
		for _, v := range []float64{truth.Browned, truth.Faded, truth.Shaded, truth.CardShaded, truth.Clipped} {
			if !(v >= 0 && v <= 1+1e-9) {
				t.Errorf("a share is %v, want 0 to 1: browned %v, faded %v, shaded %v, card %v, clipped %v", v, truth.Browned,
					truth.Faded, truth.Shaded, truth.CardShaded, truth.Clipped)
			}
		}
		for _, v := range []float64{truth.Petal.L, truth.Petal.A, truth.Petal.B, truth.Seen.L, truth.Seen.A, truth.Seen.B, truth.Radius,
			truth.Edge[0][0], truth.Chart[0][0], truth.Tag[0][0]} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Errorf("truth holds %v: %v %v %v", v, truth.Petal, truth.Seen, truth.Tag)
			}
		}
		if truth.Measurable != (truth.Doubt == "") {
			t.Errorf("Measurable %v with the doubt %q", truth.Measurable, truth.Doubt)
		}
	})
}
