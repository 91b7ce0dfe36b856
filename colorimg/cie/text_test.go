package cie

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/lucasb-eyer/go-colorful"
	"pgregory.net/rapid"

	"hueward/colorimg/must"
)

func TestParseLab(t *testing.T) {
	for _, k := range []struct {
		s    string
		want Lab
	}{
		{"62, 18, 41", Lab{62, 18, 41}},
		{"62 18 41", Lab{62, 18, 41}},
		{"62,18,41", Lab{62, 18, 41}},
		{" 62;\t18 ; 41 ", Lab{62, 18, 41}},
		{"62.5, -3.25, +.5", Lab{62.5, -3.25, 0.5}},
		{"50 \u22122 1e1", Lab{50, -2, 10}},
		{"62,5 18,0 41", Lab{62.5, 18, 41}}, // decimal commas
		{"62,5;-3,25; ,5", Lab{62.5, -3.25, 0.5}},
		{"0 -160 160", Lab{0, -160, 160}},
		{"100 0 0", Lab{100, 0, 0}},
	} {
		if got, err := ParseLab(k.s); err != nil || got != k.want {
			t.Errorf("ParseLab(%q) = %v, %v, want %v", k.s, got, err, k.want)
		}
	}
}

func TestParseLabErrors(t *testing.T) {
	const shape = ": want three numbers L*, a*, b*, such as 62, 18, 41"
	const number = " is not a number; write it such as 62, 18, 41"
	for _, k := range []struct{ s, want string }{
		{"", `colour ""` + shape},
		{"62 18", `colour "62 18"` + shape},
		{"62,5,18,0,41,0", `colour "62,5,18,0,41,0"` + shape}, // decimal commas that nothing tells
		{"62, 18, 41,", `colour "62, 18, 41,"` + shape},
		{"62,, 41", `colour "62,, 41": a* ""` + number},
		{"red 18 41", `colour "red 18 41": L* "red"` + number},
		{"62 nan 41", `colour "62 nan 41": a* "nan"` + number},
		{"62 18 inf", `colour "62 18 inf": b* "inf"` + number},
		{"0x1p4 18 41", `colour "0x1p4 18 41": L* "0x1p4"` + number},
		{"62 18 1e999", `colour "62 18 1e999": b* "1e999"` + number},
		{"101 18 41", `colour "101 18 41": L* is 101, want 0 to 100`},
		{"-1 18 41", `colour "-1 18 41": L* is -1, want 0 to 100`},
		{"62 161 41", `colour "62 161 41": a* is 161, want -160 to 160`},
		{"62 18 -160.5", `colour "62 18 -160.5": b* is -160.5, want -160 to 160`},
		{strings.Repeat("9", 50), `colour "` + strings.Repeat("9", 40) + `…"` + shape},
	} {
		got, err := ParseLab(k.s)
		if err == nil || err.Error() != k.want || got != (Lab{}) {
			t.Errorf("ParseLab(%q) = %v, %v, want %s", k.s, got, err, k.want)
		}
	}
}

func TestParseHex(t *testing.T) {
	for _, k := range []struct {
		s    string
		want Lab
	}{
		// B. Lindbloom's calculator (from memory), four digits.
		{"#ff0000", Lab{53.2408, 80.0925, 67.2032}},
		{"#F00", Lab{53.2408, 80.0925, 67.2032}},
		{"0000ff", Lab{32.2970, 79.1875, -107.8602}},
		{" fff ", Lab{100, 0, 0}},
		{"#000000", Lab{}},
	} {
		if got, err := ParseHex(k.s); err != nil || !nearLab(got, k.want, 2e-3) {
			t.Errorf("ParseHex(%q) = %.4f, %v, want %.4f ± 0.002", k.s, got, err, k.want)
		}
	}
	for _, s := range []string{"", "#", "##fff", "#ff", "#ffff", "#gggggg", "#+1+1+1", "#ff00ff00", "#ﬀ00", "orange"} {
		got, err := ParseHex(s)
		if want := fmt.Sprintf("colour %q: want six hexadecimal digits, such as #e8a26b", s); err == nil || err.Error() != want ||
			got != (Lab{}) {
			t.Errorf("ParseHex(%q) = %v, %v, want %s", s, got, err, want)
		}
	}
}

// go-colorful's Lab of the same hex differs by its white alone; see [ParseHex].
func TestParseHexColorful(t *testing.T) {
	worst := 0.0
	for i := range 4096 {
		s := fmt.Sprintf("#%03x", i)
		got := must.Have(ParseHex(s))(t)
		c := must.Have(colorful.Hex(s))(t)
		worst = max(worst, DeltaE2000(got, fromColorful(c)))
	}
	if worst > 0.03 {
		t.Errorf("ParseHex differs from go-colorful by up to %.4f, want 0.03 at most", worst)
	}
}

func TestHexRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := fmt.Sprintf("#%06x", rapid.IntRange(0, 0xffffff).Draw(t, "colour"))
		c := must.Have(ParseHex(s))(t)
		if got := c.Hex(); got != s {
			t.Fatalf("ParseHex(%s).Hex() = %s", s, got)
		}
	})
}

// No farther than clipping the three channels, whatever the colour.
func TestHexNearest(t *testing.T) {
	clipped := func(c Lab) Lab {
		p := SRGB.RGB(c.XYZ())
		return SRGB.XYZ(RGB{min(max(p[0], 0), 1), min(max(p[1], 0), 1), min(max(p[2], 0), 1)}).Lab()
	}
	rapid.Check(t, func(t *rapid.T) {
		c := drawLab(t, "colour")
		got := must.Have(ParseHex(c.Hex()))(t)
		// Half a step of 8 bits in each channel is up to 1.18, among the darkest
		// colours: the largest of three million random ones.
		if d, plain := DeltaE2000(c, got), DeltaE2000(c, clipped(c)); d > plain+1.25 {
			t.Fatalf("Hex(%v) = %s, %.3f away, clipped %.3f", c, c.Hex(), d, plain)
		}
	})

	// A vivid orange petal outside sRGB, hue 60°: clipping alone turns it to 57.6°.
	orange := Lab{68, 52, 90}
	got := must.Have(ParseHex(orange.Hex()))(t)
	if d, plain := DeltaE2000(orange, got), DeltaE2000(orange, clipped(orange)); d > plain-0.2 {
		t.Errorf("Hex(%v) = %s, %.3f away, clipped %.3f, want it nearer by 0.2", orange, orange.Hex(), d, plain)
	}
	if got, want := got.LCh().H, orange.LCh().H; !near(got, want, 1) {
		t.Errorf("hue of Hex(%v) = %.1f, want %.1f ± 1", orange, got, want)
	}
}

func TestHexExtremes(t *testing.T) {
	for _, k := range []struct {
		c    Lab
		want string
	}{
		{Lab{0, 0, 0}, "#000000"}, {Lab{100, 0, 0}, "#ffffff"}, {Lab{150, 0, 0}, "#ffffff"}, {Lab{-20, 0, 0}, "#000000"},
		{Lab{math.NaN(), 0, 0}, ""}, {Lab{0, math.Inf(-1), 0}, ""},
	} {
		if got := k.c.Hex(); got != k.want {
			t.Errorf("Hex(%v) = %q, want %q", k.c, got, k.want)
		}
	}
	if got := (Lab{50, 1e300, -1e300}).Hex(); len(got) != 7 {
		t.Errorf("Hex of an enormous chroma = %q, want a colour", got)
	}
}

// What was read is in range, and writes back as it was; what was not is one line.
func FuzzParseLab(f *testing.F) {
	for _, s := range []string{"62, 18, 41", "62 18 41", "50;\u22122;1e1", "", "nan nan nan", "1e308 0 0", "62,5 18 41", "a\nb"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		c, err := ParseLab(s)
		if err != nil {
			oneLine(t, err)
			return
		}
		if !(c.L >= 0 && c.L <= 100 && math.Abs(c.A) <= maxAB && math.Abs(c.B) <= maxAB) {
			t.Fatalf("ParseLab(%q) = %v, out of range", s, c)
		}
		if again, err := ParseLab(fmt.Sprintf("%g, %g, %g", c.L, c.A, c.B)); err != nil || again != c {
			t.Fatalf("ParseLab(%q) = %v, written and read again %v, %v", s, c, again, err)
		}
	})
}

// As [FuzzParseLab]; an sRGB colour of 8 bits comes back to the same digits.
func FuzzParseHex(f *testing.F) {
	for _, s := range []string{"#e8a26b", "e8a26b", "#FFF", "", "#", "#gggggg", "#\x00\x00\x00", "#ﬀ00", "a\nb"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		c, err := ParseHex(s)
		if err != nil {
			oneLine(t, err)
			return
		}
		digits := strings.ToLower(strings.TrimPrefix(strings.TrimSpace(s), "#"))
		if len(digits) == 3 {
			digits = string([]byte{digits[0], digits[0], digits[1], digits[1], digits[2], digits[2]})
		}
		if got := c.Hex(); got != "#"+digits {
			t.Fatalf("ParseHex(%q).Hex() = %s", s, got)
		}
	})
}

func oneLine(t *testing.T, err error) {
	if msg := err.Error(); strings.ContainsAny(msg, "\n\r") || len(msg) > 600 || !strings.HasPrefix(msg, "colour ") {
		t.Fatalf("error is not one short line: %q", msg)
	}
}
