package colorimg_test

import (
	"bytes"
	"cmp"
	"context"
	_ "embed"
	"fmt"
	"image"
	"image/jpeg"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"sync"
	"testing"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
)

// Profiles of the two common spaces; see the tests of package photo.
var (
	//go:embed photo/testdata/srgb.icc
	srgbProfile []byte
	//go:embed photo/testdata/p3.icc
	p3Profile []byte
)

// drawn is one made-up photo, measured.
type drawn struct {
	i       int
	scene   render.Scene
	truth   render.Truth
	reading *colorimg.Reading
	err     error
	iou     float64 // overlap of measured and true petal mask over their union; the masks are not kept
}

// deltaE is the reading's distance from what the picture shows.
func (d drawn) deltaE() float64 { return cie.DeltaE2000(d.reading.Lab.Lab(), d.truth.Seen) }

// overlap is the area that both masks have over that which either has.
func overlap(p, q *image.Gray) float64 {
	var both, either float64
	for i, v := range p.Pix {
		a, b := v > 127, q.Pix[i] > 127
		if a && b {
			both++
		}
		if a || b {
			either++
		}
	}
	return both / either
}

// measureAll draws the scenes and measures the JPEGs.
func measureAll(t *testing.T, scenes []render.Scene) []drawn {
	t.Helper()
	dir := t.TempDir()
	out := make([]drawn, len(scenes))
	var wg sync.WaitGroup
	slots := make(chan bool, runtime.GOMAXPROCS(0))
	for i, s := range scenes {
		wg.Go(func() {
			slots <- true
			defer func() { <-slots }()
			name := filepath.Join(dir, fmt.Sprintf("%03d.jpg", i))
			f, err := os.Create(name)
			if err != nil {
				t.Error(err)
				return
			}
			truth, err := s.JPEG(f, 92)
			if err == nil {
				err = f.Close()
			}
			if err != nil {
				t.Error(err)
				return
			}
			d := drawn{i: i, scene: s, truth: truth}
			d.reading, d.err = colorimg.Measure(context.Background(), name, &colorimg.Options{KeepMask: true})
			if d.err == nil {
				d.iou = overlap(d.truth.Mask, d.reading.Mask)
			}
			d.truth.Mask, d.reading.Mask = nil, nil
			out[i] = d
		})
	}
	wg.Wait()
	if t.Failed() {
		t.FailNow()
	}
	return out
}

// quantile is the value that the share q of v does not exceed; v is sorted.
func quantile(v []float64, q float64) float64 {
	slices.SortFunc(v, cmp.Compare)
	if len(v) == 0 {
		return math.NaN()
	}
	return v[min(len(v)-1, int(math.Ceil(q*float64(len(v))))-1)]
}

// usual is a scene that measures without a flag.
func usual(seed int64) render.Scene {
	return render.Scene{Width: 800, Height: 600, Form: render.SemiDouble, Ground: render.DarkBoard, Diameter: 0.55,
		At: [2]float64{0.36, 0.5},
		EV: -0.7, Kelvin: 5600, Seed: seed, Card: render.CardSpec{Width: 0.15, Angle: 20, At: &[2]float64{0.82, 0.4}}}
}

// small is the same with fewer pixels.
func small(seed int64) render.Scene {
	s := usual(seed)
	s.Width, s.Height = 600, 450
	return s
}

// write puts bytes into a file of a new folder and returns its name.
func write(t testing.TB, name string, b []byte) string {
	t.Helper()
	name = filepath.Join(t.TempDir(), name)
	must.OK(t, os.WriteFile(name, b, 0o600))
	return name
}

// jpegOf is the picture as a JPEG with the info.
func jpegOf(t testing.TB, im image.Image, info photo.Info) []byte {
	t.Helper()
	var b bytes.Buffer
	must.OK(t, photo.WriteJPEG(&b, im, 92, info))
	return b.Bytes()
}

// black is a JPEG of nothing but black.
func black(t testing.TB) []byte {
	t.Helper()
	var b bytes.Buffer
	must.OK(t, jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 640, 480)), nil))
	return b.Bytes()
}

// measured measures the photo, which must not be refused.
func measured(t testing.TB, name string, opt *colorimg.Options) *colorimg.Reading {
	t.Helper()
	r := must.Have(colorimg.Measure(context.Background(), name, opt))(t)
	return r
}

// deltaE is the distance of two readings.
func deltaE(p, q *colorimg.Reading) float64 { return cie.DeltaE2000(p.Lab.Lab(), q.Lab.Lab()) }

func distance(p, q colorimg.Point) float64 { return math.Hypot(p[0]-q[0], p[1]-q[1]) }

// cornersOff is the largest distance of a corner of want from the nearest of
// got's.
func cornersOff(got, want [4]colorimg.Point) float64 {
	worst := 0.0
	for _, p := range want {
		best := math.Inf(1)
		for _, q := range got {
			best = min(best, distance(p, q))
		}
		worst = max(worst, best)
	}
	return worst
}
