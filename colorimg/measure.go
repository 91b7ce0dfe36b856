package colorimg

import (
	"context"
	"errors"
	"fmt"
	"math"

	"hueward/colorimg/card"
	"hueward/colorimg/cie"
	"hueward/colorimg/petal"
	"hueward/colorimg/photo"
)

// Measure reads the petal colour of one photo. A photo that gives none comes
// back as a reading with status [Refused] together with a [*RefusedError];
// any other error means that the work was stopped.
func Measure(ctx context.Context, file string, opt *Options) (*Reading, error) {
	if opt == nil {
		opt = &Options{}
	}
	r := &Reading{File: file, Status: Refused, Method: Method, Flags: []Flag{}, Colors: []Share{}, Radial: []Ring{}, Zones: []Zone{},
		Card: CardRead{Gains: [3]float64{1, 1, 1}}}
	p, err := photo.Open(ctx, file, &photo.Options{Limits: opt.Limits})
	if err != nil {
		if ctx.Err() != nil {
			return r, ctx.Err()
		}
		return r, r.refuseOpen(err)
	}
	r.facts(p)
	m := &measuring{Reading: r, opt: opt, im: p.Image}
	if m.dark() {
		return r, r.refuse("the photo is black, or nearly so", "photograph it again in more light", nil)
	}
	if err := m.light(); err != nil {
		return r, err
	}
	if ctx.Err() != nil {
		return r, ctx.Err()
	}
	if err := m.petals(); err != nil {
		return r, err
	}
	r.conclude()
	return r, nil
}

// measuring is one photo on its way from picture to reading.
type measuring struct {
	*Reading
	opt   *Options
	im    *photo.Linear
	patch card.Patch
	quad  card.Quad
	bloom *petal.Bloom

	evened *fallOff // taken out of im; nil: none
}

func (r *Reading) refuse(reason, hint string, err error) error {
	r.Status, r.Reason = Refused, reason+"; "+hint
	return &RefusedError{File: r.File, Reason: reason, Hint: hint, Err: err}
}

func (r *Reading) flag(f Flag) { r.Flags = append(r.Flags, f) }

func (r *Reading) facts(p *photo.Photo) {
	r.SHA256, r.Camera, r.Size, r.Profile = p.SHA256, p.Camera, [2]int{p.Width, p.Height}, p.Profile
	if !p.Taken.IsZero() {
		r.TakenAt = &TakenAt{p.Taken}
	}
	if p.ProfileAssumed {
		r.Profile = "sRGB (assumed)"
		if p.ProfileDamaged {
			r.flag(FlagProfile)
		}
	}
}

// conclude sets the status from the flags.
func (r *Reading) conclude() {
	r.Status, r.Reason = OK, ""
	for _, f := range r.Flags {
		if f.Info() {
			continue
		}
		r.Status = Check
		what, todo := f.Words()
		if r.Reason != "" {
			r.Reason += "; "
		}
		r.Reason += what + ": " + todo
	}
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

// light finds and reads the card.
func (m *measuring) light() error {
	if m.opt.NoCard {
		m.flag(FlagNoCard)
		return nil
	}
	switch {
	case m.opt.Card != nil:
		for i, c := range *m.opt.Card {
			m.quad[i] = m.toWork(c)
		}
		m.flag(FlagCardGiven)
	default:
		found := card.Find(m.im)
		if len(found) == 0 || found[0].Score < card.Accept {
			return m.refuse("no grey card found", "give --card x,y,w,h, or lay a card beside the bloom and photograph it again", card.ErrNone)
		}
		m.quad = found[0].Quad
		if found[0].Score < card.Sure {
			m.flag(FlagCardUncertain)
		}
		if len(found) > 1 && found[1].Score > 0.6*found[0].Score {
			m.flag(FlagCardTwo)
		}
	}
	m.patch = card.Read(m.im, m.quad, m.opt.CardY)
	if m.patch.Pixels < 12 {
		return m.refuse("the card given lies outside the photo or is too small to read", "give --card x,y,w,h in pixels of the photo as displayed", nil)
	}
	if m.patch.Clipped > 0.5 || min(m.patch.RGB[0], m.patch.RGB[1], m.patch.RGB[2]) < 0.0015 {
		return m.refuse("the grey card cannot be read: too bright or too dark", "photograph it again with less light on it, or in open shade", nil)
	}
	kelvin, duv := m.patch.Light()
	c := &m.Card
	c.Found, c.Gains, c.CCT, c.EV = true, m.patch.Gains(), math.Round(kelvin), m.patch.EV()
	var corners [4]Point
	for i, p := range m.quad {
		corners[i] = m.toFull(p)
	}
	c.Corners = &corners
	m.judgeCard(kelvin, duv)
	if f, ok := m.fallOff(); ok {
		m.even(f)
	}
	return nil
}

func (m *measuring) judgeCard(kelvin, duv float64) {
	p := m.patch
	if p.Clipped > 0.02 {
		m.flag(FlagCardClipped)
	}
	if p.Slope > 0.22 || p.Noise > 0.09 {
		m.flag(FlagCardUneven)
	}
	if p.EV() < -2.2 {
		m.flag(FlagCardDark)
	}
	if p.Pixels < 120 {
		m.flag(FlagCardSmall)
	}
	if duv > 0.010 || kelvin < 3900 || kelvin > 15000 {
		m.flag(FlagLightOdd)
	}
}

// petals finds the bloom and reads its colours.
func (m *measuring) petals() error {
	o := &petal.Options{}
	if m.Card.Found {
		border := m.quad.Shrunk(1.25)
		o.Skip = func(x, y int) bool { return border.Contains(float64(x), float64(y)) }
	}
	if b := m.opt.Bloom; b != nil {
		if b[0] < 0 || b[1] < 0 || b[0] >= float64(m.Size[0]) || b[1] >= float64(m.Size[1]) {
			return m.refuse(fmt.Sprintf("the bloom point %g,%g lies outside the photo", b[0], b[1]), fmt.Sprintf("the photo is %d × %d pixels", m.Size[0], m.Size[1]), nil)
		}
		w := m.toWork(*b)
		o.Bloom = &w
	}
	b, err := petal.Find(m.im, m.Card.Gains, o)
	if errors.Is(err, petal.ErrNoBloom) {
		return m.refuse("no bloom found", "give --bloom x,y, or put a plain board behind the bloom and photograph it again", err)
	}
	if err != nil {
		return err
	}
	m.bloom = b
	c, err := b.Colors()
	if err != nil {
		return m.refuse("the petals cannot be read: too bright, too dark or too few", "go nearer, out of the sun, and photograph it again", err)
	}
	m.fill(c)
	m.judgePetals(c)
	return nil
}

// fill writes what the petals showed into the reading.
func (m *measuring) fill(c *petal.Colors) {
	b := m.bloom
	m.Lab = triple(c.Lab)
	h := c.Lab.LCh()
	m.LCh = &Triple{round(h.L, 3), round(h.C, 3), round(h.H, 3)}
	m.Hex, m.Name = c.Lab.Hex(), cie.Name(c.Lab)
	sp := Triple{round(c.Spread[0], 3), round(c.Spread[1], 3), round(c.Spread[2], 3)}
	m.Spread = &sp
	for _, s := range c.Shares {
		m.Colors = append(m.Colors, Share{*triple(s.Lab), round(s.Share, 4)})
	}
	at := m.toFull(b.Center)
	m.Petal.Bloom = &at
	m.Petal.Share = round(float64(b.Pixels)/float64(m.im.W*m.im.H), 5)
	m.Petal.Pixels = int(math.Round(float64(b.Pixels) * m.im.ScaleX * m.im.ScaleY))
	m.Petal.Outline = m.outline(b.Mask)
	if m.opt.KeepMask {
		m.Mask = m.fullMask(b.Mask)
	}
	m.errors(c)
}

func (m *measuring) judgePetals(c *petal.Colors) {
	b := m.bloom
	if b.Pixels < 600 {
		m.flag(FlagBloomSmall)
	}
	if b.Edge > 0.12 {
		m.flag(FlagBloomEdge)
	}
	if b.Rival > 0.85 {
		m.flag(FlagBloomTwo)
	}
	if b.Score < petal.Accept {
		m.flag(FlagPetalUncertain)
	}
	if c.Clipped > 0.25 {
		m.flag(FlagPetalClipped)
	}
	if c.Shadow > 0.25 || c.Patches[0] > 11 && c.Patches[0] > 4*c.Patches[1] {
		m.flag(FlagPetalShadow)
	}
	if f := m.evened; f != nil && math.Abs(f.at(b.Center[0], b.Center[1])-1) > 0.03 {
		m.flag(FlagLightCorrected)
	}
	if m.Card.Found {
		ratio, told := m.shaded()
		if c.White > 0.05 || told && (ratio > shadeRatio || ratio < 1/shadeRatio) {
			m.flag(FlagLightUneven)
		}
	}
	if len(c.Shares) > 1 {
		m.flag(FlagTwoColors)
	}
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
