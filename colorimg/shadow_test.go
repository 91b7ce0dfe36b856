package colorimg_test

import (
	"testing"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
)

// TestDeepShadow: petals in a shadow that leaves a tenth of the light are counted
// as in deep shadow and not read; where a third is left they are read.
func TestDeepShadow(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		light     float64 // left in the shadow
		low, high float64 // share of the bloom in deep shadow
	}{{0.1, 0.08, 0.5}, {0.33, 0, 0.05}} {
		s := usual(6)
		s.Petal = cie.Lab{L: 76, A: 18, B: 42}
		s.Edge = &render.EdgeShadow{Depth: 1 - c.light, At: [2]float64{0.27, 0.5}, Angle: 180}
		im, _ := render.Draw(s)
		w, h := float64(im.Rect.Dx()), float64(im.Rect.Dy())
		// Whoever sees the petals in the dark paints them in.
		shaded := []colorimg.Stroke{{In: true, Radius: 0.04 * w, Points: []colorimg.Point{{0.21 * w, 0.4 * h}, {0.21 * w, 0.62 * h}}}}
		r := measured(t, write(t, "x.jpg", jpegOf(t, im, photo.Info{})), &colorimg.Options{KeepReasons: true, Strokes: shaded})
		shadow, bloom := 0.0, 0.0
		for _, p := range r.Reasons.Pix {
			if p != colorimg.Ground {
				bloom++
			}
			if p == colorimg.Shadow {
				shadow++
			}
		}
		share := shadow / bloom
		t.Logf("%.2f of the light left: %.3f of the bloom in deep shadow, Lab %.1f, flags %v", c.light, share, r.Lab.Lab(), r.Flags)
		if !(share >= c.low && share <= c.high) {
			t.Errorf("%.2f of the light left: %.3f of the bloom in deep shadow, want %.2f to %.2f", c.light, share, c.low, c.high)
		}
	}
}

// TestDeepShadowClipped: of a bloom that lies in deep shadow by half, the lit half alone says how much is too bright. Here
// that is nearly all of it, a bloom that would be refused without the shadow; the dark half must not make the reading surer.
func TestDeepShadowClipped(t *testing.T) {
	t.Parallel()
	s := small(6)
	s.Petal, s.EV = cie.Lab{L: 76, A: 18, B: 42}, 0.2
	s.Edge = &render.EdgeShadow{Depth: 0.91, At: [2]float64{0.33, 0.5}, Angle: 180}
	im, _ := render.Draw(s)
	w, h := float64(im.Rect.Dx()), float64(im.Rect.Dy())
	shaded := []colorimg.Stroke{{In: true, Radius: 0.04 * w, Points: []colorimg.Point{{0.24 * w, 0.36 * h}, {0.24 * w, 0.64 * h}}}}
	r := measured(t, write(t, "x.jpg", jpegOf(t, im, photo.Info{})), &colorimg.Options{Strokes: shaded})
	if r.Status != colorimg.Check || r.SE.Precision < 7 {
		t.Errorf("status %s, precision %.1f; want check, and 7 or more", r.Status, r.SE.Precision)
	}
}
