package render_test

import (
	"image"
	"math"
	"testing"

	"hueward/colorimg/cie"
	"hueward/colorimg/render"
)

// readQuad decodes the mean of the inner part of a patch with the sRGB formula
// (IEC 61966-2-1) alone.
func readQuad(im *image.NRGBA, q [4][2]float64) cie.RGB {
	var sum [3]float64
	const n = 12
	for i := range n {
		for k := range n {
			u, v := 0.25+0.5*float64(i)/(n-1), 0.25+0.5*float64(k)/(n-1)
			at := func(a int) int {
				return int(math.Round((1-v)*((1-u)*q[0][a]+u*q[1][a]) + v*((1-u)*q[3][a]+u*q[2][a])))
			}
			p := im.Pix[im.PixOffset(at(0), at(1)):]
			for j := range sum {
				sum[j] += cie.Linear(float64(p[j])/255) / (n * n)
			}
		}
	}
	return sum
}

// Each patch of a strip must decode to its reflectance under D65 at EV 0 (the
// definition of reflectance), whichever way it is turned, tilted and bordered.
func TestStripDecodesToItsReflectances(t *testing.T) {
	for _, c := range []render.CardSpec{
		{Strip: true}, {Strip: true, Angle: 140, Border: render.DarkBorder, Tilt: 0.1},
		{Strip: true, StripY: [3]float64{0.8, 0.25, 0.05}, Angle: -60, Border: render.LightBorder},
	} {
		im, truth := render.Draw(render.Scene{Width: 1000, Height: 750, Noise: -1, Card: c})
		want := [3]float64{0.90, 0.18, 0.035}
		if c.StripY[0] != 0 {
			want = c.StripY
		}
		for i, q := range truth.Strip {
			got := readQuad(im, q)
			for k, v := range got {
				if math.Abs(v-want[i]) > 0.004+0.004*want[i] {
					t.Errorf("angle %.0f, patch %d, channel %d = %.4f, want %.3f ± 0.004", c.Angle, i, k, v, want[i])
				}
			}
		}
		if truth.Card != truth.Strip[1] {
			t.Errorf("angle %.0f: Truth.Card %.1f is not the strip's grey %.1f", c.Angle, truth.Card, truth.Strip[1])
		}
	}
}

// Each patch of a chart must decode to the Lab given, in the order given, seen
// from any side; and a chart may lie there without a bloom.
func TestChartDecodesToItsColors(t *testing.T) {
	few := []cie.Lab{{L: 50, A: 40, B: 20}, {L: 70, A: -20, B: 40}, {L: 40, A: 10, B: -30}, {L: 80}, {L: 30}}
	for _, tt := range []struct {
		name  string
		chart render.ChartSpec
		card  render.CardSpec
		want  []cie.Lab
	}{
		{"usual", render.ChartSpec{}, render.CardSpec{}, render.ChartColors()},
		{"turned", render.ChartSpec{Turned: true}, render.CardSpec{Angle: 15, Border: render.LightBorder}, render.ChartColors()},
		{"tilted", render.ChartSpec{Gap: -1}, render.CardSpec{Angle: 75, Tilt: 0.15}, render.ChartColors()},
		{"2 × 3, one missing", render.ChartSpec{Rows: 2, Cols: 3, Gap: 0.5, Patches: few}, render.CardSpec{}, few},
	} {
		tt.card.Chart = &tt.chart
		im, truth := render.Draw(render.Scene{Width: 1000, Height: 750, Noise: -1, NoBloom: true, Card: tt.card})
		if len(truth.Patches) != len(tt.want) {
			t.Fatalf("%s: %d patches, want %d", tt.name, len(truth.Patches), len(tt.want))
		}
		for i, q := range truth.Patches {
			if got := cie.SRGB.XYZ(readQuad(im, q)).Lab(); cie.DeltaE2000(got, tt.want[i]) > 0.4 {
				t.Errorf("%s: patch %d = %.2f, want %.2f (Delta E at most 0.4)", tt.name, i, got, tt.want[i])
			}
		}
		if c, q := truth.Chart[0], truth.Patches[0]; math.Min(hypot(c, q[0]), hypot(c, q[2])) > 0.01 {
			t.Errorf("%s: first corner %.1f is not a corner of the first patch %.1f", tt.name, c, q)
		}
		if truth.Pixels != 0 || truth.Radius != 0 || truth.Petal != (cie.Lab{}) {
			t.Errorf("%s: no bloom, but %d petal pixels, radius %.1f", tt.name, truth.Pixels, truth.Radius)
		}
		if truth.Edge == ([4][2]float64{}) || truth.Card != ([4][2]float64{}) {
			t.Errorf("%s: edge %.1f, card %.1f, want corners and no grey patch", tt.name, truth.Edge, truth.Card)
		}
	}
}

// The colours that a chart has when none are given can be held by a file.
func TestChartColorsFitAFile(t *testing.T) {
	for i, lab := range render.ChartColors() {
		c := cie.SRGB.RGB(lab.XYZ())
		if min(c[0], c[1], c[2]) < 0.004 || max(c[0], c[1], c[2]) > 1 {
			t.Errorf("colour %d %v: linear sRGB %.3f, want within 0.004 to 1", i, lab, c)
		}
	}
}
