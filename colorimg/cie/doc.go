// Package cie has colorimetry: XYZ, Lab and LCh, chromatic adaptation, the difference of two
// colours and its parts, daylight illuminants, and colour names.
//
// Start with [DeltaE2000], or with [ParseLab] and [ParseHex] for colours that a person typed.
//
// A [Lab] is CIE 1976 L*a*b* under D65 for the 2 degree observer, L* from 0 to 100; an [LCh] is the same in polar form,
// hue in degrees. An [XYZ] has Y = 1 for the reference white. An [RGB] is linear light. u', v' are CIE 1976
// chromaticities. A light's colour temperature is in kelvin.
//
// The package knows no images and does not clip, except where a result must be an sRGB colour ([Lab.Hex]). It knows no
// spectra, and so no metamerism. No function panics on any number; NaN and infinite input give NaN, or an empty
// text.
//
// Methods: CIE 15 and ISO/CIE 11664, and the source named at each function. The
// tests compare them with published tables and with two other libraries.
package cie
