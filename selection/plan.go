package selection

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"

	"hueward/colorimg/cie"
	"hueward/selection/genetics"
	"hueward/selection/space"
)

// Choice is one way to go on: how many plants to grow each season, and how many of them
// to keep as parents.
type Choice struct{ Grow, Keep int }

// Course is what comes of a choice in the seasons ahead.
type Course struct {
	Choice
	// Reached is, for the next season and those after it, the chance that a quarter of
	// its plants are within the tolerance by their genes, in it or in one before.
	Reached []float64
	// Distance is the mean Delta E 2000 of each season's plants to the target.
	Distance []float64
	// Inbreeding is the plants' mean inbreeding, each season.
	Inbreeding []float64
	Intensity  float64 // of selection: see [genetics.Intensity]
	// Half is the first season, counted from the next as 1, with a chance of at least a
	// half; 0: none of those looked at.
	Half int
}

// PlanOptions says what to plan. The zero value, like nil, is the usual case.
type PlanOptions struct {
	Candidates []string // plants that can be parents now; none: an error
	Choices    []Choice // none: 30, 60 and 120 plants with 4, 6 and 10 kept
	Seasons    int      // to look ahead; 0: 8
	Runs       int      // of the simulation; 0: 300
	Seed       uint64   // the same seed gives the same answer
	NoSelfs    bool
	// Hold is for a line that is held: of the plants within the tolerance, those kept are taken as they
	// come, and crossed in a ring.
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

// PlanAhead simulates the coming seasons from what is known of the candidates, for a few
// choices: true values are drawn around the predicted ones, crosses are chosen for
// near offspring, as [Pairs] does, each plant is measured once, and judged by its
// parents and itself.
//
// Source: the infinitesimal model, Bulmer 1980; a plant's own record is joined with its
// parents' as in any selection index, Falconer and Mackay 1996, chapter 13.
// Inbreeding is followed through the pedigree that each run makes.
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
	}
	p := &planning{seasons: opt.Seasons, runs: opt.Runs, target: t, noSelfs: opt.NoSelfs, hold: opt.Hold}
	if p.seasons <= 0 {
		p.seasons = 8
	}
	if p.runs <= 0 {
		p.runs = 300
	}
	if err := p.begin(v, opt.Candidates); err != nil {
		return nil, err
	}
	out := &Plan{Target: t, Runs: p.runs, Assumed: slices.Clone(v.Assumed), Warnings: slices.Clone(v.Warnings)}
	for _, c := range choices {
		out.Courses = append(out.Courses, p.course(c, opt.Seed))
	}
	out.Assumed = append(out.Assumed,
		fmt.Sprintf("the coming seasons are %d simulations: %s, each plant measured once, no plant lost",
			p.runs, p.geneWords()))
	return out, nil
}

// geneWords say what is simulated.
func (p *planning) geneWords() string {
	if p.genes == nil {
		return "many genes of small effect, no dominance"
	}
	return "the strong genes that were found, and many of small effect"
}

// mostPlanned is how many candidates a plan begins with: the nearest of more.
const mostPlanned = 80

// planning is a simulation under way.
type planning struct {
	target        Target
	seasons, runs int
	noSelfs, hold bool
	values        []space.Vector // of the candidates
	coancestry    [][]float64
	errors        *mat.TriDense  // root of the covariance of their errors
	errorOf       []space.Matrix // of each
	additive      space.Matrix
	residual      space.Matrix
	residualInv   space.Matrix
	rootG, rootE  space.Matrix
	scaleCV       float64
	genes         *planGenes // nil: none
}

func (p *planning) begin(v *Values, ids []string) error {
	cs, err := v.candidates(ids)
	if err != nil {
		return err
	}
	slices.SortStableFunc(cs, func(a, b candidate) int {
		return cmp.Compare(cie.DeltaE2000(space.Lab(a.value), p.target.Lab), cie.DeltaE2000(space.Lab(b.value), p.target.Lab))
	})
	f := &pairing{v: v, target: p.target, opt: &PairOptions{}, candidates: cs[:min(len(cs), mostPlanned)]}
	f.prepare()
	p.coancestry = f.coancestry
	n := len(f.candidates)
	e := mat.NewSymDense(3*n, nil)
	for i := range f.candidates {
		p.values = append(p.values, f.candidates[i].value)
		p.errorOf = append(p.errorOf, f.errorCov(i, i))
		for j := range n {
			c := f.errorCov(i, j)
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
	p.additive, p.residual = unflat(v.Components.Additive), unflat(v.Components.Residual)
	if v.Components.Plant != nil {
		p.residual = space.Add(p.residual, unflat(v.Components.Plant))
	}
	p.residualInv = space.Inverse(p.residual)
	p.rootG, p.rootE = space.Root(p.additive), space.Root(p.residual)
	p.scaleCV = v.scaleCV
	if v.Genes != nil {
		p.genes = &planGenes{v: v, m: v.Genes}
		for i := range f.candidates {
			p.genes.chances = append(p.genes.chances, v.Genes.Of(f.candidates[i].at))
		}
	}
	return nil
}

// course runs one choice many times, in blocks that do not depend on the number of
// processors.
func (p *planning) course(c Choice, seed uint64) Course {
	out := Course{Choice: c, Intensity: genetics.Intensity(c.Keep, c.Grow), Reached: make([]float64, p.seasons),
		Distance: make([]float64, p.seasons), Inbreeding: make([]float64, p.seasons)}
	results := make([]*simulated, p.runs)
	genetics.SideBySide(p.runs, func(r int) { results[r] = p.run(c, rand.New(rand.NewPCG(seed, uint64(r)))) })
	n := float64(p.runs)
	for _, r := range results {
		done := false
		for s := range p.seasons {
			done = done || r.reached[s]
			if done {
				out.Reached[s] += 1 / n
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

// simulated is one run.
type simulated struct {
	reached              []bool
	distance, inbreeding []float64
}

// simPlant is one plant of a run.
type simPlant struct {
	truth, value space.Vector
	error        space.Matrix
	f            float64
	cross        int       // that it came of
	genotype     int       // of the strong genes
	chances      []float64 // of its genotypes, as far as is known
}

func (p *planning) run(c Choice, rnd *rand.Rand) *simulated {
	out := &simulated{make([]bool, p.seasons), make([]float64, p.seasons), make([]float64, p.seasons)}
	z := func() space.Vector { return space.Vector{rnd.NormFloat64(), rnd.NormFloat64(), rnd.NormFloat64()} }
	n := len(p.values)
	width := math.Sqrt(math.Log1p(p.scaleCV * p.scaleCV))
	size := math.Exp((width*rnd.NormFloat64() - width*width/2) / 2) // of the true additive standard deviation
	e := mat.NewVecDense(3*n, nil)
	for i := range 3 * n {
		e.SetVec(i, rnd.NormFloat64())
	}
	e.MulVec(p.errors, e)
	plants := make([]simPlant, n)
	for i := range plants {
		plants[i] = simPlant{value: p.values[i], error: p.errorOf[i], f: 2*p.coancestry[i][i] - 1,
			truth: space.Plus(p.values[i], space.Vector{e.AtVec(3 * i), e.AtVec(3*i + 1), e.AtVec(3*i + 2)})}
	}
	if p.genes != nil {
		p.genes.begin(plants, rnd)
	}
	co := p.coancestry
	for s := range p.seasons {
		var crosses [][2]int
		if p.hold {
			crosses = p.held(plants, c.Keep, rnd)
		} else {
			crosses = p.crosses(plants, c.Keep)
		}
		var now []simPlant
		var parents [][2]int
		for k := range c.Grow {
			x := crosses[k%len(crosses)]
			a, b := &plants[x[0]], &plants[x[1]]
			d := 0.5 - (max(a.f, 0)+max(b.f, 0))/4
			mid := space.Plus(a.truth, b.truth)
			q := simPlant{f: co[x[0]][x[1]], cross: k % len(crosses)}
			q.truth = space.Plus(space.Vector{mid[0] / 2, mid[1] / 2, mid[2] / 2}, space.Apply(space.Scale(size*math.Sqrt(d), p.rootG), z()))
			if p.genes != nil {
				p.genes.cross(&q, a, b, rnd)
			}
			y := space.Plus(p.color(&q), space.Apply(p.rootE, z()))
			// Parents' values as the prior, its own record as the evidence.
			m := space.Plus(a.value, b.value)
			m = space.Vector{m[0] / 2, m[1] / 2, m[2] / 2}
			prior := space.Add(space.Scale(0.25, space.Add(a.error, b.error)), space.Scale(d, p.additive))
			inv := space.Inverse(space.Add(prior, p.residual))
			if p.genes != nil {
				var cov space.Matrix
				y, cov = p.genes.see(&q, y, m, inv)
				inv = space.Inverse(space.Add(space.Add(prior, p.residual), cov))
			}
			gain := space.Mul(prior, inv)
			q.value = space.Plus(m, space.Apply(gain, space.Minus(y, m)))
			q.error = space.Semidefinite(space.Sub(prior, space.Mul(gain, prior)))
			now, parents = append(now, q), append(parents, x)
		}
		in := 0
		for i := range now {
			d := cie.DeltaE2000(space.Lab(p.color(&now[i])), p.target.Lab)
			out.distance[s] += d / float64(c.Grow)
			out.inbreeding[s] += now[i].f / float64(c.Grow)
			if d <= p.target.Within {
				in++
			}
		}
		out.reached[s] = 4*in >= c.Grow
		plants, co = now, offspringCoancestry(co, parents, now)
	}
	return out
}

// offspringCoancestry is that of the offspring of the pairs of parents.
func offspringCoancestry(co [][]float64, parents [][2]int, plants []simPlant) [][]float64 {
	out := make([][]float64, len(parents))
	for i, x := range parents {
		out[i] = make([]float64, len(parents))
		for j, y := range parents[:i] {
			out[i][j] = (co[x[0]][y[0]] + co[x[0]][y[1]] + co[x[1]][y[0]] + co[x[1]][y[1]]) / 4
			out[j][i] = out[i][j]
		}
		out[i][i] = (1 + plants[i].f) / 2
	}
	return out
}

// crosses picks the parents, keep of them at most, and pairs them: those pairs first
// whose offspring's mean lies nearest, no plant in more than three. Strong genes count as in [Pairs].
func (p *planning) crosses(plants []simPlant, keep int) [][2]int {
	order := make([]int, len(plants))
	d := make([]float64, len(plants))
	for i := range plants {
		order[i], d[i] = i, p.away(&plants[i])
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(d[a], d[b]) })
	order = order[:min(len(order), 3*keep)]
	type pair struct {
		at [2]int
		d  float64
	}
	var pairs []pair
	for i, x := range order {
		for _, y := range order[i:] {
			if x == y && (p.noSelfs || keep > 1 && len(order) > 1) {
				continue
			}
			pairs = append(pairs, pair{[2]int{x, y}, p.worth(&plants[x], &plants[y], x == y)})
		}
	}
	slices.SortStableFunc(pairs, func(a, b pair) int { return cmp.Compare(a.d, b.d) })
	uses := map[int]int{}
	var out [][2]int
	for _, q := range pairs {
		more := 0
		for k, i := range q.at {
			if uses[i] == 0 && (k == 0 || q.at[1] != q.at[0]) {
				more++
			}
		}
		if len(uses)+more > keep || uses[q.at[0]] >= 3 || uses[q.at[1]] >= 3 {
			continue
		}
		uses[q.at[0]]++
		if q.at[1] != q.at[0] {
			uses[q.at[1]]++
		}
		out = append(out, q.at)
		if len(out) >= max(keep, 1) {
			break
		}
	}
	return out
}

// UsualChoices are looked at where nobody asks for others: few, some and many plants; of a held
// line from few parents to as many as hold it, see [ParentsToHold].
func UsualChoices(hold bool) []Choice {
	if hold {
		return []Choice{{50, 10}, {50, 25}, {100, 50}}
	}
	return []Choice{{30, 4}, {60, 6}, {120, 10}}
}

// held picks the parents of a held line, keep of them at most: of the plants that seem within the tolerance, or, of a
// line that has left it, of the nearer half, one of each cross before a second of any; each is crossed with the next.
func (p *planning) held(plants []simPlant, keep int, rnd *rand.Rand) [][2]int {
	order := make([]int, len(plants))
	d := make([]float64, len(plants))
	for i := range plants {
		order[i], d[i] = i, p.away(&plants[i])
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(d[a], d[b]) })
	fit := 0
	for fit < len(order) && d[order[fit]] <= p.target.Within {
		fit++
	}
	order = order[:max(fit, (len(order)+1)/2)]
	rnd.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
	taken, turn := map[int]int{}, make([]int, len(plants)) // of each plant: how many of its cross come before it
	for _, i := range order {
		turn[i] = taken[plants[i].cross]
		taken[plants[i].cross]++
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(turn[a], turn[b]) })
	order = order[:min(len(order), keep)]
	out := make([][2]int, len(order))
	for i := range order {
		out[i] = [2]int{order[i], order[(i+1)%len(order)]}
	}
	return out
}

// ParentsToHold is how many parents a held line needs for its inbreeding to rise by no
// more than most a season (0.01: one in a hundred), when each parent gives the same
// number of plants to the next season, and when it is left to chance.
//
// Source: ΔF = 1/(2N) with N the effective number, which is the number of parents when
// chance decides and twice that when each gives the same: Falconer and Mackay 1996,
// chapter 4.
func ParentsToHold(most float64) (equal, chance int) {
	return int(math.Ceil(1/(4*most) - 1e-9)), int(math.Ceil(1/(2*most) - 1e-9))
}
