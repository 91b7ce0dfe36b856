package selection

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"hueward/selection/genetics"
)

// Of lines of 24 to 500 plants whose colour adds up, in both simulators, one in twenty at most is told of a strong gene.
// HUEWARD_STUDY=100 draws so many of each size, from HUEWARD_SEED on.
func TestNoFalseGene(t *testing.T) {
	t.Parallel()
	runs, from := study(t)
	sizes := []int{24, 40, 58, 120, 250, 500}
	switch {
	case runs > 0:
	case os.Getenv("HUEWARD_FULL") == "1":
		runs = 40
	default:
		runs, sizes = 16, sizes[2:3]
	}
	addsUp := &linkedTruths[len(linkedTruths)-1]
	for _, n := range sizes {
		runs := runs
		if n >= 250 && runs == 40 { // they take most of the time
			runs = 20
		}
		for _, simulator := range []string{"free", "linked"} {
			found := 0
			line := ""
			for seed, in := range inParallel(runs, func(i int) bool {
				var plants []genetics.Parents
				var records []Record
				seed := uint64(from + i)
				if simulator == "free" {
					g := newGarden(rand.New(rand.NewPCG(seed, 98)), 0.45, strongGenes{})
					g.rnd.Shuffle(len(g.plants), func(i, j int) { g.plants[i], g.plants[j] = g.plants[j], g.plants[i] })
					if n < 100 { // fewer founders
						g.plants = g.plants[:n/2]
					}
					now := g.plants
					for season := 2; len(g.plants) < n; season++ {
						for i, p := range mate(g.rnd, now[:min(len(now), 8)]) {
							if len(g.plants) < n && i < max(n/5, 12) {
								g.cross(p[0], p[1], season, i)
							}
						}
						now = g.season(season)
					}
					for _, p := range g.plants {
						plants, records = append(plants, p.Parents), append(records, Record{Plant: p.ID, Season: p.season, Lab: p.measured})
					}
				} else {
					g := newLinked(seed, 0.45, addsUp)
					g.target.Within = 0 // never reached
					g.run(func(g *linked, now []*bred) [][2]*bred {
						for _, p := range g.plants { // as many as there is room for, the weather in them
							if p.season == now[0].season || p.season == 0 && now[0].season == 1 {
								plants = append(plants, p.Parents)
							}
							if p.season == now[0].season && len(records) < n {
								records = append(records, Record{Plant: p.ID, Season: strconv.Itoa(p.season), Lab: p.measured})
							}
						}
						if len(records) >= n {
							g.sown = 0
							return nil
						}
						return linkedNearest(g, now)
					})
				}
				v, err := Predict(plants, records, nil)
				if err != nil {
					t.Error(err)
					return false
				}
				return v.Genes != nil
			}) {
				if in {
					found++
					line += fmt.Sprint(" ", from+seed)
				}
			}
			share := float64(found) / float64(runs)
			t.Logf("%d plants, %s: a strong gene is told of in %d of %d lines whose colour adds up:%s", n, simulator, found, runs, line)
			if share > 0.05+2.5*math.Sqrt(0.05*0.95/float64(runs)) {
				t.Errorf("%d plants, %s: a strong gene is told of in %d of %d lines", n, simulator, found, runs)
			}
		}
	}
}

// Nor of long books, of which not all records are looked at, whose colour adds up and has moved far: HUEWARD_STUDY draws more.
func TestNoFalseGeneInLongBooks(t *testing.T) {
	t.Parallel()
	runs, from := study(t)
	runs = max(runs, 3)
	found := 0
	for _, genes := range inParallel(runs, func(i int) int {
		g := newInfiniteOf(rand.New(rand.NewPCG(uint64(from+i), 97)), 0.5, 120, 8)
		v, err := Predict(g.plants, g.records, nil)
		if err != nil {
			t.Error(err)
			return 0
		}
		if v.Genes == nil {
			return 0
		}
		return v.Genes.Loci
	}) {
		found += min(genes, 1)
	}
	t.Logf("960 plants: a strong gene is told of in %d of %d lines whose colour adds up", found, runs)
	if float64(found)/float64(runs) > 0.05+2.5*math.Sqrt(0.05*0.95/float64(runs)) {
		t.Errorf("a strong gene is told of in %d of %d lines of 960 plants", found, runs)
	}
}
