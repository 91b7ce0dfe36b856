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

// Measure reads the petal colour of one photo. A photo that gives none comes
// back as a reading with status [Refused] together with a [*RefusedError];
// any other error means that the work was stopped.
func Measure(ctx context.Context, file string, opt *Options) (*Reading, error) {
	w := NewWorking(file, opt)
	r, err := w.Measure(ctx, nil)
	if w.lit != nil {
		w.lit.photo.Done()
	}
	return r, err
}

// measuring is one photo on its way from picture to reading.
type measuring struct {
	*Reading
	opt   *Options
	photo *photo.Photo
	im    *photo.Linear // working picture; corrections are made in place
	bloom *petal.Bloom

	otherLight bool // than the card's on the bloom, as petals or ground show

	quad     card.Quad   // the grey patch
	outer    card.Quad   // the card: the patch, the strip, the set of patches
	patch    card.Patch  // what it says of the light
	rounding float64     // error of its channels, as a share of a step of 255; 0: as an even area is rounded
	skip     []card.Quad // card and tag: neither bloom nor ground
	gains    [3]float64  // what im is still to be multiplied by

	model  *camera.Model // undone in im; nil: none
	cutOff []uint8       // see petal.Options; nil: im is as it was opened
	evened *fallOff      // taken out of im; nil: none
	toned  bool          // a strip's tone curve is taken out of im
	tag    tag.Choice
	sheet  *tag.Located // nil: no photo sheet in the picture
}

// keepCutOff notes which channels were cut off, before anything is changed.
func (m *measuring) keepCutOff() {
	if m.cutOff == nil {
		m.cutOff = petal.CutOff(m.im)
	}
}

func (r *Reading) flagged(f Flag) bool { return slices.Contains(r.Flags, f) }

// Blends reports whether the petals shade from one of r.Colors into another, so that r.Lab is the middle of all of them
// and not the first.
func (r *Reading) Blends() bool { return r.flagged(FlagColorsBlend) }

func (r *Reading) flag(f Flag) { r.Flags = append(r.Flags, f) }

func (r *Reading) flagIf(doubt bool, f Flag) {
	if doubt {
		r.flag(f)
	}
}

func (r *Reading) facts(p *photo.Photo) {
	r.SHA256, r.Camera, r.Size, r.Profile = p.SHA256, p.Camera, [2]int{p.Width, p.Height}, p.Profile
	if !p.Taken.IsZero() {
		r.TakenAt = &TakenAt{p.Taken}
	}
	if p.ProfileAssumed {
		r.Profile = "sRGB (assumed)"
		r.flagIf(p.ProfileDamaged, FlagProfile)
	}
}

// conclude sets the status from the flags.
func (r *Reading) conclude() {
	r.Status = OK
	if slices.ContainsFunc(r.Flags, func(f Flag) bool { return !f.Info() }) {
		r.Status = Check
	}
	r.Reason = new(Hints).Reason(r)
}

// dark reports whether there is next to no light in the photo: not one pixel in
// a thousand above one hundredth of the encoding's white.
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

// colorless reports whether the photo has no colour anywhere: not one pixel in a thousand whose red, green and blue
// differ by more than rounding does. No light makes a camera's photo so.
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

// round keeps as many decimals as mean anything, and JSON short.
func round(v float64, digits int) float64 {
	k := math.Pow10(digits)
	return math.Round(v*k) / k
}

func (m *measuring) toWork(p Point) [2]float64 {
	return [2]float64{(p[0]+0.5)/m.im.ScaleX - 0.5, (p[1]+0.5)/m.im.ScaleY - 0.5}
}

func (m *measuring) toFull(p [2]float64) Point {
	return Point{round((p[0]+0.5)*m.im.ScaleX-0.5, 1), round((p[1]+0.5)*m.im.ScaleY-0.5, 1)}
}
