package measure

import (
	"context"
	"os"
	"time"

	"hueward/colorimg"
)

// batch hands over what is known, then measures the others.
func (m *measuring) batch(ctx context.Context, opt *colorimg.Options, known map[int]colorimg.Result,
	each func(colorimg.Result) error) error {
	var jobs []colorimg.Job
	var at []int
	for i, job := range m.jobs {
		if r, ok := known[i]; ok {
			if err := each(r); err != nil {
				return err
			}
			continue
		}
		jobs, at = append(jobs, job), append(at, i)
	}
	return colorimg.Batch(ctx, jobs, opt, func(r colorimg.Result) error {
		r.Index = at[r.Index]
		return each(r)
	})
}

// again measures photos once more that were set aside, as soon as nobody writes to them.
func (m *measuring) again(ctx context.Context, opt *colorimg.Options, set []int, each func(colorimg.Result) error) error {
	var jobs []colorimg.Job
	var files []string
	for _, i := range set {
		jobs, files = append(jobs, m.jobs[i]), append(files, m.jobs[i].File)
	}
	settle(ctx, files)
	return colorimg.Batch(ctx, jobs, opt, func(r colorimg.Result) error {
		r.Index = set[r.Index]
		return each(r)
	})
}

// A photo that is still copied from a phone or a stick is not whole yet. Common
// practice, no source.
const (
	freshFor = 15 * time.Second       // a broken photo that was written to so lately may still be
	quietFor = time.Second            // nobody writes to a file that has not changed for so long
	mostWait = 30 * time.Second       // for all of them
	lookEach = 100 * time.Millisecond // looks at a file
)

// stillWritten reports whether a photo that could not be read may be so because it is
// still being written.
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
	type state struct {
		size int64
		time time.Time
	}
	look := func() []state {
		all := make([]state, len(files))
		for i, f := range files {
			if info, err := os.Stat(f); err == nil {
				all[i] = state{info.Size(), info.ModTime()}
			}
		}
		return all
	}
	begun := time.Now()
	was, since := look(), time.Now()
	for time.Since(since) < quietFor && time.Since(begun) < mostWait {
		select {
		case <-ctx.Done():
			return
		case <-time.After(lookEach):
		}
		now := look()
		for i := range now {
			if now[i] != was[i] {
				was, since = now, time.Now()
				break
			}
		}
	}
}
