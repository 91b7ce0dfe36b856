package photo

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"math"
	"testing"

	"hueward/colorimg/cie"
)

// withTags builds a profile of a colour space with XYZ connection space.
func withTags(space string, tags map[string][]byte) []byte {
	head := bytes.Clone(srgbProfile[:128])
	copy(head[16:20], space)
	table := binary.BigEndian.AppendUint32(nil, uint32(len(tags)))
	var data []byte
	for _, sig := range []string{"A2B0", "cicp", "desc", "kTRC"} {
		if b := tags[sig]; b != nil {
			table = append(table, sig...)
			table = binary.BigEndian.AppendUint32(table, uint32(132+12*len(tags)+len(data)))
			table = binary.BigEndian.AppendUint32(table, uint32(len(b)))
			data = append(data, b...)
			data = append(data, make([]byte, -len(data)&3)...)
		}
	}
	b := append(append(bytes.Clone(head), table...), data...)
	binary.BigEndian.PutUint32(b, uint32(len(b)))
	return b
}

// tableProfile has a lut16Type of two nodes an axis: exactly sRGB's primaries
// with straight curves.
//
// Source: ICC.1:2022 section 10.10; XYZ is stored as u1Fixed15 (6.3.4.2).
func tableProfile() []byte {
	m := cie.Bradford(cie.D65, cie.D50).Mul(cie.SRGB.ToXYZ)
	b := append([]byte("mft2\x00\x00\x00\x00"), 3, 3, 2, 0)
	for i := range 9 {
		v := 0.0
		if i%4 == 0 {
			v = 1
		}
		b = appendFixed(b, v)
	}
	b = append(b, 0, 2, 0, 2)
	line := []byte{0, 0, 0xff, 0xff}
	b = append(b, bytes.Repeat(line, 3)...)
	for i := range 8 {
		x, y, z := m.Apply(float64(i>>2), float64(i>>1&1), float64(i&1))
		for _, v := range []float64{x, y, z} {
			b = binary.BigEndian.AppendUint16(b, uint16(math.Round(min(max(v, 0), 1.9)*32768)))
		}
	}
	b = append(b, bytes.Repeat(line, 3)...)
	return withTags("RGB ", map[string][]byte{"A2B0": b, "desc": textTag("Straight table")})
}

func grayProfile() []byte {
	return withTags("GRAY", map[string][]byte{"kTRC": curvTag(0x0200), "desc": textTag("Squares")})
}

// TestTableProfile: a table profile whose colours are known, through Open, in
// 8 bits, 16 bits and with alpha. Interpolation in the cube roots of XYZ over 33
// nodes sets the limit, away from black, where it is coarsest.
func TestTableProfile(t *testing.T) {
	im := noise(30, 20, 8)
	p := open(t, "x.png", withICC(t, pngBytes(t, im), tableProfile()), nil)
	if p.Profile != "Straight table" || p.ProfileAssumed {
		t.Errorf("read by %q, assumed %v", p.Profile, p.ProfileAssumed)
	}
	n := 0
	for y := range 20 {
		for x := range 30 {
			c := im.NRGBAAt(x, y)
			if min(c.R, c.G, c.B) < 16 {
				continue
			}
			n++
			want := cie.SRGB.XYZ(cie.RGB{float64(c.R) / 255, float64(c.G) / 255, float64(c.B) / 255}).Lab()
			if d := cie.DeltaE2000(p.Image.lab(x, y), want); !(d < 0.3) {
				t.Errorf("%v is read as %.2f, want %.2f: ΔE00 %.3f, want at most 0.3", c, p.Image.lab(x, y), want, d)
			}
		}
	}
	if n < 300 {
		t.Errorf("compared %d pixels, want 300 or more", n)
	}
	veil := plainImage(4, 4, color.NRGBA{R: 200, G: 100, B: 90, A: 0})
	q := open(t, "y.png", withICC(t, pngBytes(t, veil), tableProfile()), nil)
	if v := q.Image.Pix[0]; math.Abs(float64(v)-128.0/255) > 0.002 {
		t.Errorf("transparent is %v, want mid grey, %v ± 0.002", v, 128.0/255)
	}
	jpg := open(t, "z.jpg", jpegBytes(t, plainImage(32, 32, color.NRGBA{R: 200, G: 100, B: 90, A: 255}), 100, Info{ICC: tableProfile()}),
		&Options{Work: 8})
	want := cie.SRGB.XYZ(cie.RGB{200.0 / 255, 100.0 / 255, 90.0 / 255}).Lab()
	if d := cie.DeltaE2000(jpg.Image.lab(3, 3), want); !(d < 0.6) {
		t.Errorf("a JPEG with the table is read ΔE00 %.3f away, want at most 0.6", d)
	}
}

// TestHostileTable: sizes that lie are found before the library believes them.
func TestHostileTable(t *testing.T) {
	mab := append([]byte("mAB \x00\x00\x00\x00"), 3, 3, 0, 0)
	mab = binary.BigEndian.AppendUint32(mab, 32) // B curves
	mab = append(mab, make([]byte, 16)...)
	mab = append(mab, "curv\x00\x00\x00\x00\xff\xff\xff\xff"...)
	mab = append(mab, make([]byte, 60)...)
	if _, err := profileEncoding(withTags("RGB ", map[string][]byte{"A2B0": mab}), false); err == nil {
		t.Error("a curve of four thousand million points was taken")
	}
	b := bytes.Clone(srgbProfile)
	binary.BigEndian.PutUint32(b[128:], 0xffffffff)
	if _, err := profileEncoding(b, false); err == nil {
		t.Error("a profile of four thousand million tags was taken")
	}
	dark := tableProfile()
	for i := len(dark) - 12 - 48 - 3; i < len(dark)-12; i++ {
		dark[i] = 0 // the nodes
	}
	if _, err := profileEncoding(dark, false); err == nil {
		t.Error("a table whose white is black was taken")
	}
}

// TestGrayProfileFits: a grey profile serves a grey picture and not a coloured one.
func TestGrayProfileFits(t *testing.T) {
	if e, err := profileEncoding(grayProfile(), true); err != nil || math.Abs(e.curve[0](0.5)-0.25) > 1e-9 || e.name != "Squares" {
		t.Errorf("grey profile: %v, %v", e, err)
	}
	square := image.Rect(0, 0, 2, 2)
	for name, im := range map[string]image.Image{"grey": image.NewGray(square), "colour": image.NewRGBA64(square)} {
		p := open(t, name, withICC(t, pngBytes(t, im), grayProfile()), nil)
		if used := p.Profile == "Squares" && !p.ProfileAssumed; used != (name == "grey") {
			t.Errorf("a %s picture with a grey profile is read by %q (assumed: %v)", name, p.Profile, p.ProfileAssumed)
		}
	}
	if _, err := profileEncoding(grayProfile(), false); err == nil {
		t.Error("a grey profile was taken for a coloured picture")
	}
}
