package selection

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"hueward/selection/genetics"
	"hueward/selection/space"
)

// pale is a step along the line from orange to cream, of about size Delta E.
func pale(size float64) space.Vector { return space.Vector{0.35 * size, -0.45 * size, -0.85 * size} }

// The strong genes that programmes are tried with. In all, the groups differ in frequency, and
// neither is pure.
var strongTruths = []struct {
	name string
	strongGenes
}{
	{"dominant", strongGenes{1, func(n []int) space.Vector {
		if n[0] == 2 {
			return pale(18)
		}
		return space.Vector{}
	}, [2][]float64{{0.5}, {0.85}}, nil}},
	{"recessive", strongGenes{1, func(n []int) space.Vector {
		if n[0] == 2 {
			return pale(18)
		}
		return space.Vector{}
	}, [2][]float64{{0.3}, {0.3}}, [][]int{{2}}}},
	{"pathway", strongGenes{2, func(n []int) space.Vector {
		switch {
		case n[0] == 2:
			return pale(25)
		case n[1] == 2:
			return space.Vector{-6, 14, -12}
		}
		return space.Vector{}
	}, [2][]float64{{0.3, 0.5}, {0.6, 0.3}}, [][]int{{0, 2}}}},
	{"middle", strongGenes{1, func(n []int) space.Vector {
		if n[0] == 2 {
			return pale(18)
		}
		return space.Vector{}
	}, [2][]float64{{0.3}, {0.7}}, [][]int{{0}, {0}, {2}}}},
	{"adds up", strongGenes{}},
}

// Programmes with a few strong genes beside many weak ones, against keeping the nearest plants,
// begun with the two groups or with an F2 between them. HUEWARD_STUDY=30 compares so many of
// each, of seeds from HUEWARD_SEED on, HUEWARD_TRUTHS some truths alone, at the heritability HUEWARD_H2; the figures
// are in the package comment of majorgene.
func TestStrongProgrammes(t *testing.T) {
	t.Parallel()
	runs, seed := study(t)
	h2, _ := strconv.ParseFloat(cmp.Or(os.Getenv("HUEWARD_H2"), "0.45"), 64)
	full := os.Getenv("HUEWARD_FULL") == "1"
	switch {
	case runs > 0:
	case full:
		runs = 3
	default:
		runs = 2
	}
	only := os.Getenv("HUEWARD_TRUTHS")
	for _, tr := range strongTruths {
		if only != "" && !slices.Contains(strings.Split(only, ","), tr.name) {
			continue
		}
		for _, mixed := range []bool{false, true} {
			if runs == 2 && (mixed || tr.name != "recessive") || runs == 3 && mixed && tr.name != "pathway" {
				continue
			}
			b := inParallel(runs, func(i int) int { return programme(uint64(seed+i), h2, tr.strongGenes, mixed, nearestSix) })
			a := inParallel(runs, func(i int) int { return programme(uint64(seed+i), h2, tr.strongGenes, mixed, chosenPairs(t)) })
			share, se, line := shareOf(a, b)
			t.Logf("%s, heritability %.2f, from an F2 %-5v: share %.2f ± %.2f of %s", tr.name, h2, mixed, share, se, line)
			if share > 0.95+2*se {
				t.Errorf("%s, from an F2 %v: pairs take %.2f of the seasons of keeping the nearest", tr.name, mixed, share)
			}
		}
	}
}

// study is how many runs HUEWARD_STUDY asks for, and the first seed, HUEWARD_SEED; 0 where they are not set.
func study(t *testing.T) (runs, seed int) {
	t.Helper()
	for name, to := range map[string]*int{"HUEWARD_STUDY": &runs, "HUEWARD_SEED": &seed} {
		if v := os.Getenv(name); v != "" {
			var err error
			if *to, err = strconv.Atoi(v); err != nil {
				t.Fatalf("%s: %v", name, err)
			}
		}
	}
	return runs, seed
}

// shareOf is the ratio of the sums of seasons a and b, its standard error, and each programme's seasons.
//
// Source: the ratio estimator, Cochran 1977, Sampling Techniques, chapter 6.
func shareOf(a, b []int) (share, se float64, line string) {
	var sum [2]float64
	for i := range a {
		sum[0], sum[1] = sum[0]+float64(a[i]), sum[1]+float64(b[i])
		line += fmt.Sprintf(" %d/%d", a[i], b[i])
	}
	share = sum[0] / sum[1]
	n, square := float64(len(a)), 0.0 // of the ratio's residuals
	for i := range a {
		d := float64(a[i]) - share*float64(b[i])
		square += d * d
	}
	return share, math.Sqrt(square/(n-1)/n) / (sum[1] / n), line[1:]
}

// Lines of 500 and 5000 plants over five seasons with a pathway of two strong genes: values from cold.
func BenchmarkPredictStrong(b *testing.B) {
	for _, n := range []int{500, 5000} {
		b.Run(strconv.Itoa(n), func(b *testing.B) {
			g := newGarden(rand.New(rand.NewPCG(1, 99)), 0.45, strongTruths[2].strongGenes)
			for s := 2; s <= 5; s++ {
				parents := mate(g.rnd, g.season(s - 1)[:20])
				for i := range n / 4 {
					p := parents[i%len(parents)]
					g.cross(p[0], p[1], s, i)
				}
			}
			var plants []genetics.Parents
			var records []Record
			for _, p := range g.plants {
				plants = append(plants, p.Parents)
				records = append(records, Record{Plant: p.ID, Season: p.season, Lab: p.measured})
			}
			for b.Loop() {
				v, err := Predict(plants, records, nil)
				if err != nil || v.Genes == nil {
					b.Fatalf("genes %v, error %v", v != nil && v.Genes != nil, err)
				}
			}
		})
	}
}
