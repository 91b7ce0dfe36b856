package colorimg_test

import (
	"context"
	"errors"
	"image"
	"image/color"
	"image/draw"
	"slices"
	"strings"
	"testing"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
)

// cardOf is the card's true place, to be pointed out.
func cardOf(truth render.Truth) *[4]colorimg.Point {
	var card [4]colorimg.Point
	for i, p := range truth.Card {
		card[i] = p
	}
	return &card
}

// TestFlagCardClipped: glare on a part of the card is flagged, on a speck of it not.
func TestFlagCardClipped(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		side int // of the glare; the card is some 120 × 90 pixels large
		want bool
	}{{30, true}, {8, false}} {
		im, truth := render.Draw(usual(6))
		at := image.Rect(656, 240, 656+c.side, 240+c.side)
		draw.Draw(im, at, image.NewUniform(color.NRGBA{R: 255, G: 255, B: 255, A: 255}), image.Point{}, draw.Src)
		r := measured(t, write(t, "x.jpg", jpegOf(t, im, photo.Info{})), &colorimg.Options{Card: cardOf(truth)})
		if got := slices.Contains(r.Flags, colorimg.FlagCardClipped); got != c.want {
			t.Errorf("glare of %d pixels on the card: flags %v, want card-clipped among them: %v", c.side, r.Flags, c.want)
		}
		if c.want && (r.Status != colorimg.Check || !strings.Contains(r.Reason, "the card is too bright")) {
			t.Errorf("glare of %d pixels on the card: status %s, reason %q; want it to be checked", c.side, r.Status, r.Reason)
		}
	}
}

// TestRefuseOverBright: petals that are too bright nearly everywhere, if only in
// one colour, are refused and not guessed at.
func TestRefuseOverBright(t *testing.T) {
	t.Parallel()
	for _, petal := range []cie.Lab{{L: 66, A: 37, B: 60}, {L: 83, A: 3, B: 66}, {L: 92, A: -1, B: 4}} {
		s := small(6)
		s.Petal, s.EV = petal, 0.4
		im, truth := render.Draw(s)
		r, err := colorimg.Measure(context.Background(), write(t, "x.jpg", jpegOf(t, im, photo.Info{})), nil)
		var e *colorimg.RefusedError
		if !errors.As(err, &e) || e.Code != colorimg.CodePetals || !strings.Contains(r.Reason, "too bright") {
			t.Errorf("petals of %.0f, %.2f of them cut off: Measure = %v, Lab %v, flags %v; want it refused as too bright", petal,
				truth.Clipped, err, r.Lab, r.Flags)
		}
		if r.Lab != nil || r.Status != colorimg.Refused {
			t.Errorf("petals of %.0f: status %s, Lab %v, want refused and none", petal, r.Status, r.Lab)
		}
	}
}

// TestLightOddLimits: daylight from a low sun to open shade is not odd; lamplight,
// a sky bluer than any shade, and light through leaves are.
//
// Source: CIE 15 gives daylight from 4000 to 25 000 K; that garden light lies
// from about 4000 to 12 000 K, common practice, no source.
func TestLightOddLimits(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		kelvin, tint float64
		odd          bool
	}{
		{4100, 1, false}, {12000, 1, false}, {5600, 1.07, false},
		{3500, 1, true}, {20000, 1, true}, {5600, 1.25, true},
	} {
		s := usual(6)
		s.Kelvin, s.Tint, s.Width, s.Height = c.kelvin, c.tint, 640, 480
		im, truth := render.Draw(s)
		r := measured(t, write(t, "x.jpg", jpegOf(t, im, photo.Info{})), &colorimg.Options{Card: cardOf(truth)})
		if got := slices.Contains(r.Flags, colorimg.FlagLightOdd); got != c.odd {
			t.Errorf("light of %.0f K, green × %.2f, read as %.0f K: flags %v, want light-odd among them: %v", c.kelvin, c.tint,
				r.Card.CCT, r.Flags, c.odd)
		}
	}
}
