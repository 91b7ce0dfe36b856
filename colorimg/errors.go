package colorimg

import (
	"cmp"
	"errors"
	"math"
	"strings"

	"hueward/colorimg/cie"
	"hueward/colorimg/petal"
	"hueward/colorimg/photo"
)

// What is left when a grey card has corrected the light, and when nothing
// has, as a standard error in Delta E 2000 against an instrument.
//
// Phones add contrast and saturation, which one grey patch cannot undo. Measured
// once, by the project's owner, on one phone's photo of a 24-patch chart: the
// mean over the patches of the distance from the chart's reference colours is
// about 6 after the best gains by one grey patch, and about 4 after the best
// 3 × 3 matrix for all of them. The photo is not among the tests' files.
// TestOneGreyPatch works out the same for drawn phones: 2.5 for one of usual
// contrast and saturation, 4.2 for a strong one. TestMeasureSpectral holds that
// the figure is not less than the errors found. Without a card the camera's own white balance
// adds its error; that figure is a guess, on the safe side.
const (
	truenessCard   = 6.0
	truenessNoCard = 10.0
)

// repeatFloor is what two photos of one flower scatter by, whatever the
// petals' own spread: light that is not quite the same on card and bloom, the
// camera's rounding. In units of Delta E 2000; chosen so that TestPrecision
// holds.
const repeatFloor = 0.18

// clippedError is what estimating channels that were cut off adds in Delta E 2000,
// times the square of their share of the petals: from the composites of real
// photographs, where half cut off is off by about 1 and nine tenths by 3.
const clippedError = 4.0

// Beyond the share clippedFew of the petals each further part adds clippedMore times
// itself: what was not cut off is the darkest part of them, and shows little of how
// bright the rest is. From composites of real photographs that are lighter by 0.6
// stops, where half cut off is off by 5 to 11.
const (
	clippedFew  = 0.2
	clippedMore = 12.0
)

// Of the scatter from part to part partsError counts, since a second photo shows
// mostly the same parts. What else may be petal than is surely so, or less,
// moves the colour by outlineError times its Doubt, and leaving out what was cut off
// by guessedError times the step. On half of 75 real photos under nine lights. Leaving out what is in deep shadow
// counts by shadedError times its step: whoever leaves out less or more of it reads another colour by about that.
const (
	partsError   = 0.5
	outlineError = 0.7
	guessedError = 0.7
	shadedError  = 0.5
)

// A photo that was saved coarsely is off by coarseError times [photo.Photo.Coarse], from coarseFew steps on: as the mean
// of card and petals is each rounded to it, and as real photos saved again at qualities of 10 to 60 show. From
// tooCoarse on it is flagged: real photos were off by more than twice what was said without it.
const (
	coarseError = 0.36
	coarseFew   = 1.5
	tooCoarse   = 4
)

// evenedError is the share of the light's fall-off that the card's slope gets
// wrong, as a standard deviation: from drawn photos, see TestPrecision.
const evenedError = 0.15

// errors fills the standard errors: precision from the petals' own scatter,
// the card's, and the floor; trueness from precision and what is known of
// cameras.
func (m *measuring) errors(c *petal.Colors) {
	// The card's error moves every pixel alike. Its relative error a channel
	// becomes a shift in Lab by differences.
	var fromCard [3]float64
	shift := func(d cie.Lab) {
		for i, v := range [3]float64{d.L - c.Lab.L, d.A - c.Lab.A, d.B - c.Lab.B} {
			fromCard[i] += v * v
		}
	}
	if m.Card.Found {
		for ch := range 3 {
			rel := m.patch.SE[ch] / max(m.patch.RGB[ch], 1e-6)
			// An 8-bit encoding rounds an even card the same way everywhere:
			// half a step, uniform, near the card's level. Eighths of a step are known of small JPEGs.
			code := cie.Encode(m.patch.RGB[ch])
			step := (cie.Linear(code+0.5/255) - cie.Linear(code-0.5/255)) * cmp.Or(m.rounding, 1/math.Sqrt(12))
			t := cie.SRGB.RGB(c.Lab.XYZ())
			t[ch] *= 1 + math.Hypot(rel, step/max(m.patch.RGB[ch], 1e-6))
			shift(cie.SRGB.XYZ(t).Lab())
		}
	}
	// What was evened out for light that falls off is known to about a seventh.
	if f := m.evened; f != nil {
		rel := evenedError * math.Abs(f.at(m.bloom.Center[0], m.bloom.Center[1])-1)
		x := c.Lab.XYZ()
		shift(cie.XYZ{X: x.X * (1 + rel), Y: x.Y * (1 + rel), Z: x.Z * (1 + rel)}.Lab())
	}
	// along is the Delta E 2000 of a step of one coordinate.
	along := func(i int, by float64) float64 {
		var d [3]float64
		d[i] = by
		return cie.DeltaE2000(c.Lab, cie.Lab{L: c.Lab.L + d[0], A: c.Lab.A + d[1], B: c.Lab.B + d[2]})
	}
	// In Delta E 2000: each coordinate's standard error stepped by itself.
	cut := c.Clipped / max(c.Clipped, 1-c.Shadow) // what is in deep shadow is not cut off, and does not count
	floor := math.Hypot(repeatFloor, clippedError*cut*cut+clippedMore*max(0, cut-clippedFew))
	floor = math.Hypot(math.Hypot(floor, guessedError*c.Guessed), math.Hypot(outlineError*m.bloom.Doubt, shadedError*c.Shaded))
	if m.photo.Coarse >= coarseFew {
		floor = math.Hypot(floor, coarseError*m.photo.Coarse)
	}
	sum := floor * floor
	var out Triple
	for i := range out {
		se := math.Sqrt(partsError*partsError*c.SE[i]*c.SE[i] + fromCard[i])
		d := along(i, se)
		sum += d * d
		// The floor as a shift of each coordinate, by the same steps.
		out[i] = round(math.Hypot(se, floor/math.Sqrt(3)/max(0.1, along(i, 1))), 3)
	}
	m.SELab = &out
	m.SE.Precision = math.Sqrt(sum)
	t := truenessCard
	if m.model != nil {
		t = m.model.Trueness()
	}
	if !m.Card.Found {
		t = truenessNoCard
		m.SE.Precision = math.Hypot(m.SE.Precision, 3) // the white balance differs from photo to photo; a guess
	}
	m.SE.Trueness = round(math.Hypot(t, m.SE.Precision), 2)
	m.SE.Precision = round(m.SE.Precision, 2)
}

// refuseOpen turns a failure to open into a refusal.
func (r *Reading) refuseOpen(err error) error {
	p := Problem{CodeUnopened, strings.TrimPrefix(err.Error(), r.File+": "), "see that the file is there and may be read"}
	var refused *photo.RefusedError
	if errors.As(err, &refused) {
		p = Problem{Code(refused.Kind), refused.Reason, refused.Hint}
	}
	return r.refuse(p, err)
}
