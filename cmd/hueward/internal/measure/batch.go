package measure

import (
	"context"
	"fmt"
	"os"
	"slices"
	"time"

	"hueward/colorimg"
	"hueward/report/words"
)

// batch hands over what is known, then measures the others.
func (m *measuring) batch(ctx context.Context, opt *colorimg.Options, known map[int]colorimg.Result,
	each func(colorimg.Result) error) error {
	var others []int
	for i := range m.jobs {
		if r, ok := known[i]; !ok {
			others = append(others, i)
		} else if err := each(r); err != nil {
			return err
		}
	}
	return m.some(ctx, opt, others, each)
}

// again measures photos once more that were set aside, as soon as nobody writes to them.
func (m *measuring) again(ctx context.Context, opt *colorimg.Options, set []int, each func(colorimg.Result) error) error {
	settle(ctx, words.Each(set, func(i int) string { return m.jobs[i].File }))
	return m.some(ctx, opt, set, each)
}

// some measures those of the photos.
func (m *measuring) some(ctx context.Context, opt *colorimg.Options, those []int, each func(colorimg.Result) error) error {
	jobs := make([]colorimg.Job, len(those))
	for k, i := range those {
		jobs[k] = m.jobs[i]
	}
	return colorimg.Batch(ctx, jobs, opt, func(r colorimg.Result) error {
		r.Index = those[r.Index]
		return each(r)
	})
}

// A photo that is still copied from a phone or a stick is not whole yet. Common practice, no source.
const (
	freshFor = 15 * time.Second       // a broken photo that was written to so lately may still be
	quietFor = time.Second            // nobody writes to a file that has not changed for so long
	mostWait = 30 * time.Second       // for all of them
	lookEach = 100 * time.Millisecond // looks at a file
)

// stillWritten reports whether a photo that could not be read may be so because it is still being written.
func stillWritten(r colorimg.Result) bool {
	if r.Refused == nil || r.Refused.Problem.Code != colorimg.CodeBroken {
		return false
	}
	info, err := os.Stat(r.Job.File)
	if err != nil {
		return false
	}
	age := time.Since(info.ModTime())
	return age > -freshFor && age < freshFor
}

// settle waits until none of the files changes any more.
func settle(ctx context.Context, files []string) {
	look := func() []string {
		return words.Each(files, func(f string) string {
			info, err := os.Stat(f)
			if err != nil {
				return ""
			}
			return fmt.Sprint(info.Size(), info.ModTime())
		})
	}
	begun := time.Now()
	was, since := look(), time.Now()
	for time.Since(since) < quietFor && time.Since(begun) < mostWait {
		select {
		case <-ctx.Done():
			return
		case <-time.After(lookEach):
		}
		if now := look(); !slices.Equal(now, was) {
			was, since = now, time.Now()
		}
	}
}
