package colorimg_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"hueward/colorimg"
	"hueward/colorimg/must"
	"hueward/colorimg/render"
)

// seasonPhotos are those of seasons, by their place.
var seasonPhotos sync.Map

// season is a folder of jobs: small photos, some of which are refused.
func season(t testing.TB, n int) []colorimg.Job {
	t.Helper()
	dir := t.TempDir()
	jobs := make([]colorimg.Job, n)
	for i := range jobs {
		name := filepath.Join(dir, fmt.Sprintf("%03d.jpg", i))
		jobs[i] = colorimg.Job{File: name, Plant: fmt.Sprintf("M-%02d", i/2)}
		var b []byte
		switch i % 5 {
		case 3:
			b = []byte("no photo")
		case 4:
			continue // missing
		default:
			drawn, ok := seasonPhotos.Load(i)
			if !ok {
				s := usual(int64(i))
				s.Width, s.Height, s.Petal = 400, 300, render.Shades[i%len(render.Shades)].Lab
				s.EV = min(s.EV, s.HighestEV())
				drawn, _ = seasonPhotos.LoadOrStore(i, sceneJPEG(t, s))
			}
			b = drawn.([]byte)
		}
		must.OK(t, os.WriteFile(name, b, 0o600))
	}
	return jobs
}

// noLeak fails when goroutines are left after f.
func noLeak(t *testing.T, f func()) {
	t.Helper()
	before := runtime.NumGoroutine()
	f()
	for range 200 {
		if runtime.NumGoroutine() <= before {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Errorf("%d goroutines, were %d before", runtime.NumGoroutine(), before)
}

// TestBatch: every job is handed over once, never two at a time, refused ones
// too, with the same reading as when measured alone, in whatever order the
// jobs are given.
func TestBatch(t *testing.T) {
	jobs := season(t, 15)
	want := map[string]*colorimg.Reading{}
	for _, j := range jobs {
		r, _ := colorimg.Measure(context.Background(), j.File, nil)
		r.Plant = &j.Plant
		want[j.File] = r
	}
	for round := range 2 {
		noLeak(t, func() {
			seen := map[int]bool{}
			refused := 0
			var inside atomic.Int32
			err := colorimg.Batch(context.Background(), jobs, nil, func(r colorimg.Result) error {
				if inside.Add(1) != 1 {
					t.Error("two results are handed over at once")
				}
				defer inside.Add(-1)
				runtime.Gosched()
				if seen[r.Index] || jobs[r.Index] != r.Job {
					t.Errorf("result %d: job %v, seen before: %v", r.Index, r.Job, seen[r.Index])
				}
				seen[r.Index] = true
				if d := diff(want[r.Job.File], r.Reading); d != "" {
					t.Errorf("%s in the batch differs from alone (-alone +batch):\n%s", r.Job.File, d)
				}
				if (r.Refused != nil) != (r.Reading.Status == colorimg.Refused) {
					t.Errorf("%s: refused %v, status %s", r.Job.File, r.Refused, r.Reading.Status)
				}
				if r.Refused != nil {
					refused++
				}
				return nil
			})
			if err != nil || len(seen) != len(jobs) || refused != 6 {
				t.Errorf("round %d: %v, %d results, %d refused; want none, %d and 6", round, err, len(seen), refused, len(jobs))
			}
		})
		rand.New(rand.NewPCG(1, 1)).Shuffle(len(jobs), func(i, j int) { jobs[i], jobs[j] = jobs[j], jobs[i] })
	}
}

// TestBatchOptions: a job's own options stand instead of the batch's.
func TestBatchOptions(t *testing.T) {
	jobs := season(t, 3)
	jobs[1].Options = &colorimg.Options{KeepMask: true}
	jobs[2].Plant = ""
	err := colorimg.Batch(context.Background(), jobs, &colorimg.Options{NoCard: true}, func(r colorimg.Result) error {
		own := r.Index == 1
		if r.Reading.Card.Found != own || (r.Reading.Mask != nil) != own {
			t.Errorf("job %d: card found %v, mask there %v; want both %v", r.Index, r.Reading.Card.Found, r.Reading.Mask != nil, own)
		}
		if (r.Reading.Plant != nil) != (r.Index != 2) {
			t.Errorf("job %d: plant %v", r.Index, r.Reading.Plant)
		}
		return nil
	})
	if err != nil {
		t.Error(err)
	}
}

// TestBatchCancel: when the context ends, what is done is handed over, little
// more is begun, its error comes back, and nothing goes on behind.
func TestBatchCancel(t *testing.T) {
	jobs := season(t, 40)
	noLeak(t, func() {
		ctx, cancel := context.WithCancel(context.Background())
		defer cancel()
		n := 0
		err := colorimg.Batch(ctx, jobs, nil, func(r colorimg.Result) error {
			if n++; n == 3 {
				cancel()
			}
			if r.Reading.Status == colorimg.Refused && r.Refused == nil {
				t.Errorf("%s: handed over half done", r.Job.File)
			}
			return nil
		})
		if err != context.Canceled {
			t.Errorf("Batch = %v, want context.Canceled itself", err)
		}
		// Beyond the third, at most what every worker had finished or in hand.
		if most := 3 + 2*runtime.GOMAXPROCS(0); n < 3 || n > most {
			t.Errorf("%d results after an end at the third, want 3 to %d", n, most)
		}
	})
	noLeak(t, func() {
		ctx, cancel := context.WithCancel(context.Background())
		cancel()
		err := colorimg.Batch(ctx, jobs, nil, func(r colorimg.Result) error {
			t.Errorf("%s handed over", r.Job.File)
			return nil
		})
		if err != context.Canceled {
			t.Errorf("Batch = %v, want context.Canceled itself", err)
		}
	})
}

// TestBatchStops: an error of the callback stops the work, and is returned.
func TestBatchStops(t *testing.T) {
	jobs := season(t, 20)
	full := errors.New("disk full")
	noLeak(t, func() {
		n := 0
		err := colorimg.Batch(context.Background(), jobs, nil, func(colorimg.Result) error {
			if n++; n == 2 {
				return full
			}
			return nil
		})
		if err != full || n != 2 {
			t.Errorf("Batch = %v after %d results, want the callback's error after 2", err, n)
		}
	})
}

// TestBatchEmpty: nothing to do is done at once.
func TestBatchEmpty(t *testing.T) {
	noLeak(t, func() {
		for _, jobs := range [][]colorimg.Job{nil, {}} {
			err := colorimg.Batch(context.Background(), jobs, nil, func(colorimg.Result) error {
				t.Error("a result of no job")
				return nil
			})
			if err != nil {
				t.Errorf("Batch of no jobs = %v", err)
			}
		}
	})
}
