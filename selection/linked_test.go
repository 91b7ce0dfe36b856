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

	"hueward/colorimg/cie"
	"hueward/selection/genetics"
	"hueward/selection/space"
)

// A second simulator, made apart from garden: linked genes on chromosomes, effects of an exponential
// distribution, weather that shifts whole seasons, and sizes, founders and tolerance that differ from
// programme to programme.

const (
	chromosomes = 8   // of one Morgan each
	sites       = 25  // of genes on each, evenly spaced
	siteMorgans = .04 // from one to the next
)

// strand is one set of chromosomes.
type strand [chromosomes * sites]bool

// bred is one plant of a linked garden.
type bred struct {
	genetics.Parents
	sets     [2]strand
	season   int
	truth    space.Vector
	measured cie.Lab
}

// linked is a garden of linked genes.
type linked struct {
	rnd      *rand.Rand
	effect   [chromosomes * sites]space.Vector
	switches []int // sites of strong genes
	strong   func(copies []int) space.Vector
	base     space.Vector
	noise    space.Matrix // root of the environment's covariance
	target   Target
	sown     int
	keep     int
	plants   []*bred
	last     *genetics.Components
}

// linkedTruth is what a linked garden's strong genes do, and the genotypes that the target is a mean of.
type linkedTruth struct {
	name   string
	genes  int
	effect func(copies []int, size space.Vector) space.Vector
	aim    [][]int
}

func recessive(n []int, size space.Vector) space.Vector {
	if n[0] == 2 {
		return size
	}
	return space.Vector{}
}

// switched is a pathway: two copies of the first gene's second form hide what the second gene does.
func switched(n []int, size space.Vector) space.Vector {
	switch {
	case n[0] == 2:
		return size
	case n[1] == 2:
		return space.Vector{0.5 * size[1], 0.7 * size[2], -0.6 * size[0]}
	}
	return space.Vector{}
}

var linkedTruths = []linkedTruth{
	{"dominant class", 1, recessive, [][]int{{0}}},
	{"recessive class", 1, recessive, [][]int{{2}}},
	{"between", 1, recessive, [][]int{{0}, {2}}},
	{"pathway first", 2, switched, [][]int{{0, 0}}},
	{"pathway hidden", 2, switched, [][]int{{0, 2}}},
	{"pathway last", 2, switched, [][]int{{2, 0}}},
	{"halfway", 1, func(n []int, size space.Vector) space.Vector { return space.Times(float64(n[0])/2, size) }, [][]int{{0}, {2}}},
	{"adds up", 0, func([]int, space.Vector) space.Vector { return space.Vector{} }, [][]int{nil}},
}

func newLinked(seed uint64, h2 float64, tr *linkedTruth) *linked {
	rnd := rand.New(rand.NewPCG(seed, 2024))
	g := &linked{rnd: rnd, sown: []int{40, 60, 90}[rnd.IntN(3)]}
	g.keep = g.sown / 10
	genes := []float64{0.2, 0.5, 1}[rnd.IntN(3)] // share of sites that do something
	size := space.Vector{}
	for space.Dot(size, size) < 1 {
		size = normals(rnd)
	}
	size = space.Times((13+9*rnd.Float64())/math.Sqrt(space.Dot(size, size)), size)
	for i := range g.effect {
		if rnd.Float64() < genes {
			e := normals(rnd)
			g.effect[i] = space.Times(rnd.ExpFloat64()/math.Sqrt(space.Dot(e, e)), space.Vector{e[0], 0.8 * e[1], 1.3 * e[2]})
		}
	}
	g.switches = rnd.Perm(len(g.effect))[:tr.genes]
	for _, s := range g.switches {
		g.effect[s] = space.Vector{}
	}
	g.strong = func(n []int) space.Vector { return tr.effect(n, size) }
	first := g.found(rnd.IntN(3))
	// The first plants' colours beside the strong genes: their mean, and how they scatter within groups.
	var mean space.Vector
	by := map[string][]space.Vector{}
	for _, p := range first {
		x := g.many(p)
		mean = space.Plus(mean, space.Times(1/float64(len(first)), x))
		by[p.Group] = append(by[p.Group], x)
	}
	var within space.Matrix
	for _, x := range by {
		var m space.Vector
		for _, v := range x {
			m = space.Plus(m, space.Times(1/float64(len(x)), v))
		}
		for _, v := range x {
			within = space.Add(within, space.Scale(1/float64(len(first)), space.Outer(space.Minus(v, m))))
		}
	}
	scale := 8 / math.Sqrt(space.Trace(within)) // plants of one group scatter by 8 about, all axes together
	for i := range g.effect {
		g.effect[i] = space.Times(scale, g.effect[i])
	}
	within, mean = space.Scale(scale*scale, within), space.Times(scale, mean)
	middle := space.Vector{45 + 30*rnd.Float64(), -10 + 50*rnd.Float64(), -30 + 70*rnd.Float64()}
	g.base = space.Minus(middle, mean)
	g.noise = space.Root(space.Scale((1-h2)/h2, within))
	z := normals(rnd)
	at := space.Plus(middle, space.Apply(space.Root(within), space.Times(2/math.Sqrt(space.Dot(z, z)), z)))
	for _, n := range tr.aim {
		at = space.Plus(at, space.Times(1/float64(len(tr.aim)), g.strong(n)))
	}
	g.target = Target{Lab: space.Lab(at), Within: 2.5 + rnd.Float64()}
	for _, p := range first {
		g.grow(p)
	}
	return g
}

// found makes the first plants: of two groups of unlike frequencies, an F2 of two pure lines, or one mixture.
func (g *linked) found(kind int) (first []*bred) {
	rnd := g.rnd
	switches := map[int]bool{}
	for _, s := range g.switches {
		switches[s] = true
	}
	var freq [2][chromosomes * sites]float64
	for i := range freq[0] {
		x := 0.15 + 0.7*rnd.Float64()
		lean := 0.25 * rnd.NormFloat64()
		if switches[i] {
			x, lean = 0.3+0.35*rnd.Float64(), 0.15*rnd.NormFloat64()
		}
		freq[0][i], freq[1][i] = min(max(x+lean, 0.05), 0.95), min(max(x-lean, 0.05), 0.95)
	}
	random := func(k int) (s strand) {
		for i := range s {
			s[i] = rnd.Float64() < freq[k][i]
		}
		return s
	}
	var line [2]*bred
	for k := range line {
		s := random(k)
		for i := range s {
			if switches[i] { // the F2 has both forms of each
				s[i] = k == i%2
			}
		}
		line[k] = &bred{Parents: genetics.Parents{ID: fmt.Sprintf("P%d", k)}, sets: [2]strand{s, s}}
	}
	for i := range g.sown {
		p := &bred{season: 1, Parents: genetics.Parents{ID: fmt.Sprintf("1-%d", i)}}
		switch k := i % 2; kind {
		case 0:
			p.Group, p.sets = string("AB"[k]), [2]strand{random(k), random(k)}
		case 1:
			f1 := &bred{sets: [2]strand{line[0].sets[0], line[1].sets[0]}}
			p.sets = [2]strand{g.gamete(f1), g.gamete(f1)}
			p.Seed, p.Pollen = "F1", "F1"
		case 2:
			p.Group, p.sets = "A", [2]strand{random(i / 2 % 2), random(i / 3 % 2)}
		}
		first = append(first, p)
	}
	if kind == 1 {
		g.plants = append(g.plants, line[0], line[1], &bred{Parents: genetics.Parents{ID: "F1", Seed: "P0", Pollen: "P1"}})
	}
	return first
}

// gamete is a strand with crossovers, without interference (Haldane).
func (g *linked) gamete(p *bred) (s strand) {
	swap := (1 - math.Exp(-2*siteMorgans)) / 2
	k := 0
	for i := range s {
		if i%sites == 0 {
			k = g.rnd.IntN(2)
		} else if g.rnd.Float64() < swap {
			k = 1 - k
		}
		s[i] = p.sets[k][i]
	}
	return s
}

// many is what the many genes give a plant.
func (g *linked) many(p *bred) (x space.Vector) {
	for _, s := range p.sets {
		for i, has := range s {
			if has {
				x = space.Plus(x, g.effect[i])
			}
		}
	}
	return x
}

func (g *linked) grow(p *bred) {
	copies := make([]int, len(g.switches))
	for i, s := range g.switches {
		for _, set := range p.sets {
			if set[s] {
				copies[i]++
			}
		}
	}
	p.truth = space.Plus(space.Plus(g.base, g.many(p)), g.strong(copies))
	p.measured = space.Lab(space.Plus(p.truth, space.Apply(g.noise, normals(g.rnd))))
	g.plants = append(g.plants, p)
}

// run counts the seasons until a quarter of the plants truly are within the tolerance, at most 30.
func (g *linked) run(how func(g *linked, now []*bred) [][2]*bred) int {
	weather := rand.New(rand.NewPCG(g.rnd.Uint64(), 3))
	for season := 1; ; season++ {
		var now []*bred
		in := 0
		w := normals(weather)
		for _, p := range g.plants {
			if p.season != season {
				continue
			}
			p.measured = space.Lab(space.Plus(space.Of(p.measured), w))
			now = append(now, p)
			if cie.DeltaE2000(space.Lab(p.truth), g.target.Lab) <= g.target.Within {
				in++
			}
		}
		if 4*in >= len(now) || season == 30 {
			return season
		}
		pairs := how(g, now)
		for i := range g.sown {
			x := pairs[i%len(pairs)]
			g.grow(&bred{season: season + 1, sets: [2]strand{g.gamete(x[0]), g.gamete(x[1])},
				Parents: genetics.Parents{ID: fmt.Sprintf("%d-%d", season+1, i), Seed: x[0].ID, Pollen: x[1].ID}})
		}
	}
}

func linkedNearest(g *linked, now []*bred) (out [][2]*bred) {
	slices.SortStableFunc(now, func(a, b *bred) int {
		return cmp.Compare(cie.DeltaE2000(a.measured, g.target.Lab), cie.DeltaE2000(b.measured, g.target.Lab))
	})
	for len(out) < g.sown {
		if i, j := g.rnd.IntN(g.keep), g.rnd.IntN(g.keep); i != j {
			out = append(out, [2]*bred{now[i], now[j]})
		}
	}
	return out
}

func linkedPairs(t testing.TB) func(g *linked, now []*bred) [][2]*bred {
	return func(g *linked, now []*bred) (out [][2]*bred) {
		var plants []genetics.Parents
		var records []Record
		by := map[string]*bred{}
		for _, p := range g.plants {
			plants = append(plants, p.Parents)
			by[p.ID] = p
			if p.season > 0 {
				records = append(records, Record{Plant: p.ID, Season: strconv.Itoa(p.season), Lab: p.measured})
			}
		}
		v, err := Predict(plants, records, &ValueOptions{Start: g.last})
		if err != nil {
			t.Fatal(err)
		}
		g.last = &v.Components
		opt := &PairOptions{MostPlants: g.keep, Top: 1}
		for _, p := range now {
			opt.Candidates = append(opt.Candidates, p.ID)
		}
		r, err := Crosses(v, g.target, opt)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range r.Chosen {
			out = append(out, [2]*bred{by[c.SeedParent], by[c.PollenParent]})
		}
		return out
	}
}

// Programmes of the second simulator, against keeping the nearest plants: HUEWARD_STUDY, HUEWARD_SEED, HUEWARD_TRUTHS and
// HUEWARD_H2 as in TestStrongProgrammes. One that does not reach its target in 30 seasons counts as 30, on both sides; without
// these the recessive class is at 0.76, the pathway's last class at 0.72, and the others move by 0.03 at most.
//
// Shares of runs on seeds that nothing was set by (from 740000 on): dominant class 0.73 ± 0.02 (1282 runs), between 0.76 ± 0.02 (847),
// pathway first 0.84 ± 0.03 (346), adds up 0.72 ± 0.02 (1350); and before families updated their parents' values: recessive class
// 0.70 ± 0.06, pathway hidden 0.83 ± 0.08, last 0.64 ± 0.06, half-way 0.72 ± 0.07 (55 to 57 runs). Where the target lies between
// the classes, four fifths of the plants are of one class after 1.2 seasons of 6.3: it is the many genes that take the time. With
// their true values known, all truths take 2 to 3 seasons; with the strong genes known, the shares are 0.46 to 0.78 (15 runs of each).
//
// These ways of choosing were tried without gain: by what offspring breed among each other, in place of what they are (1.02 ± 0.01
// of the seasons over both simulators, 38 to 272 pairs of runs of each truth, though 0.96 with strong genes known), and by the
// nearest quarter of a cross's offspring (1.14 with strong genes known). Beds for crosses within half of the distance, four crosses
// in place of six, twice the inbreeding, and a merit averaged over two models of genes gained nothing beyond its error.
func TestLinkedProgrammes(t *testing.T) {
	t.Parallel()
	runs, seed := study(t)
	h2, _ := strconv.ParseFloat(cmp.Or(os.Getenv("HUEWARD_H2"), "0.45"), 64)
	only := os.Getenv("HUEWARD_TRUTHS")
	few := runs == 0
	if runs = max(runs, 3); os.Getenv("HUEWARD_FULL") == "1" {
		runs = max(runs, 8)
	}
	for i := range linkedTruths {
		tr := &linkedTruths[i]
		if only != "" && !slices.Contains(strings.Split(only, ","), tr.name) || only == "" && few && i != 1 {
			continue
		}
		of := func(how func(*linked, []*bred) [][2]*bred) []int {
			return inParallel(runs, func(i int) int { return newLinked(uint64(seed+i), h2, tr).run(how) })
		}
		share, se, line := shareOf(of(linkedPairs(t)), of(linkedNearest))
		t.Logf("linked %s, heritability %.2f: share %.2f ± %.2f of %s", tr.name, h2, share, se, line)
		if share > 0.95+2*se {
			t.Errorf("linked %s: pairs take %.2f of the seasons of keeping the nearest", tr.name, share)
		}
	}
}
