package render_test

import (
	"bytes"
	"math"
	"testing"

	"hueward/colorimg/cie"
	"hueward/colorimg/render"
	"hueward/colorimg/render/scenes"
)

// However withered a bloom is, Petal stays the fresh colour that was asked
// for, and the shares grow with what was asked.
func TestWitheredBloomsKeepTheirFreshColor(t *testing.T) {
	t.Parallel()
	want := cie.Lab{L: 55, A: 48, B: -10}
	for _, form := range render.AllForms {
		last, lastFaded := 0.0, 0.0
		for _, share := range []float64{0, 0.2, 0.5, 1} {
			s := render.Scene{Width: 320, Height: 240, Noise: -1, Blur: -1, EV: -0.5, Petal: want, Form: form, Browned: share, Seed: 3}
			_, got := render.Draw(s)
			if d := cie.DeltaE2000(got.Petal, want); d > 0.8 {
				t.Errorf("%v, browned %.1f: Petal = %.1f, want %.1f ± 0.8 (off by %.2f)", form, share, got.Petal, want, d)
			}
			if share > 0 && got.Browned <= last || got.Browned > 0.75 {
				t.Errorf("%v, browned %.1f: Browned = %.3f, want more than %.3f and at most 0.75", form, share, got.Browned, last)
			}
			last = got.Browned

			s.Browned, s.Faded = 0, share
			_, got = render.Draw(s)
			if d := cie.DeltaE2000(got.Petal, want); d > 0.8 {
				t.Errorf("%v, faded %.1f: Petal = %.1f, want %.1f ± 0.8 (off by %.2f)", form, share, got.Petal, want, d)
			}
			if share > 0 && got.Faded <= lastFaded && got.Faded < 0.98 {
				t.Errorf("%v, faded %.1f: Faded = %.3f, want more than %.3f", form, share, got.Faded, lastFaded)
			}
			lastFaded = got.Faded
			if c := got.Seen.LCh().C; share > 0 && (c > want.LCh().C-5*share || got.Seen.L < want.L) {
				t.Errorf("%v, faded %.1f: Seen = %.1f, want it paler than %.1f and its chroma lower by %.0f", form, share, got.Seen, want,
					5*share)
			}
		}
	}
}

// Browned is the share of the mask that is brown in the picture: counted again
// from the pixels, with the sRGB formula (IEC 61966-2-1) and the nearer of two
// colours.
func TestBrownedIsTheShareOfBrown(t *testing.T) {
	t.Parallel()
	petal, brown := cie.Lab{L: 62, A: 25, B: -20}, cie.Lab{L: 34, A: 11, B: 21}
	im, truth := render.Draw(render.Scene{Width: 800, Height: 600, Noise: -1, Blur: -1, Petal: petal, Form: render.SemiDouble,
		Browned: 0.4, Seed: 5})
	n := 0
	for i, m := range truth.Mask.Pix {
		if m == 0 {
			continue
		}
		p := im.Pix[4*i:]
		c := cie.SRGB.XYZ(cie.RGB{cie.Linear(float64(p[0]) / 255), cie.Linear(float64(p[1]) / 255),
			cie.Linear(float64(p[2]) / 255)}).Lab()
		if cie.DeltaE2000(c, brown) < cie.DeltaE2000(c, petal) {
			n++
		}
	}
	if got := float64(n) / float64(truth.Pixels); math.Abs(got-truth.Browned) > 0.02 || got < 0.05 {
		t.Errorf("%.3f of the mask is brown, Truth.Browned = %.3f, want both alike ± 0.02 and at least 0.05", got, truth.Browned)
	}
}

// An insect, glints and a hand are no petals: where the mask says petal the
// picture must be what it is without them.
func TestMaskLeavesOutGuests(t *testing.T) {
	t.Parallel()
	for seed := range int64(scenes.Count(2, 8)) {
		s := render.Scene{Width: 480, Height: 360, Noise: -1, Blur: -1, EV: -0.3, Form: render.AllForms[seed%7],
			Petal: cie.Lab{L: 58, A: 30, B: -15}, Seed: seed}
		plain, bare := render.Draw(s)
		for _, tt := range []struct {
			name      string
			with      func(*render.Scene)
			low, high float64 // share of the mask that is lost
		}{
			{"bee", func(s *render.Scene) { s.Bee = true }, 0.005, 0.25},
			{"dew", func(s *render.Scene) { s.Dew = 80 }, 0.0005, 0.04},
			{"hand", func(s *render.Scene) { s.Hand = true }, 0, 0},
		} {
			s := s
			tt.with(&s)
			im, truth := render.Draw(s)
			lost := 1 - float64(truth.Pixels)/float64(bare.Pixels)
			if lost < tt.low || lost > tt.high {
				t.Errorf("seed %d, %s: the mask loses %.4f, want %.4f to %.4f", seed, tt.name, lost, tt.low, tt.high)
			}
			if bytes.Equal(im.Pix, plain.Pix) {
				t.Errorf("seed %d, %s: the picture is as without", seed, tt.name)
			}
			odd := 0
			for i, m := range truth.Mask.Pix {
				if m == 0 {
					continue
				}
				if bare.Mask.Pix[i] == 0 {
					t.Fatalf("seed %d, %s: pixel %d is petal only with it", seed, tt.name, i)
				}
				for k := range 3 {
					if math.Abs(float64(im.Pix[4*i+k])-float64(plain.Pix[4*i+k])) > 45 {
						odd++
						break
					}
				}
			}
			// Shadows of legs and the lenses of drops stay petal.
			if share := float64(odd) / float64(truth.Pixels); share > 0.006 {
				t.Errorf("seed %d, %s: %.4f of the mask looks otherwise than without it, want at most 0.006", seed, tt.name, share)
			}
			if d := cie.DeltaE2000(truth.Petal, bare.Petal); d > 0.3 {
				t.Errorf("seed %d, %s: Petal moves by %.2f, want at most 0.3", seed, tt.name, d)
			}
		}
	}
}
