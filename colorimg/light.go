package colorimg

import (
	"cmp"
	"errors"
	"math"
	"slices"

	"hueward/colorimg/camera"
	"hueward/colorimg/card"
	"hueward/colorimg/cie"
	"hueward/colorimg/patches"
	"hueward/colorimg/tag"
)

// undo undoes the phone's tone curve and colours by its camera model.
func (m *measuring) undo(c *camera.Model) {
	m.keepCutOff()
	c.Correct(m.im.Pix)
	m.model, m.Model = c, c.String()
	m.flag(FlagCameraModel)
}

// cardGiven takes the card from the corners that the user gave.
func (m *measuring) cardGiven() {
	for i, c := range m.opt.Card {
		m.quad[i] = m.toWork(c)
	}
	m.flag(FlagCardGiven)
}

// light finds and reads the card, and corrects for the light.
func (m *measuring) light() error {
	if m.opt.NoCard {
		m.flag(FlagNoCard)
		return nil
	}
	var strip card.StripQuad
	isStrip := false
	switch {
	case m.opt.Patches != nil:
		if err := m.patchesAsCard(); err != nil {
			return err
		}
	case m.opt.Card != nil:
		m.cardGiven()
		strip, isStrip = card.SplitStrip(m.im, m.quad)
	case m.sheet != nil:
		if err := m.cardOnSheet(); err != nil {
			return err
		}
	default:
		found := card.Find(m.im)
		if len(found) == 0 || found[0].Score < card.Accept {
			return m.refuse(problemCard, card.ErrNone)
		}
		m.quad = found[0].Quad
		if strip, isStrip = card.FindStrip(m.im, found); isStrip {
			break
		}
		m.flagIf(found[0].Score < card.Sure, FlagCardUncertain)
		m.flagIf(len(found) > 1 && found[1].Score > 0.6*found[0].Score, FlagCardTwo)
	}
	c := &m.Card
	m.outer = m.quad
	switch {
	case m.opt.Patches != nil:
		c.Kind = "patches"
	case isStrip:
		c.Kind, m.quad = "strip", strip.Grey
		m.outer = strip.Outline()
		m.patch = card.Read(m.im, m.quad, cmp.Or(m.opt.Strip[1], m.opt.CardY))
	default:
		c.Kind = "grey"
		m.patch = card.Read(m.im, m.quad, m.opt.CardY)
	}
	if m.patch.Pixels < 12 {
		return m.refuse(problemCardPlace, nil)
	}
	if m.model == nil {
		m.finer()
	}
	if m.patch.Clipped > 0.5 || min(m.patch.RGB[0], m.patch.RGB[1], m.patch.RGB[2]) < 0.0015 {
		return m.refuse(problemCardLight, nil)
	}
	kelvin, duv := m.patch.Light()
	c.Found, c.Gains, c.CCT, c.EV = true, m.patch.Gains(), math.Round(kelvin), m.patch.EV()
	m.gains = c.Gains
	var corners [4]Point
	for i, p := range m.outer {
		corners[i] = m.toFull(p)
	}
	c.Corners = &corners
	m.skip = append(m.skip, m.outer.Shrunk(1.25))
	m.judgeCard(kelvin, duv)
	if isStrip {
		m.undoTone(strip)
	}
	f, ok, steep := m.fallOff()
	m.flagIf(steep, FlagCardUneven)
	if ok {
		m.keepCutOff()
		m.even(f)
	}
	return nil
}

// finelyRounded is the standard error of a channel of the card, in steps of 1/255, after finer, for JPEGs
// of the usual quality: half of what rounding to whole steps leaves, on real photos with a card laid in.
const finelyRounded = 0.15

// finer corrects the card's colour for rounding by the JPEG's decoder: see [photo.Photo.Finer].
func (m *measuring) finer() {
	f, ok := m.photo.Finer(func(at func(x, y int)) { m.quad.Shrunk(0.7).Each(m.im.W, m.im.H, at) })
	if !ok {
		return
	}
	for c := range f {
		m.patch.RGB[c] *= f[c]
	}
	m.rounding = finelyRounded
}

// slopeUneven is the relative change of light across the card's face
// from which the card is flagged. Our own choice.
const slopeUneven = 0.22

// noiseUneven is the relative scatter of light between blocks of the card's face
// from which it is flagged. Our own choice.
const noiseUneven = 0.075

// judgeCard flags doubts about the card and the illuminant.
func (m *measuring) judgeCard(kelvin, duv float64) {
	p := m.patch
	m.flagIf(p.Clipped > 0.02, FlagCardClipped)
	m.flagIf(p.Slope > slopeUneven || p.Patchy > noiseUneven, FlagCardUneven)
	m.flagIf(p.EV() < -2.2, FlagCardDark)
	m.flagIf(p.Pixels < 90, FlagCardSmall)
	m.flagIf(duv > 0.010 || kelvin < 3900 || kelvin > 15000, FlagLightOdd)
}

// undoTone undoes the camera's tone curve by the strip. A strip that
// fits no camera's curve lies partly in another light, and is flagged.
func (m *measuring) undoTone(q card.StripQuad) {
	curve, err := card.ReadStrip(m.im, q, m.opt.Strip).Curve()
	if err != nil {
		m.flag(FlagCardUneven)
		return
	}
	m.keepCutOff()
	for p := range slices.Chunk(m.im.Pix, 3) {
		v := curve.Apply([3]float32(p))
		copy(p, v[:])
	}
	m.gains = [3]float64{1, 1, 1}
	m.toned = true
}

// cardOnSheet finds the card in its box on the photo sheet.
func (m *measuring) cardOnSheet() error {
	if luma := m.photo.Lightness(); m.sheet.CardMissing(tag.PhotoLuma(&luma)) {
		return m.refuse(problemOffSheet, card.ErrNone)
	}
	var box card.Quad
	for i, p := range m.sheet.Card() {
		box[i] = m.toWork(p)
	}
	// A card cut smaller than the box, or laid askew, is found in it.
	m.quad = box.Shrunk(0.8)
	for _, c := range card.Find(m.im) {
		if x, y := c.Quad.Center(); c.Score > card.Accept/2 && box.Contains(x, y) {
			m.quad = c.Quad
			break
		}
	}
	return nil
}

// patchesAsCard reads a set of patches in the picture: its colours give a
// camera model, its grey the light.
func (m *measuring) patchesAsCard() error {
	set := m.opt.Patches
	var ok bool
	if m.opt.Card != nil {
		m.cardGiven()
		m.quad, _, ok = set.Orient(m.im, m.quad)
	} else {
		m.quad, _, ok = set.Find(m.im)
	}
	if !ok {
		return m.refuse(problemNoPatches, card.ErrNone)
	}
	samples, err := set.Read(m.im, m.quad)
	if err == nil && m.model == nil {
		c, wrong := camera.Fit(samples, &camera.Options{Profile: m.Profile})
		switch {
		case wrong == nil:
			m.undo(c)
			samples, err = set.Read(m.im, m.quad)
		case !errors.Is(wrong, camera.ErrFew):
			return m.refuse(Problem{CodePatches, wrong.Error(), "photograph the set of patches again in even light"}, wrong)
		}
	}
	if err != nil {
		return m.refuse(Problem{CodePatches, err.Error(), "check that the file of patches is the right one, or photograph it again"}, err)
	}
	return m.greyOf(samples)
}

// greyOf takes the neutral patch nearest to 18 % reflectance as the grey card.
func (m *measuring) greyOf(samples []patches.Sample) error {
	best, off := -1, math.Inf(1)
	for i, s := range samples {
		if d := math.Abs(math.Log(s.Ref.Y / card.DefaultY)); s.Neutral && s.Clipped < 0.02 && d < off {
			best, off = i, d
		}
	}
	if best < 0 || off > math.Log(4) {
		return m.refuse(problemNoGrey, nil)
	}
	s := samples[best]
	m.patch = card.Patch{RGB: s.RGB, SE: s.SE, Clipped: s.Clipped, Pixels: s.Pixels, Y: s.Ref.Y,
		GradSE: [2]float64{math.Inf(1), math.Inf(1)}}
	// A grey patch is not quite neutral: its reference colour is taken into account.
	for i, v := range cie.SRGB.RGB(s.Ref) {
		m.patch.RGB[i] *= s.Ref.Y / max(v, 1e-6)
	}
	return nil
}
