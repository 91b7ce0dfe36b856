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
	"hueward/selection/space"
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
	within, hidden said
	grow           [2]float64 // pairs with a number of seeds to sow, and those whose number held
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
				if cie.DeltaE2000(space.Lab(child.plants[i].truth), g.target.Lab) <= g.target.Within {
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

// What is said of pairs that are chosen, over lines whose colour adds up and lines with strong genes,
// comes true as often as is said, over all, and seeds enough are sown. HUEWARD_STUDY=30 follows
// so many programmes of each, and shows the tenths.
func TestStrongCalibrated(t *testing.T) {
	t.Parallel()
	runs, _ := strconv.Atoi(os.Getenv("HUEWARD_STUDY"))
	truths := strongTruths
	switch {
	case runs > 0:
	case os.Getenv("HUEWARD_FULL") == "1":
		runs = 6
	default:
		runs, truths = 1, truths[2:3]
	}
	for _, tr := range truths {
		var all, hidden said
		grow := [2]float64{}
		for _, c := range inParallel(runs, func(i int) *calibration { return calibrate(t, 1000+uint64(i), tr.strongGenes, 3) }) {
			all.join(&c.within)
			hidden.join(&c.hidden)
			grow[0], grow[1] = grow[0]+c.grow[0], grow[1]+c.grow[1]
		}
		within, p, in := all.line()
		carried, q, of := hidden.line()
		t.Logf("%s: said:true of %.0f pairs %s; carried hidden %s; seeds to sow are enough in %.2f",
			tr.name, grow[0], within, carried, grow[1]/grow[0])
		// The pairs of one programme err together: one programme counts as one.
		if se := 0.12 / math.Sqrt(float64(runs)); math.Abs(p-in) > 0.05+3*se || math.Abs(q-of) > 0.1+3*se || grow[1]/grow[0] < 0.85-3*se {
			t.Errorf("%s: %.2f said, %.2f true; carried hidden %.2f said, %.2f true; seeds are enough in %.2f",
				tr.name, p, in, q, of, grow[1]/grow[0])
		}
	}
}

// line are the tenths in words, and the means of what was said and came true.
func (s *said) line() (words string, p, in float64) {
	n := 0.0
	for i := range s.n {
		if s.n[i] > 0 {
			words += fmt.Sprintf(" %.2f:%.2f", s.p[i]/s.n[i], s.in[i]/s.n[i])
			n, p, in = n+s.n[i], p+s.p[i], in+s.in[i]
		}
	}
	return words, p / math.Max(n, 1), in / math.Max(n, 1)
}
