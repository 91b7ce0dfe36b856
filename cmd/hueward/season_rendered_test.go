package main

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"sync"
	"testing"

	"gonum.org/v1/gonum/stat"

	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
	"hueward/selection"
)

// TestRankRenderedSeason draws a season of 12 plants with two photos each,
// under changing light, at true distances from 2 to 25, and follows it through
// the commands from a folder of photos to the ranking. With HUEWARD_FULL=1 there are
// 40 plants with three photos each.
//
// The known answer is the colour that each plant was drawn with.
func TestRankRenderedSeason(t *testing.T) {
	t.Parallel()
	const plants, photos = 40, 3
	target := cie.Lab{L: 76, A: 14, B: 38}
	dir := t.TempDir()
	truth := map[string]float64{}
	rng := rand.New(rand.NewPCG(40, 3))
	type job struct {
		name  string
		scene render.Scene
	}
	var jobs []job
	for i := range plants {
		id := fmt.Sprintf("P-%02d", i+1)
		drawn := full || i%10 == 0 || i%5 == 2
		petal := shadeAt(target, 2+23*float64(i)/(plants-1), rng)
		if drawn {
			truth[id] = cie.DeltaE2000(petal, target)
		}
		for k := range photos {
			s := render.Scene{Width: 640, Height: 480, Petal: petal, Form: render.Forms[i%len(render.Forms)],
				Kelvin: 1e6 / (110 + 130*rng.Float64()), Tint: 1, Diameter: 0.35 + 0.2*rng.Float64(),
				Ground: render.Grounds[k%len(render.Grounds)], Seed: int64(100*i + k)}
			s.Card.Width = 0.1 + 0.06*rng.Float64()
			s.Card.Angle = 360 * rng.Float64()
			s.EV = min(-0.8+rng.Float64(), s.HighestEV())
			if drawn && (full || k < 2) {
				jobs = append(jobs, job{filepath.Join(dir, "photos", id, fmt.Sprintf("%d.jpg", k+1)), s})
			}
		}
	}
	var wg sync.WaitGroup
	slots := make(chan bool, runtime.GOMAXPROCS(0))
	for _, j := range jobs {
		wg.Go(func() {
			slots <- true
			defer func() { <-slots }()
			if _, err := drawFile(j.name, j.scene, photo.Info{}); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()

	book := filepath.Join(dir, "book")
	hueward(t, statusDone, "new", book, "--line", "buff", "--season", "2026")
	hueward(t, statusDone, "--book", book, "target", "buff", "--lab", "76,14,38", "--within", "4")
	hueward(t, statusDone, "--book", book, "measure", filepath.Join(dir, "photos"))
	ranked, _ := hueward(t, statusDone, "--book", book, "rank", "--json")
	var r selection.RankJSON
	must.OK(t, json.Unmarshal([]byte(ranked), &r))
	if len(r.Plants) != len(truth) {
		t.Fatalf("%d plants ranked, want %d", len(r.Plants), len(truth))
	}
	var got, want []float64
	for _, p := range r.Plants {
		got, want = append(got, float64(p.Rank)), append(want, truth[p.Plant])
	}
	rho := stat.Correlation(got, ranks(want), nil)
	t.Logf("Spearman correlation of the ranking with the true order: %.4f", rho)
	if !(rho >= 0.97) {
		t.Errorf("Spearman correlation = %.4f, want at least 0.97", rho)
	}
}

// shadeAt is a petal colour at the given distance from c, in some direction that
// keeps it a colour that a photo can hold.
func shadeAt(c cie.Lab, d float64, rng *rand.Rand) cie.Lab {
	for {
		u := [3]float64{rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()}
		lo, hi := 0.0, 200.0
		shifted := func(k float64) cie.Lab {
			return cie.Lab{L: c.L + k*u[0]/2, A: c.A + k*u[1], B: c.B + k*u[2]}
		}
		for range 50 {
			if m := (lo + hi) / 2; cie.DeltaE2000(c, shifted(m)) < d {
				lo = m
			} else {
				hi = m
			}
		}
		x := shifted(lo)
		rgb := cie.SRGB.RGB(x.XYZ())
		if x.L > 30 && x.L < 88 && min(rgb[0], rgb[1], rgb[2]) > 0.03 && max(rgb[0], rgb[1], rgb[2]) < 0.9 {
			return x
		}
	}
}

// ranks are the places of the values in order, from 1.
func ranks(v []float64) []float64 {
	order := make([]int, len(v))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int {
		if v[a] < v[b] {
			return -1
		}
		return 1
	})
	out := make([]float64, len(v))
	for place, i := range order {
		out[i] = float64(place + 1)
	}
	return out
}

// TestReportPlace looks at each picture in a report of photos that say where
// they were taken: none does any more.
func TestReportPlace(t *testing.T) {
	t.Parallel()
	dir := exampleFolder(t)
	before := must.Have(os.ReadFile(filepath.Join(dir, "photos", "M-07_1.jpg")))(t)
	if !bytes.Contains(before, []byte("Exif\x00\x00")) {
		t.Fatal("the photo has nothing to hide; this test would tell nothing")
	}
	name := filepath.Join(dir, "season.html")
	hueward(t, statusDone, "report", "--book", filepath.Join(dir, "book"), "-o", name)
	page := must.Have(os.ReadFile(name))(t)
	pictures := regexp.MustCompile(`data:image/[a-z]+;base64,([A-Za-z0-9+/=]+)`).FindAllSubmatch(page, -1)
	if len(pictures) < 2 {
		t.Fatalf("%d pictures in the report, want one of each of 2 photos", len(pictures))
	}
	for _, p := range pictures {
		b := must.Have(base64.StdEncoding.DecodeString(string(p[1])))(t)
		if bytes.Contains(b, []byte("Exif")) || bytes.Contains(b, []byte("Pocket")) {
			t.Errorf("a picture of %d bytes still carries what the camera wrote", len(b))
		}
	}
}
