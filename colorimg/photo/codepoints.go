package photo

import (
	"fmt"

	"hueward/colorimg/cie"
	"hueward/colorimg/photo/heif"
)

// codePoints are coding-independent code points: numbers for the colour space in a PNG's cICP
// chunk, a HEIC's nclx box or the coded picture in it.
//
// Source: ITU-T H.273 tables 2 to 4; from memory.
type codePoints struct {
	heif.CodePoints
	rgb    bool // of a PNG, stored as red, green and blue
	narrow bool // of a PNG: 16 to 235
}

const unspecified = 2

// highRanges are the transfers of bright screens.
var highRanges = map[int]string{16: "PQ", 18: "HLG"}

const hintSDR = "set the camera to standard (SDR) photos, or export it as an ordinary JPEG, and measure that"

// highRange returns the name of the transfer function of a high dynamic range picture, whose values mean the light of a
// bright screen, so that the flower's colour cannot be told. Empty: the picture is not one.
func (f *facts) highRange() string {
	var said []int // transfers
	if f.codes != nil {
		said = append(said, f.codes.Transfer)
	}
	if len(f.icc) > 0 && !f.iccBad {
		// Source: ICC.1:2022 section 9.2.17 (cicpTag), 10.3.
		if p, err := parseProfile(f.icc); err == nil && len(p.tags["cicp"]) >= 12 {
			said = append(said, int(p.tags["cicp"][9]))
		}
	}
	for _, t := range said {
		if name, high := highRanges[t]; high {
			return fmt.Sprintf("is a high dynamic range picture (%s), whose colours depend on the screen", name)
		}
	}
	return ""
}

// silent reports whether all code points are unspecified.
func (c *codePoints) silent() bool {
	return c.Primaries == unspecified && (c.Transfer == unspecified || c.Transfer == 1 || c.Transfer == 13)
}

// encoding returns how to read the colours; nil where the code points say nothing, or something that is not handled.
//
// The transfer of video (1, 6, 14, 15) is read as that of sRGB: a phone that writes it shows its picture on an sRGB
// screen as it is, and so do the programs that open it. Unspecified with known primaries likewise.
func (c *codePoints) encoding() *encoding {
	if c.narrow || c.rgb && c.Matrix != 0 {
		return nil
	}
	e := map[int]*encoding{1: srgbCurves(cie.SRGB), 12: srgbCurves(cie.DisplayP3)}[c.Primaries]
	if e == nil {
		p := primariesByCode[c.Primaries]
		m, ok := primaries(&p.xy)
		if !ok {
			return nil
		}
		e = srgbCurves(cie.Space{Name: p.name, ToXYZ: m})
	}
	switch c.Transfer {
	case 13, 1, 6, 14, 15, unspecified:
	case 4:
		e.curve, e.name = sameCurve(gamma(2.2)), e.name+" (gamma 2.2)"
	case 5:
		e.curve, e.name = sameCurve(gamma(2.8)), e.name+" (gamma 2.8)"
	case 8:
		e.curve, e.name = sameCurve(func(v float64) float64 { return v }), e.name+" (linear)"
	default:
		return nil
	}
	return e
}

// primariesByCode are chromaticities x, y of white, red, green, blue.
//
// Source: ITU-T H.273 table 2; from memory.
var primariesByCode = map[int]struct {
	name string
	xy   [8]float64
}{
	4: {"BT.470 M", [8]float64{0.310, 0.316, 0.67, 0.33, 0.21, 0.71, 0.14, 0.08}},
	5: {"BT.470 BG", [8]float64{0.3127, 0.3290, 0.64, 0.33, 0.29, 0.60, 0.15, 0.06}},
	6: {"SMPTE 170M", [8]float64{0.3127, 0.3290, 0.630, 0.340, 0.310, 0.595, 0.155, 0.070}},
	7: {"SMPTE 170M", [8]float64{0.3127, 0.3290, 0.630, 0.340, 0.310, 0.595, 0.155, 0.070}},
	9: {"BT.2020", [8]float64{0.3127, 0.3290, 0.708, 0.292, 0.170, 0.797, 0.131, 0.046}},
}
