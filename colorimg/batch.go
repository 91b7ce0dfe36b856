package colorimg

import (
	"context"
	"errors"
	"runtime"
	"strings"
	"sync"

	"golang.org/x/sync/errgroup"
)

// Result is one photo's outcome in a batch.
type Result struct {
	Index   int // of the job
	Job     Job
	Reading *Reading // never nil; refused when Refused is not nil
	Refused *RefusedError
}

// Batch measures the jobs' photos, one at a time on each processor, and calls
// each with every outcome as soon as it is known: in any order, never two calls at
// once. A refused photo does not stop the others. Memory does not grow with
// the number of jobs, as readings are not kept.
//
// When ctx ends, no further photo is begun, those that are finished are still
// passed to each, and ctx's error is returned. An error from each stops the work
// in the same way and is returned.
func Batch(ctx context.Context, jobs []Job, opt *Options, each func(Result) error) error {
	workers, open := errgroup.WithContext(ctx)
	workers.SetLimit(runtime.GOMAXPROCS(0))
	var one sync.Mutex
	failed := false
	for i, job := range jobs {
		if open.Err() != nil {
			break
		}
		workers.Go(func() (err error) {
			r, ok := measureJob(open, i, job, opt)
			one.Lock()
			defer one.Unlock()
			if ok && !failed {
				err = each(r)
				failed = err != nil
			}
			return err
		})
	}
	if err := workers.Wait(); err != nil {
		return err
	}
	return ctx.Err()
}

// measureJob measures one photo; ok is false when ctx ended on the way.
func measureJob(ctx context.Context, i int, job Job, opt *Options) (res Result, ok bool) {
	if job.Options != nil {
		opt = job.Options
	}
	r, err := Measure(ctx, job.File, opt)
	res = Result{Index: i, Job: job, Reading: r}
	if err != nil && !errors.As(err, &res.Refused) {
		return res, false
	}
	tagged := r.Plant
	switch {
	case job.Plant != "":
		r.Plant = &job.Plant
	case tagged == nil && job.Guess != "":
		r.Plant = &job.Guess
	}
	if tagged != nil && job.Plant != "" && !strings.EqualFold(*tagged, job.Plant) && r.Status != Refused {
		r.flag(FlagTagOther)
		r.conclude()
	}
	return res, true
}
