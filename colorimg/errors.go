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

// The standard error that remains after correction by a grey card, and without any
// correction, in Delta E 2000 against an instrument.
//
// Phones add contrast and saturation, which one grey patch cannot undo. This was measured
// once, by the project's owner, on one phone's photo of a 24-patch chart: the
// mean over the patches of the distance from the chart's reference colours is
// about 6 after the best gains from one grey patch, and about 4 after the best
// 3 × 3 matrix for all patches. The photo is not among the tests' files.
// TestOneGreyPatch works out the same for drawn phones: 2.5 for one of usual
// contrast and saturation, 4.2 for a strong one. TestMeasureSpectral checks that
// the figure is not less than the errors found. Without a card, the camera's own white balance
// adds its error; that figure is a guess, on the safe side.
const (
	truenessCard   = 6.0
	truenessNoCard = 10.0
)

// repeatFloor is the scatter between photos of one flower, in Delta E 2000, that the
// petals' own scatter does not show: light that is not quite the same on card and
// bloom, the camera's rounding. Chosen so that TestPrecision
// holds.
const repeatFloor = 0.18

// clippedError times the squared share of pixels with a cut-off channel is the error of
// estimating these, in Delta E 2000: from composites of real
// photographs, where it is about 1 for a half of them and 3 for nine tenths.
const clippedError = 4.0

// The error grows by clippedMore times what that share exceeds clippedFew by:
// the pixels that were not cut off are then the darkest, and show little of how
// bright the others are. From composites of real photographs that are lighter by 0.6
// stops, where the error for a half is 5 to 11.
const (
	clippedFew  = 0.2
	clippedMore = 12.0
)

// Factors on estimates of error, to give standard errors. The first three were fitted to half of 75 real photos under
// nine lights; shadedError is our own choice, as how much shadow to leave out is a convention.
const (
	partsError   = 0.5 // on the scatter between parts of the bloom: a second photo shows mostly the same parts
	outlineError = 0.7 // on [petal.Bloom].Doubt
	guessedError = 0.7 // on [petal.Colors].Guessed
	shadedError  = 0.5 // on [petal.Colors].Shaded
)

// The error of a coarsely quantised JPEG is coarseError times [photo.Photo].Coarse, from coarseFew steps on: the means
// of card and of petals are each rounded to such a step. It agrees with real photos saved again at qualities of 10 to 60.
// From tooCoarse on, the photo is flagged, as errors of real photos were more than twice the precision stated without it.
const (
	coarseError = 0.36
	coarseFew   = 1.5
	tooCoarse   = 4
)

// evenedError is the relative error of the fall-off of light that the card's gradient
// gives, as a standard deviation: from drawn photos, see TestPrecision.
const evenedError = 0.15

// errors fills the standard errors: precision from the petals' own scatter,
// the card's, and the floor; trueness from precision and what is known of
// cameras.
func (m *measuring) errors(c *petal.Colors) {
	// The card's error shifts all pixels alike. Its relative error in each channel
	// is turned into a shift in Lab by finite differences.
	var fromCard [3]float64
	shift := func(d cie.Lab) {
		for i, v := range [3]float64{d.L - c.Lab.L, d.A - c.Lab.A, d.B - c.Lab.B} {
			fromCard[i] += v * v
		}
	}
	if m.Card.Found {
		for ch := range 3 {
			rel := m.patch.SE[ch] / max(m.patch.RGB[ch], 1e-6)
			// An 8-bit encoding rounds an even card the same way everywhere: the error is
			// uniform within half a step of the card's level. For small JPEGs it is less: see finer.
			code := cie.Encode(m.patch.RGB[ch])
			step := (cie.Linear(code+0.5/255) - cie.Linear(code-0.5/255)) * cmp.Or(m.rounding, 1/math.Sqrt(12))
			t := cie.SRGB.RGB(c.Lab.XYZ())
			t[ch] *= 1 + math.Hypot(rel, step/max(m.patch.RGB[ch], 1e-6))
			shift(cie.SRGB.XYZ(t).Lab())
		}
	}
	// The correction of the fall-off has a relative error of evenedError.
	if f := m.evened; f != nil {
		rel := evenedError * math.Abs(f.at(m.bloom.Center[0], m.bloom.Center[1])-1)
		x := c.Lab.XYZ()
		shift(cie.XYZ{X: x.X * (1 + rel), Y: x.Y * (1 + rel), Z: x.Z * (1 + rel)}.Lab())
	}
	// along returns the Delta E 2000 of a step in one coordinate.
	along := func(i int, by float64) float64 {
		var d [3]float64
		d[i] = by
		return cie.DeltaE2000(c.Lab, cie.Lab{L: c.Lab.L + d[0], A: c.Lab.A + d[1], B: c.Lab.B + d[2]})
	}
	// In Delta E 2000, the coordinates' standard errors are stepped one by one, and added as squares.
	cut := c.Clipped / max(c.Clipped, 1-c.Shadow) // share among the pixels that are not in deep shadow
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
		// The floor is divided among the coordinates, by the Delta E 2000 of a step of 1 in each.
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
