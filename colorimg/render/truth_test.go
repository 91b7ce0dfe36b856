package render_test

import (
	"bytes"
	"image/jpeg"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/colorimg/render"
	"hueward/colorimg/render/scenes"
)

// small is a scene quick enough to draw many times.
func small(s render.Scene) render.Scene {
	s.Width, s.Height = 480, 360
	return s
}

func TestDrawIsTheSameEveryTime(t *testing.T) {
	s := small(render.Scene{Form: render.Double, Ground: render.Soil, Blooms: 1, Seed: 7})
	a, ta := render.Draw(s)
	b, tb := render.Draw(s)
	if !bytes.Equal(a.Pix, b.Pix) {
		t.Error("Draw twice with one seed: pixels differ")
	}
	if d := cmp.Diff(ta, tb); d != "" {
		t.Errorf("Draw twice with one seed: truth differs (-first +second):\n%s", d)
	}
	s.Seed = 8
	if c, _ := render.Draw(s); bytes.Equal(a.Pix, c.Pix) {
		t.Error("Draw with another seed: same pixels")
	}
}

// The painted surfaces must have the colour that was asked for, and shading
// must not move the middle colour by more than 1.5 (the project's own bounds:
// a fifth and less of what measuring is allowed to be off).
func TestPetalsHaveTheAskedColor(t *testing.T) {
	t.Parallel()
	for _, form := range render.AllForms {
		for i, sh := range render.Shades {
			if i%2 == int(form)%2 && !scenes.Full() {
				continue
			}
			s := render.Scene{Width: 320, Height: 240, Noise: -1, Blur: -1, Petal: sh.Lab, Form: form, Ground: render.Grounds[i%6],
				Seed: int64(i)}
			_, got := render.Draw(s)
			if d := cie.DeltaE2000(got.Petal, sh.Lab); d > 0.7 {
				t.Errorf("%v, %s: Petal = %.2f, want %.2f: Delta E %.2f, want at most 0.7", form, sh.Name, got.Petal, sh.Lab, d)
			}
			if d := cie.DeltaE2000(got.Seen, got.Petal); d > 0.7 {
				t.Errorf("%v, %s: Seen = %.2f, Petal = %.2f: Delta E %.2f, want at most 0.7", form, sh.Name, got.Seen, got.Petal, d)
			}
			share := float64(got.Pixels) / (math.Pi * got.Radius * got.Radius)
			if later := form == render.Cactus || form == render.Button; later && (share < 0.4 || share > 1) {
				t.Errorf("%v, %s: petals fill %.2f of the bloom's circle, want 0.4 to 1", form, sh.Name, share)
			}
		}
	}
}

// Reads petal pixels back from the encoded picture, where the light is D65 and
// nothing clips, with nothing but the sRGB formula (IEC 61966-2-1).
func TestPictureHoldsTheSeenColor(t *testing.T) {
	t.Parallel()
	for _, lab := range []cie.Lab{{L: 76, A: 18, B: 42}, {L: 67, A: 20, B: -20}, {L: 46, A: 52, B: 31}} {
		s := render.Scene{Width: 800, Height: 600, Petal: lab, Form: render.SemiDouble, Noise: -1, EV: -0.3}
		im, truth := render.Draw(s)
		var l, a, b []float64
		gain := math.Exp2(0.3)
		for i, m := range truth.Mask.Pix {
			if m == 0 {
				continue
			}
			p := im.Pix[4*i:]
			c := cie.SRGB.XYZ(cie.RGB{gain * cie.Linear(float64(p[0])/255), gain * cie.Linear(float64(p[1])/255),
				gain * cie.Linear(float64(p[2])/255)}).Lab()
			l, a, b = append(l, c.L), append(a, c.A), append(b, c.B)
		}
		got := cie.Lab{L: median(l), A: median(a), B: median(b)}
		if d := cie.DeltaE2000(got, truth.Seen); d > 0.35 {
			t.Errorf("petals of %v read back = %.2f, want Seen %.2f ± 0.35 (off by %.2f)", lab, got, truth.Seen, d)
		}
	}
}

// A grey card of 18 % reflectance under D65 at EV 0 must decode to Y = 0.18
// (the definition of the photographic grey card), through JPEG as well.
func TestCardDecodesToItsReflectance(t *testing.T) {
	for _, tt := range []struct {
		border render.Border
		y      float64
	}{{render.NoBorder, 0.18}, {render.DarkBorder, 0.18}, {render.LightBorder, 0.10}} {
		s := render.Scene{Width: 800, Height: 600, Card: render.CardSpec{Angle: 25, Border: tt.border, Y: tt.y}}
		var buf bytes.Buffer
		truth := must.Have(s.JPEG(&buf, 92))(t)
		im := must.Have(jpeg.Decode(&buf))(t)
		var mid [2]float64
		for _, p := range truth.Card {
			mid[0] += p[0] / 4
			mid[1] += p[1] / 4
		}
		var sum [3]float64
		n := 0.0
		for y := int(mid[1]) - 15; y <= int(mid[1])+15; y++ {
			for x := int(mid[0]) - 15; x <= int(mid[0])+15; x++ {
				r, g, b, _ := im.At(x, y).RGBA()
				for i, v := range []uint32{r, g, b} {
					sum[i] += cie.Linear(float64(v) / 0xffff)
				}
				n++
			}
		}
		for i, v := range sum {
			if math.Abs(v/n-tt.y) > 0.003 {
				t.Errorf("card %v, channel %d = %.4f, want %.2f ± 0.003", tt.border, i, v/n, tt.y)
			}
		}
	}
}

func TestMaskCountsItsPixels(t *testing.T) {
	s := small(render.Scene{Form: render.Single, Blooms: 2, Ground: render.Leaves, Diameter: 0.4, Seed: 3})
	_, truth := render.Draw(s)
	n, far := 0, 0.0
	for i, v := range truth.Mask.Pix {
		if v == 255 {
			n++
			far = max(far, math.Hypot(float64(i%480)-truth.Bloom[0], float64(i/480)-truth.Bloom[1]))
		} else if v != 0 {
			t.Fatalf("mask holds %d, want 0 or 255", v)
		}
	}
	if n != truth.Pixels || n == 0 {
		t.Errorf("mask has %d pixels, Truth.Pixels = %d", n, truth.Pixels)
	}
	// Only the main bloom counts, and it fills a fair part of its circle.
	if far > truth.Radius+2 {
		t.Errorf("mask reaches %.1f from the bloom's middle, want at most the radius %.1f", far, truth.Radius)
	}
	if share := float64(n) / (math.Pi * truth.Radius * truth.Radius); share < 0.5 || share > 1 {
		t.Errorf("petals fill %.2f of the bloom's circle, want 0.5 to 1", share)
	}
}

// Petals that leave the range of the file must be reported.
func TestClippedIsTold(t *testing.T) {
	white := cie.Lab{L: 95, A: 0, B: 2}
	_, dim := render.Draw(small(render.Scene{Petal: white, EV: -1}))
	_, bright := render.Draw(small(render.Scene{Petal: white, EV: 1}))
	if dim.Clipped != 0 || bright.Clipped < 0.95 {
		t.Errorf("white petals clipped: %.3f at EV -1, %.3f at EV +1, want 0 and at least 0.95", dim.Clipped, bright.Clipped)
	}
}

// Whatever is asked, the card lies in the frame and clear of the bloom.
func TestCardIsClearOfTheBloom(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := render.Scene{
			Width: 200, Height: 150, Noise: -1, Blur: -1,
			Form:     rapid.SampledFrom(render.Forms).Draw(t, "form"),
			Diameter: rapid.Float64Range(0.25, 0.9).Draw(t, "diameter"),
			Blooms:   rapid.IntRange(0, 2).Draw(t, "blooms"),
			Seed:     rapid.Int64().Draw(t, "seed"),
			Card: render.CardSpec{
				Width:  rapid.Float64Range(0.04, 0.30).Draw(t, "width"),
				Aspect: rapid.Float64Range(0.5, 1).Draw(t, "aspect"),
				Angle:  rapid.Float64Range(-400, 400).Draw(t, "angle"),
				Tilt:   rapid.Float64Range(0, 0.15).Draw(t, "tilt"),
				Border: render.Border(rapid.IntRange(0, 2).Draw(t, "border")),
			},
		}
		_, truth := render.Draw(s)
		checkCard(t, 200, 150, truth)
	})
}

type failer interface {
	Helper()
	Errorf(string, ...any)
}

// checkCard fails when the card leaves the frame or touches the bloom.
func checkCard(t failer, w, h float64, truth render.Truth) {
	t.Helper()
	area := 0.0
	for i, p := range truth.Edge {
		if p[0] < 0 || p[1] < 0 || p[0] > w-1 || p[1] > h-1 {
			t.Errorf("card corner %.1f outside the frame", p)
		}
		q := truth.Edge[(i+1)%4]
		area += (p[0]*q[1] - q[0]*p[1]) / 2
		for k := range 101 { // along the edge
			u := float64(k) / 100
			d := math.Hypot(p[0]+u*(q[0]-p[0])-truth.Bloom[0], p[1]+u*(q[1]-p[1])-truth.Bloom[1])
			if d < truth.Radius {
				t.Errorf("card edge %.1f from the bloom's middle, want more than its radius %.1f", d, truth.Radius)
				break
			}
		}
	}
	if area < 20 { // clockwise on a screen is positive
		t.Errorf("card area = %.1f, want at least 20 pixels, corners clockwise", area)
	}
}
