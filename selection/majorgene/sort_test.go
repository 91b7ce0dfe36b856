package majorgene

import (
	"math"
	"math/rand/v2"
	"testing"

	"hueward/colorimg/cie"
	"hueward/selection/classes"
	"hueward/selection/space"
)

// Two classes 3 standard deviations apart in an F2 of 40 plants, with its parents, F1 and an F3 of 40
// in the book: where colours alone do not part them, the line's genes do in some lines more, 0.50 in place
// of 0.35 of 100; and 0.01 where there are none. Expected shares are Mendel's.
// HUEWARD_STUDY=100 draws so many lines.
func TestSort(t *testing.T) {
	t.Parallel()
	runs := books(8)
	apart := truth{"3 SD", 1, func(g []int) space.Vector { return step(7.8)(g[0]) }, [2][]float64{{0}, {1}}}
	for _, c := range []struct {
		truth
		least, most float64
	}{{apart, 0.45, 1}, {none, 0, 0.05}} {
		told, alone, either, right, shares := 0, 0, 0, 0.0, 0.0
		for run := range runs {
			b := grow(rand.New(rand.NewPCG(uint64(run), 77)), scheme{founders: 4, each: 40, seasons: 4, pure: true}, c.truth)
			m := Fit(b.records, nil)
			var places []int32
			var colors []cie.Lab
			var white []bool
			for i, at := range b.records.Plant {
				if b.records.Season[i] == 2 {
					places, colors = append(places, at), append(colors, space.Lab(b.records.Y[i]))
					white = append(white, space.Minus(b.color[i], b.poly[i]) != space.Vector{})
				}
			}
			if found, err := classes.Find(colors, 0); err != nil {
				t.Fatal(err)
			} else if len(found.Classes) > 1 {
				alone++
				either++
			} else if len(m.Sort(b.records.Ped, places)) > 1 {
				either++
			}
			kinds := m.Sort(b.records.Ped, places)
			if len(kinds) < 2 {
				continue
			}
			told++
			most, of := 0, 0
			for k := range kinds {
				shares += math.Abs(kinds[k].Expected - 0.5)
				n := [2]int{}
				for _, i := range kinds[k].Members {
					if white[i] {
						n[1]++
					} else {
						n[0]++
					}
				}
				most, of = most+max(n[0], n[1]), of+n[0]+n[1]
			}
			right += float64(most) / float64(of)
		}
		share := float64(either) / float64(runs)
		t.Logf("%s: by the line's genes parted in %.2f of families, by colours alone in %.2f, by either in %.2f; %.2f are sorted rightly",
			c.name, float64(told)/float64(runs), float64(alone)/float64(runs), share, right/math.Max(float64(told), 1))
		se := func(p float64) float64 { return math.Sqrt(p * (1 - p) / float64(runs)) }
		if told+alone == 0 && c.loci == 1 || share < c.least-2*se(c.least) || share > c.most+2*se(c.most) {
			t.Errorf("%s: parted in %.2f of families, want %.2f to %.2f", c.name, share, c.least, c.most)
		}
		if told > 0 && c.loci == 1 && (right/float64(told) < 0.85 || math.Abs(shares/float64(2*told)-0.25) > 0.05) {
			t.Errorf("%s: %.2f are sorted rightly; shares are %.2f from a half, want 0.25", c.name, right/float64(told), shares/float64(2*told))
		}
	}
}
