package colorimg_test

import (
	"image"
	"image/color"
	"image/draw"
	"slices"
	"strings"
	"testing"

	"hueward/colorimg"
	"hueward/colorimg/card"
	"hueward/colorimg/cie"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
)

// TestFlags: each doubt is flagged where there is reason for it, and a photo as
// it should be has none. The last column names the flag; "" stands for none
// but those that are only worth knowing.
func TestFlags(t *testing.T) {
	with := func(f func(*render.Scene)) render.Scene {
		s := usual(6)
		f(&s)
		return s
	}
	dark := with(func(s *render.Scene) {})
	for _, c := range []struct {
		name  string
		scene render.Scene
		edit  func(*image.NRGBA)
		flag  colorimg.Flag
	}{
		{"a photo as it should be", dark, nil, ""},
		{"two grey things", dark, func(im *image.NRGBA) {
			draw.Draw(im, image.Rect(560, 430, 670, 510), image.NewUniform(color.NRGBA{R: 96, G: 93, B: 88, A: 255}), image.Point{},
				draw.Src)
		}, colorimg.FlagCardTwo},
		{"half of the card a little darker", dark, func(im *image.NRGBA) {
			for y := 160; y < 320; y++ {
				for x := 656; x < 760; x++ {
					c := im.NRGBAAt(x, y)
					im.SetNRGBA(x, y, color.NRGBA{R: uint8(int(c.R) * 9 / 10), G: uint8(int(c.G) * 9 / 10), B: uint8(int(c.B) * 9 / 10),
						A: 255})
				}
			}
		}, colorimg.FlagCardUneven},
		{"a very dark photo", with(func(s *render.Scene) { s.EV = -3.2 }), nil, colorimg.FlagCardDark},
		{"a very small card", with(func(s *render.Scene) { s.Card.Width = 0.026 }), nil, colorimg.FlagCardSmall},
		{"a bloom of few pixels", with(func(s *render.Scene) { s.Width, s.Height, s.Diameter = 400, 300, 0.09 }), nil,
			colorimg.FlagBloomSmall},
		{"a bloom out of focus", with(func(s *render.Scene) { s.Blur = 10 }), nil, colorimg.FlagBlurred},
		{"a bloom at the frame's edge", with(func(s *render.Scene) { s.At = [2]float64{0.02, 0.5} }), nil, colorimg.FlagBloomEdge},
		{"a second bloom of the same size", dark, func(im *image.NRGBA) {
			// The left half over again, to the right of itself, above a card that stays.
			src := image.NewNRGBA(im.Rect)
			draw.Draw(src, im.Rect, im, image.Point{}, draw.Src)
			big := image.NewNRGBA(image.Rect(0, 0, 1240, 600))
			draw.Draw(big, im.Rect, src, image.Point{}, draw.Src)
			draw.Draw(big, image.Rect(760, 0, 1240, 600), src, image.Pt(40, 0), draw.Src)
			*im = *big
		}, colorimg.FlagBloomTwo},
		{"petals too bright", with(func(s *render.Scene) { s.Petal = cie.Lab{L: 92, A: -1, B: 4}; s.EV = 0.1 }), nil,
			colorimg.FlagPetalClipped},
		{"two colours", with(func(s *render.Scene) { s.Petal = cie.Lab{L: 66, A: 37, B: 60}; s.Tip = &cie.Lab{L: 88, A: 1, B: 19} }), nil,
			colorimg.FlagTwoColors},
		{"a card in the shade, a bloom in the sun", with(func(s *render.Scene) {
			s.Petal = cie.Lab{L: 92, A: -1, B: 4}
			s.EV, s.Shadow, s.ShadowAt = -0.6, 0.55, [2]float64{0.86, 0.35}
		}), nil, colorimg.FlagLightUneven},
		{"a card in light shade on a board", with(func(s *render.Scene) {
			s.Shadow, s.ShadowAt = 0.4, [2]float64{0.95, 0.35}
		}), nil, colorimg.FlagLightUneven},
		{"a bloom half in shade", with(func(s *render.Scene) {
			s.Shadow, s.ShadowAt = 0.65, [2]float64{0.18, 0.6}
		}), nil, colorimg.FlagPetalShadow},
	} {
		im, _ := render.Draw(c.scene)
		if c.edit != nil {
			c.edit(im)
		}
		r := measured(t, write(t, "x.jpg", jpegOf(t, im, photo.Info{ICC: srgbProfile})), nil)
		doubts := slices.DeleteFunc(slices.Clone(r.Flags), colorimg.Flag.Info)
		switch {
		case c.flag == "":
			if len(doubts) != 0 || r.Status != colorimg.OK || r.Reason != "" {
				t.Errorf("%s: status %s, flags %v, reason %q; want ok and none", c.name, r.Status, r.Flags, r.Reason)
			}
			continue
		case !slices.Contains(r.Flags, c.flag):
			t.Errorf("%s: flags %v, want %s among them", c.name, r.Flags, c.flag)
			continue
		}
		what, todo := c.flag.Words()
		if !c.flag.Info() && (r.Status != colorimg.Check || !strings.Contains(r.Reason, what) || !strings.Contains(r.Reason, todo)) {
			t.Errorf("%s: status %s, reason %q; want it to be checked and the flag's words in it", c.name, r.Status, r.Reason)
		}
	}
}

// TestFlagBackdrop: behind a card whose face is evenly lit, a backdrop that darkens little by little to one side is no
// change of light; one that darkens in a step, as at the edge of a shade, may be.
func TestFlagBackdrop(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name  string
		light func(x float64) float64 // on the backdrop, x 0 at the card's middle, 1 a card's width to the right
		want  bool
	}{
		{"little by little", func(x float64) float64 { return min(max(1-0.3*x, 0.6), 1.4) }, false},
		{"in a step", func(x float64) float64 { return 1 - 0.4*min(max(50*(x-0.4), 0), 1) }, true},
	} {
		s := usual(6)
		s.Ground = render.Board
		s.EV = -1.4
		im, truth := render.Draw(s)
		at, _ := card.Quad(truth.Card).Center()
		whole := card.Quad(truth.Card).Shrunk(1.08) // with its border
		for y := range im.Rect.Dy() {
			for x := range im.Rect.Dx() {
				if x < 440 || whole.Contains(float64(x), float64(y)) { // bloom and card stay
					continue
				}
				k := c.light((float64(x) - at) / (0.15 * 800))
				p := im.NRGBAAt(x, y)
				for _, v := range []*uint8{&p.R, &p.G, &p.B} {
					*v = uint8(255*cie.Encode(k*cie.Linear(float64(*v)/255)) + 0.5)
				}
				im.SetNRGBA(x, y, p)
			}
		}
		r := measured(t, write(t, "x.jpg", jpegOf(t, im, photo.Info{})), nil)
		if got := slices.Contains(r.Flags, colorimg.FlagCardUneven); got != c.want {
			t.Errorf("a backdrop that darkens %s: flags %v, want card-uneven among them: %v", c.name, r.Flags, c.want)
		}
	}
}

// TestFlagCardGiven: a card pointed at by hand is flagged, but is no doubt.
func TestFlagCardGiven(t *testing.T) {
	im, truth := render.Draw(usual(6))
	var card [4]colorimg.Point
	for i, p := range truth.Card {
		card[i] = p
	}
	r := measured(t, write(t, "x.jpg", jpegOf(t, im, photo.Info{})), &colorimg.Options{Card: &card})
	if !slices.Contains(r.Flags, colorimg.FlagCardGiven) || r.Status != colorimg.OK {
		t.Errorf("status %s, flags %v; want ok and card-given", r.Status, r.Flags)
	}
	if d := cornersOff(*r.Card.Corners, card); d > 0.1 {
		t.Errorf("corners %v, want those given, %v", *r.Card.Corners, card)
	}
	if d := cie.DeltaE2000(r.Lab.Lab(), truth.Seen); d > 1 {
		t.Errorf("Delta E %.2f from what was drawn, want at most 1", d)
	}
}

// TestFlagLightOdd: light off the daylight locus, greener by four tenths, is
// told where the card is given; the search takes no such thing for a card.
func TestFlagLightOdd(t *testing.T) {
	s := usual(6)
	s.Tint = 1.4
	im, truth := render.Draw(s)
	var card [4]colorimg.Point
	for i, p := range truth.Card {
		card[i] = p
	}
	name := write(t, "x.jpg", jpegOf(t, im, photo.Info{}))
	r := measured(t, name, &colorimg.Options{Card: &card})
	if !slices.Contains(r.Flags, colorimg.FlagLightOdd) || r.Status != colorimg.Check {
		t.Errorf("status %s, flags %v; want check and light-odd", r.Status, r.Flags)
	}
	if d := cie.DeltaE2000(r.Lab.Lab(), truth.Seen); d > 1.5 {
		t.Errorf("Delta E %.2f from what was drawn, want at most 1.5: the card still corrects it", d)
	}
}

// TestCardY: a card of another reflectance, told, gives the same colour.
func TestCardY(t *testing.T) {
	s := usual(6)
	s.Card.Y = 0.12
	im, truth := render.Draw(s)
	r := measured(t, write(t, "x.jpg", jpegOf(t, im, photo.Info{})), &colorimg.Options{CardY: 0.12})
	if d := cie.DeltaE2000(r.Lab.Lab(), truth.Seen); d > 1 {
		t.Errorf("Delta E %.2f from what was drawn, want at most 1", d)
	}
}

// TestFlagProfile: a damaged colour profile is said, and the photo is read as
// sRGB; no profile at all is only named.
func TestFlagProfile(t *testing.T) {
	im, _ := render.Draw(usual(6))
	for _, c := range []struct {
		name string
		icc  []byte
		flag bool
	}{
		{"no profile", nil, false},
		{"a sound profile", srgbProfile, false},
		{"half a profile", srgbProfile[:120], true},
	} {
		r := measured(t, write(t, "x.jpg", jpegOf(t, im, photo.Info{ICC: c.icc})), nil)
		if got := slices.Contains(r.Flags, colorimg.FlagProfile); got != c.flag {
			t.Errorf("%s: flags %v, want profile among them: %v", c.name, r.Flags, c.flag)
		}
		if want := strings.HasPrefix(r.Profile, "sRGB"); !want {
			t.Errorf("%s: profile %q, want sRGB", c.name, r.Profile)
		}
		if r.Status != colorimg.OK {
			t.Errorf("%s: status %q, want ok", c.name, r.Status)
		}
	}
}
