package colorimg_test

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/colorimg/must"
)

// realTruth is what composite.py tells of one photo.
type realTruth struct {
	File    string
	Photo   string
	Bloom   colorimg.Point
	Several bool `json:"several_blooms"`
	Card    [4]colorimg.Point
	Want    colorimg.Triple `json:"lab_median"` // all petals, before the light was changed
	Ideal   float64         `json:"ideal_delta_e"`
}

// python is Debian's own, which has its python3-numpy.
const python = "/usr/bin/python3"

// realPhotos fetches the photographs into a folder of the test's.
func realPhotos(t *testing.T) string {
	t.Helper()
	if os.Getenv("HUEWARD_FULL") == "" {
		t.Skip("it fetches photos and takes minutes: set HUEWARD_FULL=1")
	}
	if exec.Command(python, "-c", "import numpy, PIL").Run() != nil {
		t.Fatal("real photos need Debian's python3-numpy and python3-pil")
	}
	dir := filepath.Join(t.TempDir(), "photos")
	if msg, err := exec.Command("bash", "../testdata/photos/fetch.sh", dir).CombinedOutput(); err != nil {
		t.Fatalf("fetch.sh: %v\n%s", err, msg)
	}
	return dir
}

// composites makes photos of real ones: a grey card laid beside the bloom, the
// light changed, a JPEG written; see testdata/photos/README.md.
//
// Source: photographs shipped by Debian packages, masks drawn by hand; the
// truth is worked out by composite.py, which shares no code with this program.
func composites(t *testing.T, from string, args ...string) (dir string, photos []realTruth) {
	t.Helper()
	dir = filepath.Join(t.TempDir(), "out")
	if msg, err := exec.Command(python, append([]string{"../testdata/photos/composite.py", from, dir},
		args...)...).CombinedOutput(); err != nil {
		t.Fatalf("composite.py: %v\n%s", err, msg)
	}
	var truth struct{ Photos []realTruth }
	b := must.Have(os.ReadFile(filepath.Join(dir, "truth.json")))(t)
	must.OK(t, json.Unmarshal(b, &truth))
	return dir, truth.Photos
}

// measureReal measures the photos; a bloom is pointed at where there are
// several, or everywhere.
func measureReal(t *testing.T, dir string, photos []realTruth, point bool) []colorimg.Result {
	t.Helper()
	var jobs []colorimg.Job
	for _, p := range photos {
		j := colorimg.Job{File: filepath.Join(dir, p.File), Options: &colorimg.Options{}}
		if point || p.Several {
			j.Options.Bloom = &p.Bloom
		}
		jobs = append(jobs, j)
	}
	out := make([]colorimg.Result, len(jobs))
	err := colorimg.Batch(context.Background(), jobs, nil, func(r colorimg.Result) error {
		out[r.Index] = r
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func sound(r *colorimg.Reading) bool {
	return r.Lab != nil && !slices.ContainsFunc(r.Flags, func(f colorimg.Flag) bool { return !f.Info() })
}

// TestRealPhotos compares readings of six real photos, in sets of 60, two or, with HUEWARD_STUDY=1, four, with
// the petals' colour under D65. Errors are above what is left to one who knows
// card and mask. The bloom is pointed at only where a photo holds several. The finder has
// learnt from these photos too (petal/learn/README.md has figures of weights that had not); the hand-set one before it,
// which was tuned on them, read all six with a median error of 0.95 and a 90th percentile of 1.73. What is wanted counts
// petals in deep shadow, an eighth of the cactus dahlia's, which a reading leaves out.
//
// Where much of the petals is cut off, the colour of all of them is what is
// wanted, not that of the darker rest. Exposed up to 0.6 stops over, a third of
// the photos has petals cut off.
func TestRealPhotos(t *testing.T) {
	from := realPhotos(t)
	for _, set := range []struct {
		name        string
		args        []string
		median, p90 float64 // limits
		study       bool    // what it asks for the others ask for together
	}{
		{"even light", []string{"--ev=-1,-0.2"}, 0.95, 2, false},
		{"falling off", []string{"--ev=-1,-0.2", "--gradient", "0.15"}, 1.7, 3.5, true},
		{"overexposed", []string{"--ev=-1,0.6"}, 1.7, 4.5, true},
		{"overexposed, falling off", []string{"--ev=-1,0.6", "--gradient", "0.15"}, 1.7, 4.5, false},
	} {
		if set.study && os.Getenv("HUEWARD_STUDY") == "" {
			continue
		}
		t.Run(set.name, func(t *testing.T) {
			t.Parallel() // laying the cards takes the most
			dir, photos := composites(t, from, append([]string{"--n", "60", "--seed", "12"}, set.args...)...)
			var de []float64
			refused, cards := 0, 0
			for i, r := range measureReal(t, dir, photos, false) {
				p := photos[i]
				if c := r.Reading.Card.Corners; c != nil && inside(p.Card, centre(*c)) {
					cards++
				}
				if r.Refused != nil {
					refused++
					t.Log(r.Refused)
					continue
				}
				d := cie.DeltaE2000(r.Reading.Lab.Lab(), p.Want.Lab()) - p.Ideal
				de = append(de, d)
				if d > 5 && sound(r.Reading) {
					t.Errorf("%s without a flag: off by %.1f, want %.1f, got %.1f", p.File, d, p.Want, *r.Reading.Lab)
				}
			}
			n := len(photos)
			m, p90 := quantile(de, 0.5), quantile(de, 0.9)
			t.Logf("%d photos: above the ideal Delta E 2000 median %.2f, 90th percentile %.2f; %d refused; card found in %d", n, m, p90,
				refused, cards)
			if n < 57 {
				t.Errorf("%d photos, want 60", n)
			}
			if !(m <= set.median) {
				t.Errorf("median = %.2f, want at most %.1f", m, set.median)
			}
			if !(p90 <= set.p90) {
				t.Errorf("90th percentile = %.2f, want at most %.1f", p90, set.p90)
			}
			if refused*12 > n {
				t.Errorf("%d of %d refused, want at most one of 12", refused, n)
			}
			if cards*100 < n*95 {
				t.Errorf("card found in %d of %d, want at least 95 %%", cards, n)
			}
		})
	}
}

// TestConstancy: each real photo under eight lights and exposures, twelve with HUEWARD_STUDY=1, reads alike:
// the root mean square distance of its readings from their own mean is small,
// in the median over the photos, those with petals cut off included; and on
// each photo over the readings without a flag.
func TestConstancy(t *testing.T) {
	from := realPhotos(t)
	all, unflagged := map[string][]cie.Lab{}, map[string][]cie.Lab{}
	lights := 8
	if os.Getenv("HUEWARD_STUDY") != "" {
		lights = 12
	}
	for seed := range lights {
		dir, photos := composites(t, from, "--n", "6", "--seed", strconv.Itoa(seed+1))
		for i, r := range measureReal(t, dir, photos, false) {
			if r.Refused != nil {
				continue
			}
			p := photos[i].Photo
			all[p] = append(all[p], r.Reading.Lab.Lab())
			if sound(r.Reading) {
				unflagged[p] = append(unflagged[p], r.Reading.Lab.Lab())
			}
		}
	}
	var a, u []float64
	for p := range all {
		a = append(a, scatter(all[p]))
		s := math.NaN()
		if len(unflagged[p]) > 1 {
			s = scatter(unflagged[p])
			u = append(u, s)
		}
		t.Logf("%s: %.2f over %d readings, %.2f over the %d without a flag", p, a[len(a)-1], len(all[p]), s, len(unflagged[p]))
	}
	m, worst := middle(a), quantile(u, 1)
	t.Logf("all: median %.3f, worst %.2f; without a flag: median %.2f, worst %.2f", m, quantile(a, 1), middle(u), worst)
	// What was cut off is left out where it is a small part, so that a lighter exposure moves
	// the reading a little; such readings carry a flag.
	if !(m <= 1.4) {
		t.Errorf("median of the photos' scatter = %.2f, want at most 1.4", m)
	}
	if m := middle(u); !(m <= 0.7) {
		t.Errorf("median of the photos' scatter without a flag = %.2f, want at most 0.7", m)
	}
	if !(worst <= 1.5) {
		t.Errorf("worst photo's scatter = %.2f, want at most 1.5", worst)
	}
}

// middle is the median, of an even number of values the mean of the two in the middle.
func middle(v []float64) float64 {
	slices.Sort(v)
	n := len(v)
	return (v[(n-1)/2] + v[n/2]) / 2
}

// scatter is the root mean square Delta E 2000 of the colours from their mean.
func scatter(v []cie.Lab) float64 {
	var m cie.Lab
	n := float64(len(v))
	for _, c := range v {
		m.L, m.A, m.B = m.L+c.L/n, m.A+c.A/n, m.B+c.B/n
	}
	sum := 0.0
	for _, c := range v {
		d := cie.DeltaE2000(c, m)
		sum += d * d
	}
	return math.Sqrt(sum / n)
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
