package photo

import (
	"math"
	"sync"

	"hueward/colorimg/cie"
)

// encoding is how a photo's stored values are converted to linear light: by a curve for
// each channel and a matrix, or by a grid made from a look-up-table profile.
type encoding struct {
	name    string
	assumed bool                     // sRGB, for want of a usable profile
	damaged bool                     // the file has a profile, but not a usable one
	curve   [3]func(float64) float64 // stored 0…1 to linear 0…1; unused with a grid
	same    bool                     // the three curves are one
	matrix  cie.Matrix               // linear device colour to linear sRGB; with a grid, XYZ under D50 to linear sRGB
	grid    *grid
	srgb    bool // the curves are sRGB's
	kept    [3]*[65536]uint32
}

// srgbCurves is the encoding of a space with the sRGB transfer function.
func srgbCurves(s cie.Space) *encoding {
	return &encoding{name: s.Name, curve: sameCurve(cie.Linear), same: true, srgb: true, matrix: cie.SRGB.FromXYZ.Mul(s.ToXYZ)}
}

// srgbTable16 is the curve of sRGB over 16 bits, which most encodings have.
var srgbTable16 = sync.OnceValue(func() *[65536]uint32 { return (*[65536]uint32)(newTable(cie.Linear, 65536)) })

func sameCurve(f func(float64) float64) [3]func(float64) float64 {
	return [3]func(float64) float64{f, f, f}
}

// assumedSRGB is the encoding of a photo without a usable profile.
func assumedSRGB() *encoding {
	e := srgbCurves(cie.SRGB)
	e.assumed = true
	return e
}

// adobeRGB is the encoding of cameras that are set to it, which write no profile.
//
// Source: Adobe RGB (1998) Color Image Encoding, sections 4.3.1.1 and 4.3.4.2.
func adobeRGB() *encoding {
	m, _ := primaries(&[8]float64{0.3127, 0.3290, 0.64, 0.33, 0.21, 0.71, 0.15, 0.06})
	e := srgbCurves(cie.Space{Name: "Adobe RGB (1998)", ToXYZ: m})
	e.curve, e.srgb = sameCurve(gamma(563./256)), false
	return e
}

// encoding returns the encoding of the file's colours. gray says that the picture has one channel.
func (f *facts) encoding(gray bool) *encoding {
	// A PNG's code points go before its profile, a HEIC's after it.
	// Source: PNG third edition 4.3; ISO/IEC 23008-12 section 6.5.5 (from memory).
	var coded *encoding
	if f.codes != nil {
		coded = f.codes.encoding()
	}
	if coded != nil && f.codes.rgb {
		return coded
	}
	if len(f.icc) > 0 && !f.iccBad {
		if e, err := profileEncoding(f.icc, gray); err == nil {
			return e
		}
		f.iccBad = true
	}
	if coded != nil && !f.iccBad {
		return coded
	}
	unusable := f.iccBad || f.codes != nil && !f.codes.silent()
	if !unusable && f.space == exifAdobeRGB {
		return adobeRGB()
	}
	if unusable || f.space == exifOther {
		e := assumedSRGB()
		e.damaged = true
		return e
	}
	if e := f.png.chunkEncoding(); e != nil {
		return e
	}
	return assumedSRGB()
}

// native returns the matrix from linear sRGB to the linear device colour.
func (e *encoding) native() cie.Matrix {
	if e.grid != nil || math.Abs(e.matrix.Det()) < 1e-6 {
		return identity
	}
	return e.matrix.Inverse()
}

// One in the fixed-point tables, and the mark of a largest stored value.
const (
	one     = 1 << 24
	clipped = 1 << 31
)

// Stored values from here up count as clipped.
const (
	clip8  = 254
	clip16 = clip8 * 257
)

// newTable returns a curve over the n values of a channel, in fixed point, with a
// mark where the stored value counts as clipped.
func newTable(f func(float64) float64, n int) []uint32 {
	t := make([]uint32, n)
	for v := range t {
		t[v] = uint32(math.Round(min(max(f(float64(v)/float64(n-1)), 0), 1) * one))
		if v >= clip8*(n-1)/255 {
			t[v] |= clipped
		}
	}
	return t
}

// tables16 returns the tables of the three channels over 16 bits, the same table where the
// curves are the same. They are cached, as they are slow to make.
func (e *encoding) tables16() [3]*[65536]uint32 {
	for k := range e.kept {
		switch {
		case e.kept[k] != nil:
		case k > 0 && e.same:
			e.kept[k] = e.kept[0]
		case e.srgb:
			e.kept[k] = srgbTable16()
		default:
			e.kept[k] = (*[65536]uint32)(newTable(e.curve[k], 65536))
		}
	}
	return e.kept
}

// chunkEncoding reads the sRGB, gAMA and cHRM chunks; nil where they do not say enough. Where gAMA stands alone, the primaries
// are assumed.
//
// Source: W3C Portable Network Graphics, third edition, sections 11.3.2.1, 11.3.2.2 and 11.3.2.5.
func (p *pngColor) chunkEncoding() *encoding {
	if p.srgb {
		return srgbCurves(cie.SRGB)
	}
	if p.gama == 0 {
		return nil // the primaries alone do not say the colours
	}
	g := 100000 / float64(p.gama)
	if g < 0.5 || g > 4 {
		return nil
	}
	var m cie.Matrix
	ok := p.chrm != nil
	if ok {
		m, ok = primaries(p.chrm)
	}
	if !ok {
		if p.gama >= gamaSRGB-gamaRounding && p.gama <= gamaSRGB+gamaRounding {
			return nil
		}
		e := assumedSRGB()
		e.name, e.curve, e.srgb = "sRGB primaries and PNG gamma", sameCurve(gamma(g)), false
		return e
	}
	e := srgbCurves(cie.Space{Name: "PNG primaries and gamma", ToXYZ: m})
	switch {
	case p.gama != gamaSRGB:
		e.curve, e.srgb = sameCurve(gamma(g)), false
	case closeTo(e.matrix, identity, 0.01):
		return srgbCurves(cie.SRGB)
	}
	return e
}

// The gAMA that the specification asks of writers of sRGB, and how far one that was written with four decimals is from it.
const (
	gamaSRGB     = 45455
	gamaRounding = 5
)

func gamma(g float64) func(float64) float64 {
	return func(v float64) float64 { return math.Pow(max(v, 0), g) }
}

var identity = cie.Matrix{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}

func closeTo(a, b cie.Matrix, tol float64) bool {
	for i := range 3 {
		for j := range 3 {
			if !(math.Abs(a[i][j]-b[i][j]) <= tol) {
				return false
			}
		}
	}
	return true
}

// primaries returns the matrix from linear RGB of the chromaticities c (white,
// red, green, blue) to XYZ under D65; false where they span no colours.
func primaries(c *[8]float64) (cie.Matrix, bool) {
	for i := range 4 {
		if x, y := c[2*i], c[2*i+1]; !(y > 0.001 && x >= 0 && x+y <= 1.001) {
			return cie.Matrix{}, false
		}
	}
	w := cie.White{X: c[0] / c[1], Y: 1, Z: (1 - c[0] - c[1]) / c[1]}
	p, ok := cie.Primaries([3][2]float64{{c[2], c[3]}, {c[4], c[5]}, {c[6], c[7]}}, w)
	return cie.Bradford(w, cie.D65).Mul(p), ok
}
