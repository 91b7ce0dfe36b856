package selection

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"hueward/colorimg/cie"
	"hueward/selection/genetics"
)

// said are chances that were said, and how often they came true, by tenths.
type said struct{ p, n, in [10]float64 }

func (s *said) add(p, in, n float64) {
	i := min(9, int(10*p))
	s.p[i], s.in[i], s.n[i] = s.p[i]+n*p, s.in[i]+in, s.n[i]+n
}

func (s *said) join(o *said) {
	for i := range s.n {
		s.p[i], s.in[i], s.n[i] = s.p[i]+o.p[i], s.in[i]+o.in[i], s.n[i]+o.n[i]
	}
}

// calibration is what one programme said, season by season.
type calibration struct {
	within, kept           said
	grow                   [2]float64 // pairs with a number of seeds to sow, and those whose number held
	value, inside, carried float64
	hidden                 said
}

// calibrate follows a programme for some seasons, and looks what was said of twelve pairs drawn from
// the chosen and from the best, of every plant's rank, and of what plants carry.
func calibrate(t testing.TB, seed uint64, strong strongGenes, seasons int) *calibration {
	g := newGarden(rand.New(rand.NewPCG(seed, 99)), 0.45, strong)
	out := &calibration{}
	for s := g.mix(); s < 3+seasons; s++ {
		var plants []genetics.Parents
		var records []Record
		for _, p := range g.plants {
			plants = append(plants, p.Parents)
			records = append(records, Record{Plant: p.ID, Season: p.season, Lab: p.measured})
		}
		v, err := Predict(plants, records, &ValueOptions{Start: g.last})
		if err != nil {
			t.Fatal(err)
		}
		g.last = &v.Components
		opt := &PairOptions{MostPlants: 6, Top: 1}
		by := map[string]*grown{}
		for _, p := range g.season(s) {
			opt.Candidates = append(opt.Candidates, p.ID)
			by[p.ID] = p
			for _, c := range v.Carries(p.ID) {
				in := 0.0
				if p.copies()[0] == 1 {
					in = 1
				}
				if strong.loci == 1 {
					out.hidden.add(c.Chance, in, 1)
				}
			}
		}
		r, err := Pairs(v, g.target, opt)
		if err != nil {
			t.Fatal(err)
		}
		const many = 100
		for _, c := range append(r.Chosen, r.Pairs...) {
			in := 0.0
			child := *g
			child.plants = nil
			for i := range many {
				child.cross(by[c.SeedParent], by[c.PollenParent], 99, i)
				if cie.DeltaE2000(lab(child.plants[i].truth), g.target.Lab) <= g.target.Within {
					in++
				}
			}
			out.within.add(c.Predicted.ChanceWithin, in, many)
			if n := c.Predicted.GrowFor95; n > 0 && n < 2000 {
				out.grow[0]++
				out.grow[1] += 1 - math.Pow(1-in/many, float64(n))
			}
		}
		for n := range sown {
			c := r.Chosen[n%len(r.Chosen)]
			g.cross(by[c.SeedParent], by[c.PollenParent], s+1, n)
		}
	}
	return out
}

// What is said of pairs, over lines whose colour adds up and lines with strong genes, comes true as
// often as is said: in tenths. HUEWARD_STUDY=30 follows so many programmes of each.
func TestStrongCalibrated(t *testing.T) {
	t.Parallel()
	runs, _ := strconv.Atoi(os.Getenv("HUEWARD_STUDY"))
	if runs == 0 {
		runs = 3
		if os.Getenv("HUEWARD_FULL") != "1" {
			return
		}
	}
	for _, tr := range strongTruths {
		var all, hidden said
		grow := [2]float64{}
		for _, c := range inParallel(runs, func(i int) *calibration { return calibrate(t, 1000+uint64(i), tr.strongGenes, 4) }) {
			all.join(&c.within)
			hidden.join(&c.hidden)
			grow[0], grow[1] = grow[0]+c.grow[0], grow[1]+c.grow[1]
		}
		line := ""
		for i := range all.n {
			if all.n[i] > 0 {
				line += fmt.Sprintf(" %.2f:%.2f(%.0f)", all.p[i]/all.n[i], all.in[i]/all.n[i], all.n[i]/100)
			}
		}
		line += "; hidden"
		for i := range hidden.n {
			if hidden.n[i] > 0 {
				line += fmt.Sprintf(" %.2f:%.2f(%.0f)", hidden.p[i]/hidden.n[i], hidden.in[i]/hidden.n[i], hidden.n[i])
			}
		}
		fmt.Printf("%s: said:true%s; seeds to sow are enough in %.2f of %.0f\n", tr.name, line, grow[1]/grow[0], grow[0])
	}
}
