// Package cie holds colours as numbers: XYZ, Lab and LCh, the difference of two
// colours and its parts, the colour of a light, and what a colour is called.
//
// Start with [DeltaE2000], or with [ParseLab] and [ParseHex] for colours that a person typed.
//
// A [Lab] is CIE 1976 L*a*b* under D65 for the 2 degree observer, L* from 0 to 100; an [LCh] is the same in polar form,
// hue in degrees. An [XYZ] has Y = 1 for the reference white. An [RGB] is linear light. u', v' are CIE 1976
// chromaticities. A light's colour temperature is in kelvin.
//
// The package knows no images and clips nothing, except where a result must be an sRGB colour ([Lab.Hex]). It does not
// measure metamerism: spectra are not kept. No function panics on any number; NaN and infinite input give NaN, or an
// empty text.
//
// Methods: CIE 15 and ISO/CIE 11664, and the source named at each function. The
// tests compare them with published tables and with two other libraries.
package cie
