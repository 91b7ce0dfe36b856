package colorimg

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"hueward/colorimg/cie"
	"hueward/colorimg/petal"
)

// ruined is the share of petal pixels with a cut-off channel above which too few are
// left to estimate the others from. Our own choice.
const ruined = 0.75

// petals finds the bloom and reads its colours.
func (m *measuring) petals() error {
	o := &petal.Options{CutOff: m.cutOff, Skip: m.skipped()}
	if m.sheet != nil {
		at, _ := m.sheet.Bloom()
		w := m.toWork(at)
		o.Bloom = &w
	}
	if b := m.opt.Bloom; b != nil {
		if !(b[0] >= 0 && b[1] >= 0 && b[0] < float64(m.Size[0]) && b[1] < float64(m.Size[1])) { // also rejects NaN
			return m.refuse(Problem{CodeBloomPlace, fmt.Sprintf("the bloom point %g,%g lies outside the photo", b[0], b[1]),
				fmt.Sprintf("the photo is %d × %d pixels", m.Size[0], m.Size[1])}, nil)
		}
		w := m.toWork(*b)
		o.Bloom = &w
	}
	var err error
	if o.Strokes, err = m.strokes(); err != nil {
		return err
	}
	b, err := petal.Find(m.im, m.gains, o)
	painted := slices.IndexFunc(o.Strokes, func(s petal.Stroke) bool { return s.In })
	if painted >= 0 && o.Bloom == nil && errors.Is(err, petal.ErrNoBloom) {
		o.Bloom = &o.Strokes[painted].Points[0] // a stroke over petals also points at the bloom
		b, err = petal.Find(m.im, m.gains, o)
	}
	if errors.Is(err, petal.ErrNoBloom) {
		return m.refuse(problemBloom, err)
	}
	if err != nil {
		return err
	}
	m.bloom = b
	c, err := b.Colors()
	if err != nil {
		return m.refuse(problemPetals, err)
	}
	if c.Clipped > ruined {
		return m.refuse(problemBright, nil)
	}
	m.fill(c)
	m.judgePetals(c)
	if m.flagged(FlagCardUneven) && m.otherLight {
		// The card shows two lights, and the bloom perhaps a third.
		m.unread()
		return m.refuse(problemTwoLights, nil)
	}
	return nil
}

// unread removes petals and colours from the reading; the card stays.
func (m *measuring) unread() {
	m.Lab, m.LCh, m.Spread, m.SELab, m.Hex, m.Name = nil, nil, nil, nil, "", ""
	m.SE = Errors{}
	m.Colors, m.Radial, m.Zones = []Share{}, []Ring{}, []Zone{}
	m.Petal, m.Mask, m.Reasons = PetalArea{}, nil, nil
}

// fill writes what the petals showed into the reading.
func (m *measuring) fill(c *petal.Colors) {
	b := m.bloom
	m.Lab = triple(c.Lab)
	h := c.Lab.LCh()
	m.LCh = &Triple{round(h.L, 3), round(h.C, 3), round(h.H, 3)}
	m.Hex, m.Name = c.Lab.Hex(), cie.Name(c.Lab)
	m.Spread = triple(Triple(c.Spread).Lab())
	for _, s := range c.Shares {
		m.Colors = append(m.Colors, Share{*triple(s.Lab), round(s.Share, 4)})
	}
	at := m.toFull(b.Center)
	m.Petal.Bloom = &at
	m.Petal.Sure = round(b.Sure, 3)
	m.Petal.Share = round(float64(b.Pixels)/float64(m.im.W*m.im.H), 5)
	m.Petal.Pixels = int(math.Round(float64(b.Pixels) * m.im.ScaleX * m.im.ScaleY))
	m.Petal.Outline = m.outline(b.Mask)
	if m.opt.KeepMask {
		m.Mask = m.fullMask(b.Mask)
	}
	if m.opt.KeepReasons {
		m.Reasons = &Reasons{W: m.im.W, H: m.im.H, Pix: b.Fates(c)}
	}
	for _, g := range c.Rings {
		m.Radial = append(m.Radial, Ring{round(g.At, 3), *triple(g.Lab), round(g.Share, 4)})
	}
	for _, z := range c.Zones {
		m.Zones = append(m.Zones, Zone{z.Name, round(z.From, 3), round(z.To, 3), *triple(z.Lab), round(z.Share, 4)})
	}
	across := b.Diameter() * math.Sqrt(m.im.ScaleX*m.im.ScaleY)
	m.Petal.DiameterPixels = round(across, 1)
	if k := m.pixelsPerMM(); k > 0 {
		m.Petal.DiameterMM = round(across/k, 1)
	}
	m.errors(c)
}

// Limits from which a reading is flagged. Our own choices.
const (
	rivalTwo    = 0.42 // of [petal.Bloom].Rival: another bloom may be meant
	sharpEnough = 0.18 // least [petal.Bloom].Sharp of an outline in focus
	doubtful    = 3.5  // of [petal.Bloom].Doubt: the outline is uncertain
	muchGuessed = 3.0  // of [petal.Colors].Guessed: too much depends on cut-off channels
	muchShaded  = 2.0  // of [petal.Colors].Shaded: too much depends on what lies in deep shadow
)

// judgePetals flags doubts about the petals.
func (m *measuring) judgePetals(c *petal.Colors) {
	b := m.bloom
	m.flagIf(b.Pixels < 600, FlagBloomSmall)
	m.flagIf(b.Edge > 0.12, FlagBloomEdge)
	m.flagIf(b.Rival > rivalTwo, FlagBloomTwo)
	m.flagIf(b.Sharp < sharpEnough, FlagBlurred)
	m.flagIf(b.Sure < petal.Accept || b.Doubt > doubtful || petal.LeafGreen(c.Lab) && c.Lab.L < 60 || m.doubtful(), FlagPetalUncertain)
	m.flagIf(c.Clipped > 0.25 || c.Guessed > muchGuessed, FlagPetalClipped)
	m.flagIf(c.Browned > 0.1, FlagPetalBrowned)
	m.flagIf(c.Faded, FlagPetalFaded)
	m.flagIf(c.Shadow > 0.25 || c.Shaded > muchShaded || c.Patches[0] > 11 && c.Patches[0] > 3.5*c.Patches[1], FlagPetalShadow)
	much := 0.0
	if f := m.evened; f != nil {
		if much = math.Abs(f.at(b.Center[0], b.Center[1]) - 1); much > 0.03 {
			m.flag(FlagLightCorrected)
		}
	}
	if m.Card.Found {
		m.flagIf(!m.flagged(FlagCardUneven) && m.cardSplit(), FlagCardUneven)
		ratio, known := m.shaded()
		m.otherLight = c.White > 0.05 || known && (ratio > shadeRatio || ratio < 1/shadeRatio)
		m.flagIf(m.otherLight || much > muchEvened, FlagLightUneven)
	}
	m.flagIf(len(c.Shares) > 1 && !c.Blend, FlagTwoColors)
	m.flagIf(c.Blend, FlagColorsBlend)
}

// skipped returns a function that reports the working pixels that are card or tag, or lie outside the photo
// sheet's place for the bloom; nil: none.
func (m *measuring) skipped() func(x, y int) bool {
	skip := m.skip
	if m.sheet == nil {
		if len(skip) == 0 {
			return nil
		}
		return func(x, y int) bool {
			for _, q := range skip {
				if q.Contains(float64(x), float64(y)) {
					return true
				}
			}
			return false
		}
	}
	fx0, fy0, fx1, fy1 := m.sheet.Window(1.15)
	a, b := m.toWork(Point{fx0, fy0}), m.toWork(Point{fx1, fy1})
	return func(x, y int) bool {
		return float64(x) < a[0] || float64(y) < a[1] || float64(x) > b[0] || float64(y) > b[1]
	}
}
