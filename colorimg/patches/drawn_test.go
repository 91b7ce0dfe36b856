package patches_test

import (
	"math"
	"testing"

	"hueward/colorimg/card"
	"hueward/colorimg/cie"
	"hueward/colorimg/patches"
	"hueward/colorimg/render"
	"hueward/colorimg/render/scenes"
)

// Charts that the render package draws, beside a bloom and in a phone's JPEG: an
// account of where a chart lies that does not share this package's geometry.
func TestFindDrawn(t *testing.T) {
	s := &patches.Set{Rows: 4, Cols: 6, Gap: 0.12}
	for i, l := range render.ChartColors() {
		s.Patches = append(s.Patches, patches.Patch{ID: string(rune('A'+i/6)) + string(rune('1'+i%6)), Row: i / 6, Col: i % 6,
			Ref: l.XYZ(), Neutral: math.Hypot(l.A, l.B) < 5})
	}
	t.Parallel()
	for i := range scenes.Count(3, 8) {
		scene := render.Scene{Width: 1200, Height: 900, Seed: int64(i), NoBloom: i%2 == 0, Diameter: 0.3, At: [2]float64{0.82, 0.3},
			Ground: render.Grounds[i%len(render.Grounds)],
			Kelvin: 4500 + 700*float64(i), EV: -0.5, Phone: &render.UsualPhone,
			Card: render.CardSpec{Chart: &render.ChartSpec{Turned: i%3 == 1}, Width: 0.42, Angle: 47 * float64(i),
				Tilt: 0.02 * float64(i%5), At: &[2]float64{0.36, 0.55}}}
		p, truth := scenes.Shoot(t, scene)
		q, score, ok := s.Find(p.Image)
		if !ok {
			t.Errorf("scene %d, %v: no set found, score %.3f", i, scene.Ground, score)
			continue
		}
		patch := math.Sqrt(q.Area() / 24)
		for k, want := range card.Quad(truth.Chart) {
			x, y := (want[0]+0.5)/p.Image.ScaleX-0.5, (want[1]+0.5)/p.Image.ScaleY-0.5
			if d := math.Hypot(q[k][0]-x, q[k][1]-y); d > patch/5 {
				t.Errorf("scene %d: corner %d is off by %.1f pixels, want %.1f at most", i, k, d, patch/5)
			}
		}
		samples, err := s.Read(p.Image, q)
		if err != nil {
			t.Errorf("scene %d: %v", i, err)
			continue
		}
		// What the phone makes of each patch, through no geometry at all.
		g := truth.Gains
		ev := math.Exp2(scene.EV)
		for k, m := range samples {
			if m.Clipped > 0 {
				continue
			}
			c := cie.SRGB.RGB(s.Patches[k].Ref)
			w := scene.Phone.Apply(cie.RGB{c[0] * g[0] * ev, c[1] * g[1] * ev, c[2] * g[2] * ev})
			for j, want := range w {
				if math.Abs(m.RGB[j]-want) > 0.006+0.03*want {
					t.Errorf("scene %d, patch %s: channel %d reads %.4f, want %.4f ± %.4f", i, m.ID, j, m.RGB[j], want, 0.006+0.03*want)
				}
			}
		}
	}
}
