package selection

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sync"

	"gonum.org/v1/gonum/mat"

	"hueward/colorimg/cie"
	"hueward/selection/draws"
	"hueward/selection/genetics"
	"hueward/selection/kept"
	"hueward/selection/mating"
	"hueward/selection/space"
)

// Choice is one way to go on: how many plants to grow each season, and how many of them
// to keep as parents.
type Choice struct{ Grow, Keep int }

// Course is the predicted outcome of a choice in the seasons ahead.
type Course struct {
	Choice
	// Reached is, for each season ahead, the chance that by then, in that season or an earlier one,
	// a quarter of the plants are within the tolerance by their genes.
	Reached []float64
	// Distance is the mean Delta E 2000 of each season's plants to the target.
	Distance []float64
	// Inbreeding is the plants' mean inbreeding, each season.
	Inbreeding []float64
	Intensity  float64 // of selection: see [genetics.Intensity]
	// Half is the first season whose Reached is at least a half, the next season being 1;
	// 0: none of those simulated.
	Half int
}

// PlanOptions says what to plan. The zero value, like nil, is the usual case.
type PlanOptions struct {
	Candidates []string // plants that can be parents now; none: an error
	Choices    []Choice // none: 30, 60 and 120 plants with 4, 6 and 10 kept
	Seasons    int      // to look ahead; 0: 8
	Runs       int      // of the simulation; 0: 200
	Seed       uint64   // the same seed gives the same answer
	NoSelfs    bool
	// Hold is for a line that is held: the parents are a random sample of the plants within the
	// tolerance, and are crossed in a ring.
	Hold bool
}

// Plan is the outcome of [PlanAhead].
type Plan struct {
	Target   Target
	Courses  []Course // in the order of the choices
	Runs     int
	Assumed  []string
	Warnings []string
}

// PlanAhead simulates the coming seasons for a few choices. True breeding values of the candidates are drawn around the
// predicted ones (those of ahead.go), crosses are chosen as [Pairs] chooses them, each plant is measured once, and is
// judged by its own record and those of its parents and sibs. Inbreeding follows from each run's pedigree.
//
// TestStrongCalibrated compares the chances with how often they come true: over its simulated truths together they agree
// within 0.09, and within 0.01 on average; with another simulator, which has linked genes, a chance of 0.96 came true
// in 0.87 of the cases.
//
// Source: the infinitesimal model, Bulmer 1980; a plant's own record is joined with its
// parents' and sibs' as in any selection index, Falconer and Mackay 1996, chapter 13.
func PlanAhead(v *Values, target Target, opt *PlanOptions) (*Plan, error) {
	if opt == nil {
		opt = &PlanOptions{}
	}
	t, err := target.Check()
	if err != nil {
		return nil, err
	}
	choices := opt.Choices
	if len(choices) == 0 {
		choices = UsualChoices(opt.Hold)
	}
	for _, c := range choices {
		if c.Grow < 2 || c.Keep < 1 || c.Keep > c.Grow || c.Grow > 10_000 {
			return nil, fmt.Errorf("grow %d plants and keep %d: grow 2 to 10000, and keep at least 1 and no more than are grown", c.Grow, c.Keep)
		}
		if opt.NoSelfs && c.Keep == 1 {
			return nil, fmt.Errorf("grow %d plants and keep 1: one plant alone sets no seed without selfs; keep at least 2", c.Grow)
		}
	}
	p := &planning{seasons: cmp.Or(max(opt.Seasons, 0), 8), runs: cmp.Or(max(opt.Runs, 0), 200), target: t, near: cie.NearnessTo(t.Lab),
		noSelfs: opt.NoSelfs, hold: opt.Hold}
	type told struct {
		Courses []Course
		Groups  []string
	}
	ahead, err := kept.Value(func() (told, error) {
		if err := p.begin(v, opt.Candidates); err != nil {
			return told{}, err
		}
		if o, share := v.secondModel(); o != nil {
			if q := p.under(); q.begin(o, opt.Candidates) == nil {
				p.other, p.otherShare = q, share
			}
		}
		out := told{Groups: p.groupWords}
		for _, c := range choices {
			out.Courses = append(out.Courses, p.course(c, opt.Seed))
		}
		return out, nil
	}, v.plants, v.asRead, v.opt, t, *opt, choices)
	if err != nil {
		return nil, err
	}
	genes := "many genes of small effect, no dominance"
	if v.Genes != nil {
		genes = "the strong genes that were found, and many of small effect"
	}
	return &Plan{Target: t, Runs: p.runs, Courses: ahead.Courses, Warnings: slices.Clone(v.Warnings),
		Assumed: slices.Concat(v.Assumed, ahead.Groups, []string{fmt.Sprintf(
			"the coming seasons are %d simulations: %s, each plant measured once, no plant lost", p.runs, genes)})}, nil
}

// mostPlanned is the largest number of candidates that a plan begins with; of more it takes the nearest.
const mostPlanned = 80

// planning is a simulation under way.
type planning struct {
	target        Target
	near          *cie.Nearness // distances to the target
	metric        space.Matrix  // [space.Metric] at the target
	scratches     sync.Pool     // of *scratch
	seasons, runs int
	noSelfs, hold bool
	values, bases []space.Vector // the candidates' breeding values, and their founder groups' part of these
	coancestry    [][]float64
	errors        *mat.TriDense  // Cholesky root of the covariance of the values' errors
	errorOf       []space.Matrix // each candidate's own error covariance
	additive      space.Matrix
	residual      space.Matrix
	weather       space.Matrix // variance of season effects, from which a family's mean cannot be told apart
	rootG, rootE  space.Matrix // Cholesky roots of additive and residual
	scaleCV       float64      // coefficient of variation of the additive variance
	groupWords    []string
	genes         *planGenes // nil: none
	pairing       *pairing   // of the candidates
	rated         []mating.Crossing
	other         *planning // under the second likeliest model of strong genes, of chance otherShare; nil: none
	otherShare    float64
}

// begin fills in the candidates and their values.
func (p *planning) begin(v *Values, ids []string) error {
	cs, err := v.candidates(ids)
	if err != nil {
		return err
	}
	if len(cs) == 1 && p.noSelfs {
		return errOnePlant
	}
	if first := p.pairing; first == nil {
		slices.SortStableFunc(cs, func(a, b candidate) int {
			return cmp.Compare(cie.DeltaE2000(space.Lab(a.value), p.target.Lab), cie.DeltaE2000(space.Lab(b.value), p.target.Lab))
		})
	} else { // under a second model: the same candidates in the same order
		at := map[int32]int{}
		for i, c := range first.candidates {
			at[c.at] = i
		}
		cs = slices.DeleteFunc(cs, func(c candidate) bool { _, ok := at[c.at]; return !ok })
		slices.SortFunc(cs, func(a, b candidate) int { return at[a.at] - at[b.at] })
	}
	f := &pairing{v: v, target: p.target, opt: &PairOptions{}, candidates: cs[:min(len(cs), mostPlanned)]}
	f.prepare()
	p.coancestry, p.groupWords, p.pairing, p.metric = f.coancestry, f.groupWords(), f, space.Metric(space.Of(p.target.Lab))
	f.opt.NoSelfs = p.noSelfs
	n := len(f.candidates)
	e := mat.NewSymDense(3*n, nil)
	w := v.ahead()
	drawn := f.under(w)
	for i, c := range drawn.candidates {
		p.values, p.bases = append(p.values, c.value), append(p.bases, space.Minus(c.value, c.own))
		p.errorOf = append(p.errorOf, drawn.errorCov(i, i))
		for j := range n {
			c := drawn.errorCov(i, j)
			for k := range 3 {
				for l := range 3 {
					if r, s := 3*i+k, 3*j+l; s >= r {
						if r == s {
							c[k][l] += 1e-6
						}
						e.SetSym(r, s, c[k][l])
					}
				}
			}
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(e) {
		return fmt.Errorf("the plants' values are too unsure to plan by; measure more plants")
	}
	p.errors = mat.NewTriDense(3*n, mat.Lower, nil)
	chol.LTo(p.errors)
	p.additive, p.residual = unflat(w.Components.Additive), unflat(w.Components.Residual)
	if w.Components.Plant != nil {
		p.residual = space.Add(p.residual, unflat(w.Components.Plant))
	}
	p.weather = space.Diag(v.SeasonVar)
	more := 0.0 // mean variance of the candidates' gametes, relative to those of plants of one founder group
	for _, c := range f.candidates {
		more += 4 * c.gives / max(1-c.inbreeding, 1e-3) / float64(n)
	}
	p.additive = space.Scale(max(more, 1), p.additive)
	p.rootG, p.rootE = space.Root(p.additive), space.Root(p.residual)
	p.scaleCV = w.scaleCV
	if v.Genes != nil {
		p.genes = &planGenes{v: w, m: v.Genes, families: v.Genes.Families()}
		for i := range f.candidates {
			p.genes.at = append(p.genes.at, f.candidates[i].at)
			p.genes.chances = append(p.genes.chances, v.Genes.Of(f.candidates[i].at))
		}
	}
	return nil
}

// under returns the same plan for other values, before begin. Its candidates keep their order, by which first names crosses.
func (p *planning) under() *planning {
	return &planning{seasons: p.seasons, runs: p.runs, target: p.target, near: p.near, noSelfs: p.noSelfs, hold: p.hold, pairing: p.pairing}
}

// first returns the crosses of the next season as [Pairs] chooses them, by the candidates' places.
func (p *planning) first(keep int) (crosses [][2]int) {
	f := p.pairing
	if p.rated == nil {
		p.rated = f.worth(f.rate())
	}
	f.opt.MostPlants, f.opt.Crosses = keep, max(keep, usualCrosses)
	chosen, _ := f.choose(p.rated)
	for _, q := range chosen {
		crosses = append(crosses, q.Places)
	}
	return crosses
}

// course simulates one choice. Each run has random numbers of its own, so that the outcome does not
// depend on the number of processors.
func (p *planning) course(c Choice, seed uint64) Course {
	out := Course{Choice: c, Intensity: genetics.Intensity(c.Keep, c.Grow), Reached: make([]float64, p.seasons),
		Distance: make([]float64, p.seasons), Inbreeding: make([]float64, p.seasons)}
	var first [][2]int
	if !p.hold {
		first = p.first(c.Keep)
	}
	results := make([]*simulated, p.runs)
	genetics.SideBySide(p.runs, func(r int) {
		of := p
		if p.other != nil && float64(r) < math.Round(p.otherShare*float64(p.runs)) {
			of = p.other
		}
		results[r] = of.run(c, first, rand.New(rand.NewPCG(seed, uint64(r))),
			&draws.Mirrored{Rand: rand.New(rand.NewPCG(^seed, uint64(r/2))), Sign: float64(1 - 2*(r%2))})
	})
	n := float64(p.runs)
	for _, r := range results {
		done := false
		for s := range p.seasons {
			done = done || r.reached[s]
			if done {
				out.Reached[s] = min(out.Reached[s]+1/n, 1)
			}
			out.Distance[s] += r.distance[s] / n
			out.Inbreeding[s] += r.inbreeding[s] / n
		}
	}
	for s, chance := range out.Reached {
		if chance >= 0.5 {
			out.Half = s + 1
			break
		}
	}
	return out
}

// UsualChoices returns the default choices: few, some and many plants; for a held line, from few
// parents to as many as hold it, see [genetics.ParentsToHold].
func UsualChoices(hold bool) []Choice {
	if hold {
		return []Choice{{50, 10}, {50, 25}, {100, 50}}
	}
	return []Choice{{30, 4}, {60, 6}, {120, 10}}
}
