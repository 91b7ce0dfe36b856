package measure

import (
	"context"
	"errors"
	"strings"

	"hueward/colorimg"
	"hueward/colorimg/camera"
	"hueward/colorimg/tag"
	"hueward/selection/book"
	"hueward/selection/book/disk"
	"hueward/selection/intake"
)

// remembered are the photos of the run that are in the book already, measured by the present method and with the same
// model of their camera: an interrupted run that is begun again does not measure them twice. Those that were refused
// are tried again, and so is every photo when the command line says how to measure it, or asks for a picture that only
// measuring gives. A photo of the book whose card or petals were corrected by hand is then measured with that again.
func (m *measuring) remembered(ctx context.Context, opt *colorimg.Options) (map[int]colorimg.Result, error) {
	if m.keeper == nil || m.o.Given() {
		return nil, nil
	}
	known, err := m.keeper.b.PhotoSums(ctx)
	if err != nil || len(known) == 0 {
		return nil, err
	}
	anew := m.o.again || m.masks != nil || m.explained != nil
	out := map[int]colorimg.Result{}
	for i, job := range m.jobs {
		if job.Options != nil {
			continue
		}
		r, err := m.inBook(ctx, job, known)
		if err != nil {
			return nil, err
		}
		if r == nil {
			continue
		}
		if res, ok := again(i, job, r, opt); ok && !anew {
			out[i] = res
		} else if c := r.Measured.Correction; c != nil {
			m.jobs[i].Options = c.Options(opt)
		}
	}
	return out, nil
}

// inBook is the newest reading of a photo that is in the book; nil when it is not.
func (m *measuring) inBook(ctx context.Context, job colorimg.Job, known map[int64]map[string]bool) (*book.Reading, error) {
	info, err := disk.Stat(job.File)
	if err != nil || !info.Mode().IsRegular() || known[info.Size()] == nil {
		return nil, nil // of another size than every photo in the book: no need to read it
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	sum, err := disk.Sum(job.File)
	if err != nil || !known[info.Size()][sum] {
		return nil, nil
	}
	r, err := m.keeper.b.NewestReading(ctx, sum)
	if errors.Is(err, book.ErrNotFound) {
		return nil, nil
	}
	return r, err
}

// again is the outcome of a photo that was measured before; ok is false when it must be measured anew.
func again(i int, job colorimg.Job, r *book.Reading, opt *colorimg.Options) (res colorimg.Result, ok bool) {
	q := r.Measured
	model := ""
	if c := camera.Of(opt.Cameras, q.Camera); c != nil {
		model = c.String()
	}
	if q.Status == colorimg.Refused || q.Method != colorimg.Method || q.Model != model ||
		job.Plant != "" && !strings.EqualFold(job.Plant, r.Plant) {
		return res, false
	}
	q.File, q.Plant = job.File, nil
	p := intake.Photo{Said: job.Plant, Guess: job.Guess}
	if said, ok := tag.Parse(q.Tag.Text); ok && q.Tag.Found {
		p.Tag = said.Plant
	}
	if plant := p.Plant(); plant != "" {
		q.Plant = &plant
	}
	return colorimg.Result{Index: i, Job: job, Reading: &q}, true
}
