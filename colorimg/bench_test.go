package colorimg_test

import (
	"bytes"
	"context"
	"fmt"
	"image/jpeg"
	"os"
	"os/exec"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/colorimg/render"
)

// photo12MP is a phone's photo of 12 megapixels: a bloom among leaves, camera
// noise, quality 92, 4:2:0. It is drawn once for all benchmarks.
var photo12MP = sync.OnceValues(func() ([]byte, error) {
	s := render.Scene{Width: 4000, Height: 3000, Form: render.SemiDouble, Ground: render.Leaves, Petal: cie.Lab{L: 66, A: 37, B: 60},
		Diameter: 0.5, Kelvin: 5800, EV: -0.6, Seed: 12, Card: render.CardSpec{Border: render.LightBorder, Angle: 12}}
	var b bytes.Buffer
	_, err := s.JPEG(&b, 92)
	return b.Bytes(), err
})

func data12MP(b *testing.B) []byte {
	b.Helper()
	data := must.Have(photo12MP())(b)
	return data
}

func decode(b *testing.B, data []byte) {
	b.Helper()
	must.Have(jpeg.Decode(bytes.NewReader(data)))(b)
}

// BenchmarkDecode12MP is what image/jpeg takes to decode the photo, alone.
func BenchmarkDecode12MP(b *testing.B) {
	data := data12MP(b)
	for b.Loop() {
		decode(b, data)
	}
}

// BenchmarkMeasure12MP is the same photo measured, decoding included.
func BenchmarkMeasure12MP(b *testing.B) {
	name := write(b, "x.jpg", data12MP(b))
	for b.Loop() {
		measured(b, name, nil)
	}
}

// onProcessors runs f with so many processors and tells how long it took.
func onProcessors(n int, f func()) time.Duration {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(n))
	start := time.Now()
	f()
	return time.Since(start)
}

// BenchmarkMeasureOverDecode takes both in turn on one processor, so that a
// busy machine slows both, and reports the median of their ratios: at most 1.25
// is wanted. Each turn is of several photos, as a batch is: with every second
// decoding left to the garbage collector, pages given back to the system would
// be charged to whichever comes next.
func BenchmarkMeasureOverDecode(b *testing.B) {
	data := data12MP(b)
	name := write(b, "x.jpg", data)
	const turn = 5
	var ratio []float64
	for b.Loop() {
		alone := onProcessors(1, func() {
			for range turn {
				decode(b, data)
			}
		})
		whole := onProcessors(1, func() {
			for range turn {
				measured(b, name, nil)
			}
		})
		ratio = append(ratio, whole.Seconds()/alone.Seconds())
	}
	b.ReportMetric(quantile(ratio, 0.5), "measure/decode")
}

// batch measures the photo n times in one batch.
func batch(b *testing.B, name string, n int) {
	b.Helper()
	jobs := make([]colorimg.Job, n)
	for i := range jobs {
		jobs[i].File = name
	}
	done := 0
	err := colorimg.Batch(context.Background(), jobs, nil, func(r colorimg.Result) error {
		if r.Refused != nil {
			return r.Refused
		}
		done++
		return nil
	})
	if err != nil || done != n {
		b.Fatalf("Batch measured %d of %d photos: %v", done, n, err)
	}
}

// BenchmarkBatchTwoProcessors measures the same batch of 12-megapixel photos on
// one processor and on two, in turn, and reports the median ratio of photos a
// second: at least 1.7 is wanted.
func BenchmarkBatchTwoProcessors(b *testing.B) {
	if runtime.NumCPU() < 2 {
		b.Skip("there is only one processor")
	}
	const n = 6
	name := write(b, "x.jpg", data12MP(b))
	var ratio, rate []float64
	for b.Loop() {
		one := onProcessors(1, func() { batch(b, name, n) })
		two := onProcessors(2, func() { batch(b, name, n) })
		ratio = append(ratio, one.Seconds()/two.Seconds())
		rate = append(rate, n/two.Seconds())
	}
	b.ReportMetric(quantile(ratio, 0.5), "two/one")
	b.ReportMetric(quantile(rate, 0.5), "photos/s-on-two")
}

// BenchmarkBesideImageMagick measures photos and has ImageMagick average them in
// Lab, each on one processor, in turn, and reports the medians for a photo and
// their ratio. No figure is wanted: it shows what another tool takes that opens
// the same photo, and finds neither card nor bloom.
func BenchmarkBesideImageMagick(b *testing.B) {
	convert := imageMagick(b)
	data := data12MP(b)
	var names []string
	for i := range 3 { // the same photo under other names, as a grower has many
		names = append(names, write(b, fmt.Sprintf("%d.jpg", i), data))
	}
	var ours, theirs, ratio []float64
	for b.Loop() {
		for _, name := range names {
			m := onProcessors(1, func() { measured(b, name, nil) })
			start := time.Now()
			cmd := exec.Command(convert, name, "-colorspace", "Lab", "-scale", "1x1", "txt:")
			cmd.Env = append(os.Environ(), "MAGICK_THREAD_LIMIT=1", "OMP_NUM_THREADS=1")
			out, err := cmd.CombinedOutput()
			c := time.Since(start)
			if err != nil || !strings.Contains(strings.ToLower(string(out)), "cielab") {
				b.Fatalf("convert: %v: %s", err, out)
			}
			ours, theirs = append(ours, 1000*m.Seconds()), append(theirs, 1000*c.Seconds())
			ratio = append(ratio, m.Seconds()/c.Seconds())
		}
	}
	b.ReportMetric(quantile(ours, 0.5), "measure-ms")
	b.ReportMetric(quantile(theirs, 0.5), "convert-ms")
	b.ReportMetric(quantile(ratio, 0.5), "measure/convert")
}

// imageMagick finds the convert program of ImageMagick. Without it the
// benchmark is skipped, and with HUEWARD_FULL=1 it fails.
func imageMagick(b *testing.B) string {
	b.Helper()
	name, err := exec.LookPath("convert")
	if err == nil {
		out, _ := exec.Command(name, "-version").CombinedOutput()
		if strings.Contains(string(out), "Version: ImageMagick") {
			return name
		}
	}
	if os.Getenv("HUEWARD_FULL") == "1" {
		b.Fatal("convert of ImageMagick is not there (Debian package imagemagick)")
	}
	b.Skip("convert of ImageMagick is not there (Debian package imagemagick)")
	return ""
}
