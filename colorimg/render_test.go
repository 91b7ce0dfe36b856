package colorimg_test

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"sync"
	"testing"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/colorimg/render"
)

// drawn is one made-up photo, measured.
type drawn struct {
	i       int
	scene   render.Scene
	truth   render.Truth
	reading *colorimg.Reading
	err     error
}

// deltaE is the reading's distance from what the picture shows.
func (d drawn) deltaE() float64 { return cie.DeltaE2000(d.reading.Lab.Lab(), d.truth.Seen) }

// iou is the overlap of measured and true petal mask over their union.
func (d drawn) iou() float64 {
	var both, either float64
	for i, v := range d.truth.Mask.Pix {
		a, b := v > 127, d.reading.Mask.Pix[i] > 127
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

// TestMeasureRendered measures 100 made-up photos over all petal colours,
// forms, grounds and lights, against the colour that they were drawn with.
func TestMeasureRendered(t *testing.T) {
	n := 100
	if testing.Short() {
		n = 20
	}
	scenes := make([]render.Scene, n)
	for i := range scenes {
		scenes[i] = render.Varied(i, 1)
		scenes[i].Width, scenes[i].Height = 1000, 750
	}
	var de, iou []float64
	for _, d := range measureAll(t, scenes) {
		if d.err != nil {
			t.Logf("%d refused on %v: %v", d.i, d.scene.Ground, d.err)
			if d.scene.Ground.Plain() {
				t.Errorf("photo %d on a plain board refused: %v", d.i, d.err)
			}
			continue
		}
		de, iou = append(de, d.deltaE()), append(iou, d.iou())
		if d.deltaE() > 3 || d.iou() < 0.8 {
			t.Logf("photo %d: Delta E %.2f, IoU %.3f, form %v on %v, petal %.0f got %.0f, flags %v", d.i, d.deltaE(), d.iou(), d.scene.Form, d.scene.Ground, d.truth.Seen, d.reading.Lab.Lab(), d.reading.Flags)
		}
	}
	m, p95, over := quantile(de, 0.5), quantile(de, 0.95), quantile(iou, 0.5)
	t.Logf("%d of %d measured: Delta E 2000 median %.2f, 95th percentile %.2f; IoU median %.3f", len(de), n, m, p95, over)
	if !(m <= 1.0) {
		t.Errorf("median Delta E 2000 = %.2f, want at most 1.0", m)
	}
	if !(p95 <= 3.0) {
		t.Errorf("95th percentile of Delta E 2000 = %.2f, want at most 3", p95)
	}
	if !(over >= 0.85) {
		t.Errorf("median IoU = %.3f, want at least 0.85", over)
	}
}
