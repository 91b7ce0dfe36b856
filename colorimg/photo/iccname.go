package photo

import (
	"bytes"
	"cmp"
	"math"

	"github.com/kovidgoyal/imaging/prism/meta/icc"

	"hueward/colorimg/cie"
)

// name returns how to call the profile: the two common spaces by their numbers, any other by its description tag.
func (p *profile) name(e *encoding) string {
	for _, s := range []cie.Space{cie.SRGB, cie.DisplayP3} {
		if e.like(s) {
			return s.Name
		}
	}
	return cmp.Or(p.description(), "unnamed profile")
}

// keepsItsName reports whether a profile that bears the name of a common space
// holds its numbers. A byte changed in storage makes other numbers, and nothing
// else in a profile would tell: many sound ones are found whose checksum is wrong.
func (p *profile) keepsItsName(e *encoding) bool {
	if p.space != "RGB " || e.grid != nil {
		return true
	}
	common := map[string]cie.Space{"sRGB": cie.SRGB, "sRGB IEC61966-2.1": cie.SRGB, "Display P3": cie.DisplayP3}
	s, ok := common[p.description()]
	return !ok || e.like(s)
}

// like reports whether e is the space s: colours differ by less than the rounding of one 8-bit step.
func (e *encoding) like(s cie.Space) bool {
	if e.grid != nil || !closeTo(e.matrix, cie.SRGB.FromXYZ.Mul(s.ToXYZ), 0.004) {
		return false
	}
	for _, f := range e.curve {
		for i := range 256 {
			v := float64(i) / 255
			if !(math.Abs(cie.Encode(f(v))-v) < 0.5/255) {
				return false
			}
		}
	}
	return true
}

// description returns the text of the description tag, or nothing.
func (p *profile) description() (s string) {
	defer func() {
		if recover() != nil {
			s = ""
		}
	}()
	q, err := icc.DecodeProfile(bytes.NewReader(p.data))
	if err != nil {
		return ""
	}
	if s, err = q.Description(); err != nil {
		return ""
	}
	return plain(s, 80)
}
