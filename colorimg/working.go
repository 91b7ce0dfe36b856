package colorimg

import (
	"context"
	"slices"

	"hueward/colorimg/camera"
	"hueward/colorimg/photo"
)

// Working is one photo that a user is correcting. It is opened, and its light is corrected,
// once; then its petals are measured for each change. Its readings equal those of [Measure]. It must
// not be used by several goroutines at once, and takes as much memory as a working picture.
type Working struct {
	file string
	opt  Options
	lit  *measuring // the photo with its light corrected; nil: not opened yet
	card *[4]Point  // the corners of the card that lit was made with
}

// NewWorking returns a photo to be corrected; opt may be nil. The first call of Measure reads the
// file, and so does one with other corners of the card.
func NewWorking(file string, opt *Options) *Working {
	return &Working{file: file, opt: *(*Correction)(nil).Options(opt)}
}

// Measure is [Measure] with a correction, which may be nil.
func (w *Working) Measure(ctx context.Context, c *Correction) (*Reading, error) {
	opt := c.Options(&w.opt)
	same := w.card == opt.Card || w.card != nil && opt.Card != nil && *w.card == *opt.Card
	if w.lit == nil || !same {
		w.lit = nil
		m, err := begin(ctx, w.file, opt)
		if err == nil {
			err = m.light()
		}
		if err != nil {
			if m.photo != nil {
				m.photo.Done()
			}
			return m.Reading, err
		}
		w.lit, w.card = m, opt.Card
	}
	if ctx.Err() != nil {
		return w.lit.Reading, ctx.Err()
	}
	m, r := *w.lit, *w.lit.Reading
	r.Flags, r.Correction = slices.Clone(r.Flags), opt.correction()
	m.Reading, m.opt, m.skip = &r, opt, slices.Clip(m.skip)
	if err := m.petals(); err != nil {
		return &r, err
	}
	r.conclude()
	return &r, nil
}

// begin opens a photo and reads its tag: all that comes before the light is corrected.
func begin(ctx context.Context, file string, opt *Options) (*measuring, error) {
	r := &Reading{File: file, Status: Refused, Method: Method, Flags: []Flag{}, Colors: []Share{}, Radial: []Ring{}, Zones: []Zone{},
		Correction: opt.correction(), Card: CardRead{Gains: [3]float64{1, 1, 1}}}
	m := &measuring{Reading: r, opt: opt, gains: [3]float64{1, 1, 1}}
	p, err := photo.Open(ctx, file, &photo.Options{Limits: opt.Limits})
	if err != nil {
		if ctx.Err() != nil {
			return m, ctx.Err()
		}
		return m, r.refuseOpen(err)
	}
	r.facts(p)
	m.photo, m.im = p, p.Image
	if m.dark() {
		return m, r.refuse(problemBlack, nil)
	}
	if m.colorless() {
		return m, r.refuse(problemColorless, nil)
	}
	m.flagIf(p.Coarse >= tooCoarse, FlagCompressed)
	if c := camera.Of(opt.Cameras, m.Camera); c != nil {
		m.undo(c)
	}
	m.findTag()
	return m, nil
}
