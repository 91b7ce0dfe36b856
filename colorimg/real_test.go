package colorimg_test

import (
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"hueward/colorimg"
	"hueward/colorimg/cie"
)

// TestRealPhotos measures 60 photos made of real ones: a grey card laid beside
// the bloom, the light changed, a JPEG written; see testdata/photos at the top. Only the
// bloom point is given.
//
// Source: photographs shipped by Debian packages, masks drawn by hand; the
// truth is worked out by composite.py, which shares no code with this program.
func TestRealPhotos(t *testing.T) {
	if os.Getenv("HUEWARD_FULL") == "" {
		t.Skip("it fetches photos and takes two minutes: set HUEWARD_FULL=1")
	}
	python := "/usr/bin/python3" // Debian's own, which has its python3-numpy
	if exec.Command(python, "-c", "import numpy, PIL").Run() != nil {
		t.Fatal("real photos need Debian's python3-numpy and python3-pil")
	}
	photos, out := filepath.Join(t.TempDir(), "photos"), filepath.Join(t.TempDir(), "out")
	if msg, err := exec.Command("bash", "../testdata/photos/fetch.sh", photos).CombinedOutput(); err != nil {
		t.Fatalf("fetch.sh: %v\n%s", err, msg)
	}
	if msg, err := exec.Command(python, "../testdata/photos/composite.py", photos, out,
		"--n", "60", "--seed", "11", "--ev=-1,-0.2").CombinedOutput(); err != nil {
		t.Fatalf("composite.py: %v\n%s", err, msg)
	}
	var truth struct {
		Photos []struct {
			File  string
			Bloom colorimg.Point
			Card  [4]colorimg.Point
			Want  colorimg.Triple `json:"unclipped_lab_median"`
			Ideal float64         `json:"ideal_delta_e"`
		}
	}
	b, err := os.ReadFile(filepath.Join(out, "truth.json"))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, &truth); err != nil {
		t.Fatal(err)
	}
	var jobs []colorimg.Job
	for _, p := range truth.Photos {
		jobs = append(jobs, colorimg.Job{File: filepath.Join(out, p.File), Options: &colorimg.Options{Bloom: &p.Bloom}})
	}
	var de []float64
	refused, cards := 0, 0
	lines := make([]string, len(jobs))
	err = colorimg.Batch(context.Background(), jobs, nil, func(r colorimg.Result) error {
		p := truth.Photos[r.Index]
		if c := r.Reading.Card.Corners; c != nil && inside(p.Card, centre(*c)) {
			cards++
		}
		if r.Refused != nil {
			refused++
			lines[r.Index] = r.Refused.Error()
			return nil
		}
		d := cie.DeltaE2000(r.Reading.Lab.Lab(), p.Want.Lab())
		de = append(de, d)
		if d > 4 {
			lines[r.Index] = p.File + ": far off"
			t.Logf("%s: Delta E %.2f (ideal %.2f), want %.1f, got %.1f, flags %v", p.File, d, p.Ideal, p.Want, *r.Reading.Lab, r.Reading.Flags)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	n := len(jobs)
	lines = slices.DeleteFunc(lines, func(s string) bool { return s == "" })
	m, p90 := quantile(de, 0.5), quantile(de, 0.9)
	t.Logf("%d photos: Delta E 2000 median %.2f, 90th percentile %.2f; %d refused; card found in %d", n, m, p90, refused, cards)
	if len(lines) > 0 {
		t.Log(strings.Join(lines, "\n"))
	}
	if n < 55 {
		t.Errorf("%d photos, want 60", n)
	}
	if !(m <= 1.5) {
		t.Errorf("median Delta E 2000 = %.2f, want at most 1.5", m)
	}
	if !(p90 <= 4) {
		t.Errorf("90th percentile of Delta E 2000 = %.2f, want at most 4", p90)
	}
	if refused*10 > n {
		t.Errorf("%d of %d refused, want at most 10 %%", refused, n)
	}
	if cards*100 < n*95 {
		t.Errorf("card found in %d of %d, want at least 95 %%", cards, n)
	}
}

func centre(c [4]colorimg.Point) (p colorimg.Point) {
	for _, q := range c {
		p[0] += q[0] / 4
		p[1] += q[1] / 4
	}
	return p
}

// inside reports whether p lies within the polygon (even-odd rule).
func inside(q [4]colorimg.Point, p colorimg.Point) bool {
	in := false
	for i, j := 0, 3; i < 4; j, i = i, i+1 {
		if (q[i][1] > p[1]) != (q[j][1] > p[1]) &&
			p[0] < (q[j][0]-q[i][0])*(p[1]-q[i][1])/(q[j][1]-q[i][1])+q[i][0] {
			in = !in
		}
	}
	return in
}
