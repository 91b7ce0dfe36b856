package measure

import (
	"context"
	"strings"

	"hueward/cmd/hueward/internal/cli"
	"hueward/colorimg"
	"hueward/colorimg/photo"
	"hueward/report"
)

// explain writes the picture that shows where a reading comes from, when such
// are asked for, and lets go of what only it needs. A photo that could not be
// opened has none; missing says why another has none.
//
// The photo is opened a second time, for the eye, so that only one at a time
// is held whatever the number of photos.
func (m *measuring) explain(ctx context.Context, r colorimg.Result, opt *colorimg.Options) (missing string, err error) {
	defer func() { r.Reading.Reasons = nil }()
	if m.explained == nil || r.Reading.Size[0] == 0 {
		return "", nil
	}
	// What is measured is explained even when Ctrl-C came meanwhile.
	p, err := photo.Open(context.WithoutCancel(ctx), r.Reading.File, &photo.Options{Limits: opt.Limits, Work: report.ExplainSide})
	if err != nil {
		return strings.TrimPrefix(err.Error(), r.Reading.File+": "), nil
	}
	defer p.Done()
	return "", writePicture(m.explained[r.Index], cli.Explain, report.Explain(p.Image.Display(), r.Reading))
}
