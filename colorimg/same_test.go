package colorimg_test

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/png"
	"math"
	"slices"
	"testing"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
	"hueward/colorimg/render/scenes"
)

// displayedAt is where the stored pixel in the column c and row r is shown in a
// displayed picture of w × h pixels.
//
// Source: CIPA DC-008 (EXIF 2.32) 4.6.5.1.6, which names the sides where row 0
// and column 0 are shown: from memory.
func displayedAt(orientation, c, r, w, h int) (x, y int) {
	switch orientation {
	case 1: // top, left
		return c, r
	case 2: // top, right
		return w - 1 - c, r
	case 3: // bottom, right
		return w - 1 - c, h - 1 - r
	case 4: // bottom, left
		return c, h - 1 - r
	case 5: // left, top
		return r, c
	case 6: // right, top
		return w - 1 - r, c
	case 7: // right, bottom
		return w - 1 - r, h - 1 - c
	default: // left, bottom
		return r, h - 1 - c
	}
}

// TestMeasureOrientation: a photo stored in any of the eight ways and shown
// alike measures alike, and every position is reported as displayed.
func TestMeasureOrientation(t *testing.T) {
	im, truth := render.Draw(small(1))
	w, h := im.Rect.Dx(), im.Rect.Dy()
	var upright *colorimg.Reading
	worst := 0.0
	for o := 1; o <= 8; o++ {
		stored := image.NewNRGBA(image.Rect(0, 0, w, h))
		if o >= 5 {
			stored = image.NewNRGBA(image.Rect(0, 0, h, w))
		}
		for r := range stored.Rect.Dy() {
			for c := range stored.Rect.Dx() {
				x, y := displayedAt(o, c, r, w, h)
				stored.SetNRGBA(c, r, im.NRGBAAt(x, y))
			}
		}
		name := write(t, "x.jpg", jpegOf(t, stored, photo.Info{Orientation: o, ICC: srgbProfile}))
		got := measured(t, name, &colorimg.Options{KeepMask: true})
		if o == 1 {
			upright = got
		}
		worst = max(worst, deltaE(got, upright))
		if d := deltaE(got, upright); d > 0.3 {
			t.Errorf("orientation %d: Delta E %.2f from upright, want at most 0.3", o, d)
		}
		if d := cie.DeltaE2000(got.Lab.Lab(), truth.Seen); d > 1 {
			t.Errorf("orientation %d: Delta E %.2f from what was drawn, want at most 1", o, d)
		}
		if got.Size != [2]int{w, h} || got.Mask.Rect != image.Rect(0, 0, w, h) {
			t.Errorf("orientation %d: size %v, mask %v; want %d × %d", o, got.Size, got.Mask.Rect, w, h)
			continue
		}
		var card [4]colorimg.Point
		for i, p := range truth.Card {
			card[i] = p
		}
		if d := cornersOff(*got.Card.Corners, card); d > 3 {
			t.Errorf("orientation %d: card corners %.0f, off by %.1f pixels, want 3 at most", o, *got.Card.Corners, d)
		}
		if d := distance(*got.Petal.Bloom, truth.Bloom); d > 5 {
			t.Errorf("orientation %d: bloom at %.0f, drawn at %.0f", o, *got.Petal.Bloom, truth.Bloom)
		}
		if u := overlap(got.Mask, truth.Mask); u < 0.93 {
			t.Errorf("orientation %d: IoU %.3f, want 0.93", o, u)
		}
		// What is pointed at is reported as displayed, too.
		at := colorimg.Point{truth.Bloom[0] + truth.Radius/2, truth.Bloom[1]}
		again := measured(t, name, &colorimg.Options{Bloom: &at, Card: &card})
		if d := deltaE(again, upright); d > 0.3 {
			t.Errorf("orientation %d, pointed at: Delta E %.2f from upright, want at most 0.3", o, d)
		}
	}
	t.Logf("Delta E at most %.3f between the eight ways", worst)
}

// inP3 is the picture's colours, encoded for Display P3.
func inP3(im *image.NRGBA) *image.NRGBA {
	out := image.NewNRGBA(im.Rect)
	for i := 0; i < len(im.Pix); i += 4 {
		x := cie.SRGB.XYZ(cie.RGB{linear[im.Pix[i]], linear[im.Pix[i+1]], linear[im.Pix[i+2]]})
		c := cie.DisplayP3.RGB(x)
		out.Pix[i], out.Pix[i+1], out.Pix[i+2], out.Pix[i+3] = code(c[0]), code(c[1]), code(c[2]), 255
	}
	return out
}

var linear = func() (of [256]float64) {
	for v := range of {
		of[v] = cie.Linear(float64(v) / 255)
	}
	return of
}()

func code(v float64) uint8 { return uint8(math.Round(255 * min(max(cie.Encode(v), 0), 1))) }

// withProfile is the picture as a PNG with a colour profile in it.
//
// Source: PNG specification, 11.3.2.3 (iCCP): from memory.
func withProfile(t testing.TB, im image.Image, icc []byte) []byte {
	t.Helper()
	var b, z bytes.Buffer
	must.OK(t, png.Encode(&b, im))
	w := zlib.NewWriter(&z)
	must.Have(w.Write(icc))(t)
	must.OK(t, w.Close())
	data := append([]byte("iCCPicc\x00\x00"), z.Bytes()...)
	chunk := binary.BigEndian.AppendUint32(nil, uint32(len(data)-4))
	chunk = binary.BigEndian.AppendUint32(append(chunk, data...), crc32.ChecksumIEEE(data))
	p := b.Bytes()
	const at = 8 + 25 // after the signature and IHDR
	return slices.Concat(p[:at], chunk, p[at:])
}

// TestMeasureProfile: the same colours saved for Display P3 measure like those
// saved for sRGB, with the profile or, for sRGB, without. The light of the JPEGs
// is D65: in another light a JPEG rounds the even card's colour differences in each
// profile in its own way, which moves the reading by up to 0.8, and by 0.35 in this
// one. PNG shows that the profiles themselves do not.
func TestMeasureProfile(t *testing.T) {
	for i, petal := range []cie.Lab{{}, {L: 88, A: 1, B: 19}, {L: 46, A: 52, B: 31}, {L: 40, A: 37, B: -40}}[:scenes.Count(2, 4)] {
		s := usual(int64(i))
		s.Petal, s.Kelvin = petal, 6504
		im, _ := render.Draw(s)
		want := measured(t, write(t, "srgb.jpg", jpegOf(t, im, photo.Info{ICC: srgbProfile})), nil)
		if want.Profile != "sRGB" {
			t.Errorf("profile %q, want sRGB", want.Profile)
		}
		p3 := measured(t, write(t, "p3.jpg", jpegOf(t, inP3(im), photo.Info{ICC: p3Profile})), nil)
		if p3.Profile != "Display P3" {
			t.Errorf("profile %q, want Display P3", p3.Profile)
		}
		d := deltaE(p3, want)
		if d > 0.35 {
			t.Errorf("petals %.0f saved for Display P3: Delta E %.2f from sRGB, want at most 0.35", want.Lab.Lab(), d)
		}
		bare := measured(t, write(t, "bare.jpg", jpegOf(t, im, photo.Info{})), nil)
		if d := deltaE(bare, want); d > 0.01 || bare.Profile != "sRGB (assumed)" {
			t.Errorf("without a profile: Delta E %.3f, profile %q; want 0 and sRGB (assumed)", d, bare.Profile)
		}

		s.Kelvin = 4700
		im, _ = render.Draw(s)
		want = measured(t, write(t, "srgb.png", withProfile(t, im, srgbProfile)), nil)
		p3 = measured(t, write(t, "p3.png", withProfile(t, inP3(im), p3Profile)), nil)
		if p3.Profile != "Display P3" {
			t.Errorf("PNG: profile %q, want Display P3", p3.Profile)
		}
		e := deltaE(p3, want)
		if e > 0.3 {
			t.Errorf("petals %.0f as PNG saved for Display P3: Delta E %.2f from sRGB, want at most 0.3", want.Lab.Lab(), e)
		}
		t.Logf("petals %.0f: Delta E %.3f as JPEG, %.3f as PNG", want.Lab.Lab(), d, e)
	}
}

// TestMeasureVivid: a petal outside sRGB is read as it is from a Display P3
// photo, not cut to sRGB. The numbers of an sRGB drawing of a vivid flower are
// taken for Display P3 ones, which makes it more vivid.
func TestMeasureVivid(t *testing.T) {
	s := usual(3)
	s.Petal, s.Kelvin = cie.Lab{L: 60, A: 55, B: 62}, 6504
	im, truth := render.Draw(s)
	got := measured(t, write(t, "p3.jpg", jpegOf(t, im, photo.Info{ICC: p3Profile})), nil)
	want := cie.DisplayP3.XYZ(cie.SRGB.RGB(truth.Seen.XYZ())).Lab()
	if d := cie.DeltaE2000(got.Lab.Lab(), want); d > 1 {
		t.Errorf("Lab = %.1f, want %.1f: Delta E %.2f, want at most 1", got.Lab.Lab(), want, d)
	}
	if c := cie.SRGB.RGB(got.Lab.Lab().XYZ()); min(c[0], c[1], c[2]) > -0.005 {
		t.Errorf("Lab = %.1f, linear sRGB %.3f: inside sRGB, want it outside as drawn", got.Lab.Lab(), c)
	}
}

// TestMeasureExposure: the same scene taken darker measures alike, and the
// reading tells the exposure.
func TestMeasureExposure(t *testing.T) {
	for i, petal := range []cie.Lab{{}, {L: 45, A: 60, B: -14}, {L: 88, A: 1, B: 19}} {
		s := small(int64(i))
		s.Petal, s.Kelvin, s.EV = petal, 6504, 0
		s.EV = min(0, s.HighestEV())
		at := s.EV
		im, _ := render.Draw(s)
		want := measured(t, write(t, "x.jpg", jpegOf(t, im, photo.Info{})), nil)
		for _, down := range []float64{0.7, 1.4} {
			s.EV = at - down
			im, _ := render.Draw(s)
			got := measured(t, write(t, "y.jpg", jpegOf(t, im, photo.Info{})), nil)
			d := deltaE(got, want)
			t.Logf("petals %.0f, %.1f stops darker: Delta E %.2f", want.Lab.Lab(), down, d)
			if d > 1 {
				t.Errorf("petals %.0f, %.1f stops darker: Delta E %.2f, want at most 1", want.Lab.Lab(), down, d)
			}
			if math.Abs(got.Card.EV-s.EV) > 0.05 {
				t.Errorf("drawn at %.2f EV: reading tells %.2f, want ± 0.05", s.EV, got.Card.EV)
			}
		}
	}
}

// TestMeasureLight: the same scene in another daylight measures alike, and the
// reading tells the light. Pale petals may differ by 2, others by 1: JPEG rounds
// an even card's colour differences to whole numbers, half a step of which is
// up to 2 % of the red or blue of a card at 84 of 255, and pale petals show it most.
func TestMeasureLight(t *testing.T) {
	for i, c := range []struct {
		petal cie.Lab
		most  float64
	}{{cie.Lab{}, 1}, {cie.Lab{L: 45, A: 60, B: -14}, 1}, {cie.Lab{L: 88, A: 1, B: 19}, 2}} {
		s := small(int64(i))
		s.Petal, s.EV = c.petal, -0.75
		for _, k := range []float64{4200, 6504, 9500, 5000, 7500}[:scenes.Count(3, 5)] {
			s.Kelvin = k
			im, truth := render.Draw(s)
			got := measured(t, write(t, "y.jpg", jpegOf(t, im, photo.Info{})), nil)
			d := cie.DeltaE2000(got.Lab.Lab(), truth.Seen)
			t.Logf("petals %.0f at %.0f K: Delta E %.2f", truth.Seen, k, d)
			if d > c.most {
				t.Errorf("petals %.0f at %.0f K: Delta E %.2f from what was drawn, want at most %.0f", truth.Seen, k, d, c.most)
			}
			if math.Abs(1e6/got.Card.CCT-1e6/k) > 8 {
				t.Errorf("drawn at %.0f K: reading tells %.0f, want ± 8 reciprocal megakelvin", k, got.Card.CCT)
			}
		}
	}
}

// TestMeasureTwice: measuring is repeatable to the last digit.
func TestMeasureTwice(t *testing.T) {
	im, _ := render.Draw(small(5))
	name := write(t, "x.jpg", jpegOf(t, im, photo.Info{}))
	a, b := measured(t, name, nil), measured(t, name, nil)
	if d := diff(a, b); d != "" {
		t.Errorf("measured twice (-first +second):\n%s", d)
	}
}
