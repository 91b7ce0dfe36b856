package photo

import (
	"context"
	"encoding/binary"
	"image"
	"image/color"
	"math"
	"strings"
	"testing"

	"hueward/colorimg/cie"
)

var wideOrange = color.NRGBA{R: 250, G: 140, B: 20, A: 255}

// code rounds a linear colour of a space to stored 8-bit values; false where
// the space cannot hold it.
func code(c cie.RGB) (color.NRGBA, bool) {
	var v [3]uint8
	for k, x := range c {
		if x < 0 || x > 1 {
			return color.NRGBA{}, false
		}
		v[k] = uint8(cie.Encode(x)*255 + 0.5)
	}
	return color.NRGBA{v[0], v[1], v[2], 255}, true
}

func code16bit(c cie.RGB) color.NRGBA64 {
	v := func(x float64) uint16 { return uint16(cie.Encode(x)*65535 + 0.5) }
	return color.NRGBA64{v(c[0]), v(c[1]), v(c[2]), 65535}
}

// TestProfilesAgree: the same colours saved in sRGB and in Display P3 open
// alike. In 16 bits they agree to the rounding of the profile's numbers; in 8
// bits to that of the stored values.
func TestProfilesAgree(t *testing.T) {
	var srgb, p3 []color.NRGBA64
	for r := 0; r <= 255; r += 51 {
		for g := 0; g <= 255; g += 51 {
			for b := 0; b <= 255; b += 51 {
				c := cie.RGB{cie.Linear(float64(r) / 255), cie.Linear(float64(g) / 255), cie.Linear(float64(b) / 255)}
				srgb = append(srgb, code16bit(c))
				p3 = append(p3, code16bit(cie.DisplayP3.RGB(cie.SRGB.XYZ(c))))
			}
		}
	}
	row := func(cs []color.NRGBA64) image.Image {
		im := image.NewNRGBA64(image.Rect(0, 0, len(cs), 1))
		for x, c := range cs {
			im.SetNRGBA64(x, 0, c)
		}
		return im
	}
	plain := open(t, "plain.png", pngBytes(t, row(srgb)), nil)
	for _, c := range []struct {
		name    string
		photo   *Photo
		profile string
	}{
		{"sRGB profile", open(t, "a.png", withICC(t, pngBytes(t, row(srgb)), srgbProfile), nil), "sRGB"},
		{"Display P3 profile", open(t, "b.png", withICC(t, pngBytes(t, row(p3)), p3Profile), nil), "Display P3"},
		{"sRGB chunk", open(t, "c.png", withChunk(pngBytes(t, row(srgb)), "sRGB", []byte{0}), nil), "sRGB"},
		{"cICP sRGB", open(t, "d.png", withChunk(pngBytes(t, row(srgb)), "cICP", []byte{1, 13, 0, 1}), nil), "sRGB"},
		{"cICP Display P3", open(t, "e.png", withChunk(pngBytes(t, row(p3)), "cICP", []byte{12, 13, 0, 1}), nil), "Display P3"},
	} {
		if c.photo.Profile != c.profile || c.photo.ProfileAssumed {
			t.Errorf("%s opens as %q (assumed: %v), want %q", c.name, c.photo.Profile, c.photo.ProfileAssumed, c.profile)
		}
		for x := range srgb {
			if d := cie.DeltaE2000(c.photo.Image.lab(x, 0), plain.Image.lab(x, 0)); !(d < 0.05) {
				t.Errorf("%s: colour %v differs by ΔE00 %.3f, want at most 0.05", c.name, srgb[x], d)
			}
		}
	}
}

// TestJPEGProfilesAgree is the same through JPEGs of plain patches.
func TestJPEGProfilesAgree(t *testing.T) {
	n := 0
	for _, lab := range []cie.Lab{{L: 60, A: 30, B: 50}, {L: 75, A: 15, B: 60}, {L: 40, A: 35, B: 10}, {L: 85, A: -5, B: 30},
		{L: 50, A: 0, B: 0}, {L: 55, A: -25, B: 30}} {
		s, ok1 := code(cie.SRGB.RGB(lab.XYZ()))
		p, ok2 := code(cie.DisplayP3.RGB(lab.XYZ()))
		if !ok1 || !ok2 {
			t.Fatalf("%v is out of gamut", lab)
		}
		a := open(t, "s.jpg", jpegBytes(t, plainImage(64, 64, s), 100, Info{ICC: srgbProfile}), &Options{Work: 16})
		b := open(t, "p.jpg", jpegBytes(t, plainImage(64, 64, p), 100, Info{ICC: p3Profile}), &Options{Work: 16})
		for _, ph := range []*Photo{a, b} {
			// Rounding to 8 bits of YCbCr moves a colour by up to about one step.
			if d := cie.DeltaE2000(ph.Image.lab(3, 3), lab); !(d < 0.8) {
				t.Errorf("%v in %s opens ΔE00 %.3f away, want at most 0.8", lab, ph.Profile, d)
			}
			n++
		}
	}
	if n != 12 {
		t.Errorf("compared %d patches, want 12", n)
	}
}

// TestNothingClipped: a Display P3 colour outside sRGB keeps its values below
// 0 and above 1.
func TestNothingClipped(t *testing.T) {
	im := plainImage(8, 8, color.NRGBA{R: 255, G: 0, B: 0, A: 255})
	p := open(t, "p3.png", withICC(t, pngBytes(t, im), p3Profile), nil)
	want := cie.SRGB.RGB(cie.DisplayP3.XYZ(cie.RGB{1}))
	got := p.Image.Pix[:3]
	for k, v := range want {
		if math.Abs(float64(got[k])-v) > 2e-4 { // a profile's numbers have 16 binary places
			t.Errorf("P3 red is %v in linear sRGB, want %.5f %.5f %.5f ± 0.0002", got, want[0], want[1], want[2])
			break
		}
	}
	// From memory, as other libraries print it: color(srgb-linear 1.2249 -0.0420 -0.0196).
	for k, v := range []float64{1.2249, -0.0420, -0.0196} {
		if math.Abs(float64(got[k])-v) > 3e-4 {
			t.Errorf("P3 red channel %d is %.4f, want %.4f ± 0.0003", k, got[k], v)
		}
	}
}

// TestAlphaOnGray: what is transparent opens as mid grey, and is not clipped.
func TestAlphaOnGray(t *testing.T) {
	im := plainImage(4, 4, color.NRGBA{R: 255, G: 255, B: 255, A: 255})
	for y := range 4 {
		im.SetNRGBA(2, y, color.NRGBA{R: 255, A: 0})
		im.SetNRGBA(3, y, color.NRGBA{A: 255 * 2 / 5})
	}
	l := open(t, "a.png", pngBytes(t, im), nil).Image
	mid := cie.Linear(128.0 / 255)
	for x, want := range []float64{1, 1, mid, mid * 3 / 5} {
		for k := range 3 {
			if got := float64(l.Pix[3*x+k]); math.Abs(got-want) > 1e-6 {
				t.Errorf("Pix(%d)[%d] = %.6f, want %.6f ± 1e-6", x, k, got, want)
			}
		}
	}
	if l.Clipped[0] != 255 || l.Clipped[2] != 0 || l.Clipped[3] != 0 {
		t.Errorf("Clipped = %v, want 255 255 0 0 in the first row", l.Clipped[:4])
	}
}

// TestClippedThreshold: 8 bits from 254, 16 bits from 65278.
func TestClippedThreshold(t *testing.T) {
	a := image.NewGray(image.Rect(0, 0, 3, 1))
	copy(a.Pix, []uint8{253, 254, 255})
	b := image.NewGray16(image.Rect(0, 0, 3, 1))
	for x, v := range []uint16{65277, 65278, 65535} {
		b.SetGray16(x, 0, color.Gray16{Y: v})
	}
	for _, im := range []image.Image{a, b} {
		l := open(t, "c.png", pngBytes(t, im), nil).Image
		if l.Clipped[0] != 0 || l.Clipped[1] != 255 || l.Clipped[2] != 255 {
			t.Errorf("%T: Clipped = %v, want 0 255 255", im, l.Clipped)
		}
	}
}

// TestPNGHighRange: a PNG in PQ or HLG is refused, whether a chunk or its profile
// says so, and not read as sRGB.
func TestPNGHighRange(t *testing.T) {
	base := pngBytes(t, plainImage(4, 4, wideOrange))
	tagged := withTags("RGB ", map[string][]byte{"cicp": append([]byte("cicp\x00\x00\x00\x00"), 12, 16, 0, 1),
		"desc": textTag("Bright")})
	for name, b := range map[string][]byte{
		"PQ":  withChunk(base, "cICP", []byte{9, 16, 0, 1}),
		"HLG": withChunk(base, "cICP", []byte{9, 18, 0, 1}),
		"PQ)": withICC(t, base, tagged),
	} {
		_, err := openBytes(context.Background(), "x.png", b, (*Options)(nil).withDefaults())
		if kind(err) != "unsupported" || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: %v, want it refused", name, err)
		}
	}
}

// TestPNGChunks: gAMA and cHRM, alone and together.
func TestPNGChunks(t *testing.T) {
	u32 := func(v ...uint32) (b []byte) {
		for _, x := range v {
			b = binary.BigEndian.AppendUint32(b, x)
		}
		return b
	}
	// Chromaticities × 100000 of sRGB and of Adobe RGB (1998), white first.
	srgb := u32(31270, 32900, 64000, 33000, 30000, 60000, 15000, 6000)
	adobe := u32(31270, 32900, 64000, 33000, 21000, 71000, 15000, 6000)
	im := plainImage(4, 4, color.NRGBA{R: 0, G: 255, B: 0, A: 255})
	base := pngBytes(t, im)
	for _, c := range []struct {
		name    string
		data    []byte
		profile string
		assumed bool
	}{
		{"nothing", base, "sRGB", true},
		{"gAMA alone", withChunk(base, "gAMA", u32(45455)), "sRGB", true},
		{"gAMA alone, four decimals", withChunk(base, "gAMA", u32(45450)), "sRGB", true},
		{"gAMA alone, linear", withChunk(base, "gAMA", u32(100000)), "sRGB primaries and PNG gamma", true},
		{"gAMA linear, primaries on a line", withChunk(withChunk(base, "gAMA", u32(100000)), "cHRM",
			u32(31270, 32900, 30000, 30000, 30000, 30000, 30000, 30000)), "sRGB primaries and PNG gamma", true},
		{"gAMA 0", withChunk(base, "gAMA", u32(0)), "sRGB", true},
		{"cHRM alone", withChunk(base, "cHRM", adobe), "sRGB", true},
		{"both, sRGB", withChunk(withChunk(base, "gAMA", u32(45455)), "cHRM", srgb), "sRGB", false},
		{"both, Adobe", withChunk(withChunk(base, "gAMA", u32(45470)), "cHRM", adobe), "PNG primaries and gamma", false},
		{"primaries on a line", withChunk(withChunk(base, "gAMA", u32(45455)), "cHRM",
			u32(31270, 32900, 30000, 30000, 30000, 30000, 30000, 30000)), "sRGB", true},
		{"gamma of no screen", withChunk(withChunk(base, "gAMA", u32(7)), "cHRM", srgb), "sRGB", true},
		{"cICP narrow range", withChunk(base, "cICP", []byte{1, 13, 0, 0}), "sRGB", true},
		{"cICP with a matrix", withChunk(base, "cICP", []byte{1, 13, 6, 1}), "sRGB", true},
		{"cICP log", withChunk(base, "cICP", []byte{1, 9, 0, 1}), "sRGB", true},
		{"cICP unspecified", withChunk(base, "cICP", []byte{2, 2, 0, 1}), "sRGB", true},
		{"cICP video", withChunk(base, "cICP", []byte{1, 1, 0, 1}), "sRGB", false},
		{"cICP BT.2020", withChunk(base, "cICP", []byte{9, 14, 0, 1}), "BT.2020", false},
		{"cut cICP", withChunk(base, "cICP", []byte{12, 13}), "sRGB", true},
	} {
		p := open(t, c.name, c.data, nil)
		if p.Profile != c.profile || p.ProfileAssumed != c.assumed {
			t.Errorf("%s: %q (assumed: %v), want %q (%v)", c.name, p.Profile, p.ProfileAssumed, c.profile, c.assumed)
		}
		if said := strings.HasPrefix(c.name, "cICP") && c.assumed && c.name != "cICP unspecified"; p.ProfileDamaged != said {
			t.Errorf("%s: damaged: %v, want %v", c.name, p.ProfileDamaged, said)
		}
		if c.name == "cICP BT.2020" {
			// BT.2020 green, D65, from the matrix of ITU-R BT.2087 (from memory).
			want := cie.XYZ{X: 0.1446169, Y: 0.6779981, Z: 0.0280727}.Lab()
			if d := cie.DeltaE2000(p.Image.lab(0, 0), want); !(d < 0.1) {
				t.Errorf("BT.2020 green is %.3f, want %.3f", p.Image.lab(0, 0), want)
			}
		}
		if c.name == "both, Adobe" {
			// Adobe RGB (1998) green, Bradford D65, from B. Lindbloom's matrix (from
			// memory): XYZ 0.1855540 0.6273491 0.0706879.
			want := cie.XYZ{X: 0.1855540, Y: 0.6273491, Z: 0.0706879}.Lab()
			if d := cie.DeltaE2000(p.Image.lab(0, 0), want); !(d < 0.1) {
				t.Errorf("Adobe green is %.3f, want %.3f", p.Image.lab(0, 0), want)
			}
		}
	}
}

// TestPNGGammaAlone: a sample is decoded as the power 1 / gAMA of its share of the largest, unless a chunk says more of the colours.
// Source: W3C Portable Network Graphics, third edition, sections 4.3, 11.3.2.2 (gAMA) and 13.13.
func TestPNGGammaAlone(t *testing.T) {
	gama := func(b []byte, v uint32) []byte { return withChunk(b, "gAMA", binary.BigEndian.AppendUint32(nil, v)) }
	wide := image.NewNRGBA64(image.Rect(0, 0, 4, 4))
	for i := range 16 {
		wide.SetNRGBA64(i%4, i/4, color.NRGBA64{R: 200 * 257, G: 100 * 257, B: 50 * 257, A: 65535})
	}
	base := pngBytes(t, plainImage(4, 4, color.NRGBA{R: 200, G: 100, B: 50, A: 255}))
	plain := [3]float64{cie.Linear(200. / 255), cie.Linear(100. / 255), cie.Linear(50. / 255)}
	shares := [3]float64{200. / 255, 100. / 255, 50. / 255}
	power := func(g float64) (v [3]float64) {
		for k, x := range shares {
			v[k] = math.Pow(x, g)
		}
		return v
	}
	for _, c := range []struct {
		name string
		data []byte
		want [3]float64
	}{
		{"1.0", gama(base, 100000), shares},
		{"1.0 of 16 bits", gama(pngBytes(t, wide), 100000), shares},
		{"1/1.8", gama(base, 55556), power(1.8)},
		{"1/2.2, as sRGB is written", gama(base, 45455), plain},
		{"1.0 below sRGB", withChunk(gama(base, 100000), "sRGB", []byte{0}), plain},
		{"1.0 below a profile", withICC(t, gama(base, 100000), srgbProfile), plain},
		{"1.0 below code points", withChunk(gama(base, 100000), "cICP", []byte{1, 13, 0, 1}), plain},
	} {
		got := open(t, c.name, c.data, nil).Image.Pix[:3]
		for k, v := range got {
			if math.Abs(float64(v)-c.want[k]) > 2e-4 {
				t.Errorf("gAMA %s: %.4f in linear light, want %.4f ± 0.0002", c.name, got, c.want)
				break
			}
		}
	}
}
