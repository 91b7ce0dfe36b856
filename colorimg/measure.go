package colorimg

import (
	"context"
	"math"
	"slices"

	"hueward/colorimg/camera"
	"hueward/colorimg/card"
	"hueward/colorimg/cie"
	"hueward/colorimg/petal"
	"hueward/colorimg/photo"
	"hueward/colorimg/tag"
)

// Measure measures the petal colour of one photo. For a photo that gives none, it
// returns a reading with status [Refused] and a [*RefusedError];
// any other error is that of ctx, when it ended.
func Measure(ctx context.Context, file string, opt *Options) (*Reading, error) {
	w := NewWorking(file, opt)
	r, err := w.Measure(ctx, nil)
	if w.lit != nil {
		w.lit.photo.Done()
	}
	return r, err
}

// measuring is the state of measuring one photo.
type measuring struct {
	*Reading
	opt   *Options
	photo *photo.Photo
	im    *photo.Linear // working picture; corrections are made in place
	bloom *petal.Bloom

	otherLight bool // petals or ground show that the bloom is in another light than the card

	quad     card.Quad   // the grey patch
	outer    card.Quad   // the whole card: the patch, the strip or the set of patches
	patch    card.Patch  // the grey patch as read
	rounding float64     // standard error of its channels, in steps of 1/255; 0: that of rounding to whole steps
	skip     []card.Quad // card and tag, which are neither bloom nor ground
	gains    [3]float64  // factors that im is still to be multiplied by

	model  *camera.Model // camera model that was undone in im; nil: none
	cutOff []uint8       // see petal.Options; nil: im has not been changed yet
	evened *fallOff      // fall-off that was taken out of im; nil: none
	toned  bool          // a strip's tone curve was undone in im
	tag    tag.Choice
	sheet  *tag.Located // nil: no photo sheet in the picture
}

// keepCutOff notes which channels are cut off, before im is first changed.
func (m *measuring) keepCutOff() {
	if m.cutOff == nil {
		m.cutOff = petal.CutOff(m.im)
	}
}

func (r *Reading) flagged(f Flag) bool { return slices.Contains(r.Flags, f) }

// Blends reports whether the petals shade from one of r.Colors into another, so that r.Lab is the middle of all petals
// and not the first of r.Colors.
func (r *Reading) Blends() bool { return r.flagged(FlagColorsBlend) }

func (r *Reading) flag(f Flag) { r.Flags = append(r.Flags, f) }

func (r *Reading) flagIf(doubt bool, f Flag) {
	if doubt {
		r.flag(f)
	}
}

// facts fills in what the file says of itself.
func (r *Reading) facts(p *photo.Photo) {
	r.SHA256, r.Camera, r.Size, r.Profile = p.SHA256, p.Camera, [2]int{p.Width, p.Height}, p.Profile
	if !p.Taken.IsZero() {
		r.TakenAt = &TakenAt{p.Taken}
	}
	if p.ProfileAssumed {
		r.Profile += " (assumed)"
		r.flagIf(p.ProfileDamaged, FlagProfile)
	}
}

// conclude sets the status and the reason from the flags.
func (r *Reading) conclude() {
	r.Status = OK
	if slices.ContainsFunc(r.Flags, func(f Flag) bool { return !f.Info() }) {
		r.Status = Check
	}
	r.Reason = new(Hints).Reason(r)
}

// dark reports whether the photo is nearly black: not one pixel in
// a thousand is above a linear 0.01.
func (m *measuring) dark() bool {
	n, enough := 0, m.im.W*m.im.H/1000
	for i := 0; i < len(m.im.Pix); i += 3 {
		if max(m.im.Pix[i], m.im.Pix[i+1], m.im.Pix[i+2]) > 0.01 {
			if n++; n > enough {
				return false
			}
		}
	}
	return true
}

// colorless reports whether the photo is in black and white: in not one pixel in a thousand, red, green and blue differ by
// more than rounding explains. No light makes a camera's photo so.
func (m *measuring) colorless() bool {
	n, enough := 0, m.im.W*m.im.H/1000
	for i := 0; i < len(m.im.Pix); i += 3 {
		r, g, b := m.im.Pix[i], m.im.Pix[i+1], m.im.Pix[i+2]
		if most := max(r, g, b); most-min(r, g, b) > 0.02*most+0.001 {
			if n++; n > enough {
				return false
			}
		}
	}
	return true
}

func triple(c cie.Lab) *Triple { return &Triple{round(c.L, 3), round(c.A, 3), round(c.B, 3)} }

// round rounds to as many decimals as are meaningful, which keeps JSON short.
func round(v float64, digits int) float64 {
	k := math.Pow10(digits)
	return math.Round(v*k) / k
}

// toWork and toFull convert positions between full-size and working pixels, centres at whole numbers.
func (m *measuring) toWork(p Point) [2]float64 {
	return [2]float64{(p[0]+0.5)/m.im.ScaleX - 0.5, (p[1]+0.5)/m.im.ScaleY - 0.5}
}

func (m *measuring) toFull(p [2]float64) Point {
	return Point{round((p[0]+0.5)*m.im.ScaleX-0.5, 1), round((p[1]+0.5)*m.im.ScaleY-0.5, 1)}
}
