package photo

import (
	"bytes"
	"encoding/binary"
	"errors"
	"image/color"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/kovidgoyal/imaging/prism/meta/icc"

	"hueward/colorimg/cie"
	"hueward/colorimg/must"
)

// linear is what one stored colour, 0 to 1, becomes.
func (e *encoding) linear(r, g, b float64) cie.RGB {
	if e.grid != nil {
		v := func(x float64) uint16 { return uint16(x*65535 + 0.5) }
		r, g, b = e.grid.at(color.NRGBA64{R: v(r), G: v(g), B: v(b), A: 65535})
	} else {
		r, g, b = e.curve[0](r), e.curve[1](g), e.curve[2](b)
	}
	r, g, b = e.matrix.Apply(r, g, b)
	return cie.RGB{r, g, b}
}

func (e *encoding) lab(r, g, b float64) cie.Lab { return cie.SRGB.XYZ(e.linear(r, g, b)).Lab() }

// colorGrid are stored colours over the whole cube.
func colorGrid(n int) (c [][3]float64) {
	for i := range n * n * n {
		v := func(k int) float64 { return math.Round(float64(k)/float64(n-1)*255) / 255 }
		c = append(c, [3]float64{v(i / n / n), v(i / n % n), v(i % n)})
	}
	return c
}

// TestOwnProfiles: the profiles made here are read by the library as the
// spaces they are, and by our own reader as the matrices of package cie.
func TestOwnProfiles(t *testing.T) {
	for _, c := range []struct {
		data  []byte
		space cie.Space
	}{{srgbProfile, cie.SRGB}, {p3Profile, cie.DisplayP3}} {
		e := must.Have(profileEncoding(c.data, false))(t)
		if e.name != c.space.Name || e.assumed {
			t.Errorf("%s is read as %q", c.space.Name, e.name)
		}
		p := must.Have(icc.DecodeProfile(bytes.NewReader(c.data)))(t)
		if s, err := p.Description(); err != nil || s != c.space.Name {
			t.Errorf("library reads the description %q, %v, want %q", s, err, c.space.Name)
		}
		tr := must.Have(p.CreateTransformerToPCS(icc.RelativeColorimetricRenderingIntent, 3, true))(t)
		for _, v := range colorGrid(6) {
			want := c.space.XYZ(cie.RGB{cie.Linear(v[0]), cie.Linear(v[1]), cie.Linear(v[2])}).Lab()
			x, y, z := tr.Transform(v[0], v[1], v[2])
			lib := cie.XYZ{X: x, Y: y, Z: z}.LabUnder(cie.D50)
			own := e.lab(v[0], v[1], v[2])
			if d := cie.DeltaE2000(own, want); !(d < 0.02) {
				t.Errorf("%s %v is read as %.3f, want %.3f: ΔE00 %.4f, want at most 0.02", c.space.Name, v, own, want, d)
			}
			// The library stops at D50; white and neutrals are the same there.
			if v[0] == v[1] && v[1] == v[2] {
				if d := cie.DeltaE2000(lib, want); !(d < 0.02) {
					t.Errorf("%s %v: library reads %.3f, want %.3f", c.space.Name, v, lib, want)
				}
			}
		}
	}
}

// tagCurve builds curve tags.
func curvTag(v ...uint16) []byte {
	b := binary.BigEndian.AppendUint32([]byte("curv\x00\x00\x00\x00"), uint32(len(v)))
	for _, x := range v {
		b = binary.BigEndian.AppendUint16(b, x)
	}
	return b
}

func paraTag(kind uint16, v ...float64) []byte {
	b := binary.BigEndian.AppendUint16([]byte("para\x00\x00\x00\x00"), kind)
	b = append(b, 0, 0)
	for _, x := range v {
		b = appendFixed(b, x)
	}
	return b
}

// TestReadCurve checks each kind of curve tag against its formula in ICC.1:2022
// table 68 and section 10.6, worked out by hand at a few places.
func TestReadCurve(t *testing.T) {
	for _, c := range []struct {
		name string
		tag  []byte
		x, y float64
	}{
		{"identity", curvTag(), 0.3, 0.3},
		{"gamma 2.199", curvTag(0x0233), 0.5, math.Pow(0.5, 563.0/256)},
		{"samples", curvTag(0, 10000, 65535), 0.25, 5000.0 / 65535},
		{"samples", curvTag(0, 10000, 65535), 0.75, (10000 + 55535.0/2) / 65535},
		{"para 0", paraTag(0, 1.8), 0.5, math.Pow(0.5, 1.8)},
		{"para 1", paraTag(1, 2, 1.25, -0.25), 0.6, 0.25},
		{"para 1 below", paraTag(1, 2, 1.25, -0.25), 0.1, 0},
		{"para 2", paraTag(2, 2, 1.25, -0.25, 0.0625), 0.75, 0.47265625 + 0.0625},
		{"para 2 below", paraTag(2, 2, 1.25, -0.25, 0.0625), 0.1, 0.0625},
		{"para 3", paraTag(3, 2.4, 1/1.055, 0.055/1.055, 1/12.92, 0.04045), 0.5, 0.2140411},
		{"para 3 below", paraTag(3, 2.4, 1/1.055, 0.055/1.055, 1/12.92, 0.04045), 0.02, 0.02 / 12.92},
		{"para 4", paraTag(4, 2, 0.875, 0.0625, 0.25, 0.125, 0.03, 0.01), 0.5, 0.25 + 0.03},
		{"para 4 below", paraTag(4, 2, 0.875, 0.0625, 0.25, 0.125, 0.03, 0.01), 0.1, 0.035},
	} {
		f, err := readCurve(c.tag)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if got := f(c.x); math.Abs(got-c.y) > 3e-5 { // parameters have 16 binary places
			t.Errorf("%s: f(%v) = %.6f, want %.6f ± 0.00003", c.name, c.x, got, c.y)
		}
	}
	for name, tag := range map[string][]byte{
		"falling":             curvTag(65535, 0),
		"bent":                curvTag(0, 50000, 20000, 65535),
		"dark":                curvTag(0, 20000),
		"short":               curvTag(0, 65535)[:14],
		"huge":                []byte("curv\x00\x00\x00\x00\xff\xff\xff\xff\x00\x00"),
		"unknown kind":        paraTag(5, 1, 1, 1, 1, 1, 1, 1),
		"cut parameters":      paraTag(3, 2.4),
		"zero a":              paraTag(1, 2, 0, 0.5),
		"gamma zero":          paraTag(0, 0),
		"no curve":            []byte("text\x00\x00\x00\x00abcd"),
		"nothing":             nil,
		"NaN by negative pow": paraTag(0, -2),
	} {
		if _, err := readCurve(tag); !errors.Is(err, errProfile) {
			t.Errorf("%s curve: %v, want a damaged profile", name, err)
		}
	}
}

// TestProfileDamaged: a profile cut anywhere is not used, and the photo says
// that sRGB was assumed.
func TestProfileDamaged(t *testing.T) {
	sound := bytes.Clone(p3Profile)
	for n := range sound {
		if _, err := profileEncoding(sound[:n], false); !errors.Is(err, errProfile) {
			t.Fatalf("cut to %d of %d bytes: %v, want a damaged profile", n, len(sound), err)
		}
	}
	white := bytes.Clone(sound)
	at := bytes.Index(white, []byte("XYZ \x00\x00\x00\x00")) + 8 // the first is the white point
	at += bytes.Index(white[at:], []byte("XYZ \x00\x00\x00\x00")) + 8
	white[at+2] ^= 0x40 // red's X is 0.25 off
	white[at+1] ^= 1
	if _, err := profileEncoding(white, false); !errors.Is(err, errProfile) {
		t.Errorf("a profile whose white is not white: %v", err)
	}
	im := plainImage(8, 8, wideOrange)
	want := open(t, "x.png", pngBytes(t, im), nil)
	for name, bad := range map[string][]byte{"cut": sound[:200], "white": white, "text": []byte("not a profile at all")} {
		for format, p := range map[string]*Photo{
			"PNG":  open(t, "x.png", withICC(t, pngBytes(t, im), bad), nil),
			"JPEG": open(t, "x.jpg", jpegBytes(t, im, 100, Info{ICC: bad}), nil),
		} {
			if p.Profile != "sRGB" || !p.ProfileAssumed {
				t.Errorf("%s with a profile damaged by %s: %q, assumed %v", format, name, p.Profile, p.ProfileAssumed)
			}
			if d := cie.DeltaE2000(p.Image.lab(0, 0), want.Image.lab(0, 0)); !(d < 1) {
				t.Errorf("%s with a profile damaged by %s differs by ΔE00 %.3f", format, name, d)
			}
		}
	}
}

// TestProfilePieces: the segments of a profile may come in any order; one that
// is missing or doubled makes the profile unusable.
func TestProfilePieces(t *testing.T) {
	seg := func(no, of byte, s string) []byte {
		b := must.Have(appendSegment(nil, 0xe2, append(bytes.Clone(iccHeader), no, of), []byte(s)))(t)
		return b
	}
	for _, c := range []struct {
		segs [][]byte
		want string
		bad  bool
	}{
		{nil, "", false},
		{[][]byte{seg(1, 1, "all")}, "all", false},
		{[][]byte{seg(2, 3, "b"), seg(3, 3, "c"), seg(1, 3, "a")}, "abc", false},
		{[][]byte{seg(1, 2, "a")}, "", true},
		{[][]byte{seg(1, 2, "a"), seg(1, 2, "b")}, "", true},
		{[][]byte{seg(1, 2, "a"), seg(2, 3, "b")}, "", true},
		{[][]byte{seg(0, 1, "a")}, "", true},
		{[][]byte{seg(2, 1, "a")}, "", true},
	} {
		b := append([]byte{0xff, 0xd8}, bytes.Join(c.segs, nil)...)
		f := jpegFacts(append(b, 0xff, 0xda, 0, 2))
		if string(f.icc) != c.want || f.iccBad != c.bad {
			t.Errorf("%d segments give %q (bad: %v), want %q (bad: %v)", len(c.segs), f.icc, f.iccBad, c.want, c.bad)
		}
	}
}

// fixtures are the profiles that come with the test files of
// github.com/kovidgoyal/imaging, and the two made here.
func fixtures(t *testing.T) map[string][]byte {
	dir := filepath.Join(moduleDir(t, "github.com/kovidgoyal/imaging"), "prism/meta/icc/test-profiles")
	files, err := filepath.Glob(filepath.Join(dir, "*.ic?"))
	need(t, err == nil && len(files) > 0, "the test profiles of github.com/kovidgoyal/imaging")
	m := map[string][]byte{"made here, sRGB": srgbProfile, "made here, Display P3": p3Profile}
	for _, f := range files {
		b := must.Have(os.ReadFile(f))(t)
		m[filepath.Base(f)] = b
	}
	return m
}

// TestProfilesTransicc compares our reading of many profiles (matrix, curves,
// tables, v2 and v4) with Little CMS over a grid of colours.
func TestProfilesTransicc(t *testing.T) {
	needProgram(t, "transicc")
	compared := 0
	for name, data := range fixtures(t) {
		e, err := profileEncoding(data, false)
		if err != nil {
			continue // CMYK, grey and the ones made to be damaged: TestProfilesRefused
		}
		compared++
		e.likeTransicc(t, name, data, colorGrid(8), 0.05)
	}
	if compared < 12 {
		t.Errorf("compared %d profiles, want 12 or more", compared)
	}
}

// TestProfilesRefused: profiles of other kinds are not taken for RGB ones.
func TestProfilesRefused(t *testing.T) {
	for name, data := range fixtures(t) {
		_, err := profileEncoding(data, false)
		other := strings.HasPrefix(name, "gray") || name == "cmyk.icc" || name == "lcms-stress.icc" || name == "jpegli.icc"
		if other != (err != nil) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestGrayProfiles: a grey profile's curve gives neutral colours of the right
// lightness. Values: Y = v^1.8; the sRGB curve; L* = 100 v^2.2 (their names say so).
func TestGrayProfiles(t *testing.T) {
	m := fixtures(t)
	for name, y := range map[string]func(float64) float64{
		"gray-v2-gamma1.8-d65.icc": func(v float64) float64 { return math.Pow(v, 460.0/256) }, // 1.8 cut to 8 binary places
		"gray-v4-srgb.icc":         cie.Linear,
		"gray-v4-lab-gamma2.2.icc": func(v float64) float64 { return cie.Lab{L: 100 * math.Pow(v, 2.2)}.XYZ().Y },
	} {
		e, err := profileEncoding(m[name], true)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for _, v := range []float64{0, 0.1, 0.25, 0.5, 0.75, 1} {
			got, want := e.lab(v, v, v), (cie.XYZ{X: cie.D65.X * y(v), Y: y(v), Z: cie.D65.Z * y(v)}).Lab()
			if d := cie.DeltaE2000(got, want); !(d < 0.05) {
				t.Errorf("%s: %v is read as %.3f, want %.3f", name, v, got, want)
			}
		}
	}
}

// TestPizza: one photograph saved in four profiles opens alike. The files are
// of github.com/kovidgoyal/imaging; JPEG and the narrow sRGB set the limit.
func TestPizza(t *testing.T) {
	dir := filepath.Join(moduleDir(t, "github.com/kovidgoyal/imaging"), "prism/test-images")
	var first *Linear
	for _, c := range []struct{ file, profile string }{
		{"pizza-rgb8-displayp3.jpg", "Display P3"},
		{"pizza-rgb8-adobergb.jpg", "Adobe RGB (1998)"},
		{"pizza-rgb8-prophotorgb.jpg", "ProPhoto RGB"},
		{"pizza-rgb8-srgb.jpg", "sRGB"},
		{"pizza-rgb8-displayp3-vp8x.webp", "Display P3"},
	} {
		b, err := os.ReadFile(filepath.Join(dir, c.file))
		need(t, err == nil, c.file)
		p := open(t, c.file, b, &Options{Work: 100})
		if p.Profile != c.profile || p.ProfileAssumed {
			t.Errorf("%s is read by %q (assumed: %v), want %q", c.file, p.Profile, p.ProfileAssumed, c.profile)
		}
		if first == nil {
			first = p.Image
			continue
		}
		if p.Image.W != first.W || p.Image.H != first.H {
			t.Logf("%s has another size", c.file)
			continue
		}
		sum := 0.0
		for y := range first.H {
			for x := range first.W {
				sum += cie.DeltaE2000(first.lab(x, y), p.Image.lab(x, y))
			}
		}
		mean := sum / float64(first.W*first.H)
		t.Logf("%s: mean ΔE00 to Display P3 %.3f", c.file, mean)
		if mean > 1.5 {
			t.Errorf("%s: mean ΔE00 to the Display P3 file is %.3f, want at most 1.5", c.file, mean)
		}
	}
}

func FuzzProfile(f *testing.F) {
	f.Add(srgbProfile)
	f.Add(p3Profile)
	f.Add(tableProfile())
	f.Add(grayProfile())
	f.Add(withTags("RGB ", map[string][]byte{"cicp": append([]byte("cicp\x00\x00\x00\x00"), 12, 16, 0, 1)}))
	f.Fuzz(func(t *testing.T, b []byte) {
		for _, gray := range []bool{false, true} {
			e, err := profileEncoding(b, gray)
			if err != nil {
				continue
			}
			if e.name != plain(e.name, 80) || e.name == "" {
				t.Errorf("name %q", e.name)
			}
			// Whatever is taken for sound makes white white.
			if w := e.lab(1, 1, 1); !(w.L > 85 && math.Hypot(w.A, w.B) < 30) {
				t.Errorf("white is %.2f", w)
			}
		}
	})
}
