package cie

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"github.com/lucasb-eyer/go-colorful"
)

// maxAB bounds the a* and b* that [ParseLab] accepts: no surface in daylight
// comes near it, so a larger value is a typing error.
const maxAB = 160

var (
	labSeparator = regexp.MustCompile(`\s*[,;]\s*|\s+`)
	labNames     = [3]string{"L*", "a*", "b*"}
)

// ParseLab reads a colour written as L*, a*, b*: three numbers with commas, semicolons or spaces between them, such as
// "62, 18, 41". With semicolons or spaces alone between them the decimals may have a comma: "76,5; 14; 38,2". L* must
// be in [0, 100], a* and b* in [-160, 160]. The minus sign of printed tables (U+2212) is taken too. The error is one
// line and quotes s.
func ParseLab(s string) (Lab, error) {
	f := labSeparator.Split(strings.TrimSpace(s), -1)
	for _, with := range [2]string{";", " "} {
		parts := strings.FieldsFunc(s, func(r rune) bool { return string(r) == with })
		if len(parts) != 3 || len(f) <= 3 || strings.Contains(s, ", ") || strings.HasSuffix(s, ",") {
			continue
		}
		f = parts
		for i, p := range f {
			f[i] = strings.Replace(strings.TrimSpace(p), ",", ".", 1)
		}
		break
	}
	if len(f) != 3 {
		return Lab{}, fmt.Errorf("colour %s: want three numbers L*, a*, b*, such as 62, 18, 41", quote(s))
	}
	var v [3]float64
	for i, t := range f {
		t = strings.Replace(t, "\u2212", "-", 1)
		x, err := strconv.ParseFloat(t, 64)
		// ParseFloat also takes "nan", "inf" and hexadecimal.
		if err != nil || strings.ContainsAny(t, "nNxX") {
			return Lab{}, fmt.Errorf("colour %s: %s %s is not a number; write it such as 62, 18, 41", quote(s), labNames[i], quote(f[i]))
		}
		low, high := -float64(maxAB), float64(maxAB)
		if i == 0 {
			low, high = 0, 100
		}
		if !(x >= low && x <= high) {
			return Lab{}, fmt.Errorf("colour %s: %s is %g, want %g to %g", quote(s), labNames[i], x, low, high)
		}
		v[i] = x
	}
	return Lab{v[0], v[1], v[2]}, nil
}

// ParseHex reads an sRGB colour written as three or six hexadecimal digits, with
// or without a # before them. The error is one line and quotes s.
//
// The conversion goes through [SRGB], not go-colorful's own Lab: that is scaled to 0…1, and its matrix and its white
// differ in the fifth digit, which leaves white a little blue.
func ParseHex(s string) (Lab, error) {
	c, err := colorful.Hex("#" + strings.TrimPrefix(strings.TrimSpace(s), "#"))
	if err != nil {
		return Lab{}, fmt.Errorf("colour %s: want six hexadecimal digits, such as #e8a26b", quote(s))
	}
	r, g, b := c.LinearRgb()
	return SRGB.XYZ(RGB{r, g, b}).Lab(), nil
}

// quote is %q of at most the first 40 bytes of s.
func quote(s string) string {
	if len(s) > 40 {
		return strconv.Quote(s[:40] + "…")
	}
	return strconv.Quote(s)
}

// Hex returns the nearest sRGB colour as #rrggbb, for display. A colour outside sRGB loses chroma at its lightness and is
// then clipped, by the amount that makes the result nearest to c by [DeltaE2000]. Clipping alone would turn vivid
// oranges red. It is empty when c is not finite.
func (c Lab) Hex() string {
	if math.IsNaN(c.L-c.L) || math.IsNaN(c.A-c.A) || math.IsNaN(c.B-c.B) {
		return ""
	}
	clip := func(keep float64) (colorful.Color, Lab) {
		p := SRGB.RGB(Lab{c.L, c.A * keep, c.B * keep}.XYZ())
		for k, v := range p {
			p[k] = min(max(v, 0), 1)
		}
		return colorful.LinearRgb(p[0], p[1], p[2]), SRGB.XYZ(p).Lab()
	}
	nearest, lab := clip(1)
	least := DeltaE2000(c, lab)
	if least < 0.05 { // inside sRGB, but for rounding
		return nearest.Hex()
	}
	const steps = 64 // of chroma; a finer one would not show in 8 bits
	for i := range steps {
		p, lab := clip(float64(i) / steps)
		if d := DeltaE2000(c, lab); d < least {
			nearest, least = p, d
		}
	}
	return nearest.Hex()
}
