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

// tenth is what was said with chances of one tenth, and came true. What one programme says errs together: by
// is the sum over programmes of the squares of what came true beyond what was said, of the number of
// cases, and of their product.
type tenth struct {
	cases, said, true, programmes float64
	by                            [3]float64
}

// said are chances by tenths.
type said [10]tenth

func (s *said) add(p, in float64) {
	t := &s[min(9, int(10*p))]
	t.cases, t.said, t.true = t.cases+1, t.said+p, t.true+in
}

// join adds what one programme said.
func (s *said) join(o *said) {
	for i := range s {
		t, u := &s[i], &o[i]
		t.cases, t.said, t.true = t.cases+u.cases, t.said+u.said, t.true+u.true
		if u.cases > 0 {
			t.programmes++
		}
		d := u.true - u.said
		t.by[0], t.by[1], t.by[2] = t.by[0]+d*d, t.by[1]+d*u.cases, t.by[2]+u.cases*u.cases
	}
}

// se is the standard error of the mean of what came true beyond what was said, over programmes.
//
// Source: the ratio estimator over clusters, Cochran 1977, Sampling Techniques, chapter 9A.
func (t *tenth) se() float64 {
	d := (t.true - t.said) / t.cases
	return math.Sqrt(max(t.by[0]-2*d*t.by[1]+d*d*t.by[2], 0)*t.programmes/max(t.programmes-1, 1)) / t.cases
}

// off are the tenths of 100 cases and more in which what was said is known to be more than least from what came true: by three
// standard errors, which are at least those of programmes that scatter by sd.
func (s *said) off(least, sd float64) (words string) {
	for i := range s {
		t := &s[i]
		if d := (t.true - t.said) / t.cases; t.cases >= 100 && math.Abs(d) > least+3*max(t.se(), sd/math.Sqrt(t.programmes)) {
			words += fmt.Sprintf(" %.2f:%.2f±%.2f", t.said/t.cases, t.true/t.cases, t.se())
		}
	}
	return words
}

// line are the tenths in words, and the means of what was said and came true.
func (s *said) line() (words string, p, in float64) {
	n := 0.0
	for i := range s {
		if t := &s[i]; t.cases > 0 {
			words += fmt.Sprintf(" %.2f:%.2f±%.2f(%.0f/%.0f)", t.said/t.cases, t.true/t.cases, t.se(), t.cases, t.programmes)
			n, p, in = n+t.cases, p+t.said, in+t.true
		}
	}
	return words, p / max(n, 1), in / max(n, 1)
}

// share counts how often something held.
type share struct{ n, held float64 }

func (s *share) add(held float64) { s.n, s.held = s.n+1, s.held+held }

func (s *share) join(o share) { s.n, s.held = s.n+o.n, s.held+o.held }

// calibration is what one programme said, season by season.
type calibration struct {
	within, kept, hidden, plan said
	grow, interval             share // seeds enough, by their true chance; true distances in their 95 % intervals
	found                      [4]float64
}

func (c *calibration) join(o *calibration) {
	c.within.join(&o.within)
	c.kept.join(&o.kept)
	c.hidden.join(&o.hidden)
	c.plan.join(&o.plan)
	c.grow.join(o.grow)
	c.interval.join(o.interval)
	for k := range c.found {
		c.found[k] += o.found[k]
	}
}

// words are the tenths of all that was said, and how often seeds were enough and intervals held.
func (c *calibration) words() string {
	within, _, _ := c.within.line()
	kept, _, _ := c.kept.line()
	plan, _, _ := c.plan.line()
	carried, _, _ := c.hidden.line()
	return fmt.Sprintf("strong genes 0 to 3 found in %.0f\n  within%s\n  kept%s\n  plan%s\n  carried%s\n  seeds are enough in %.3f of %.0f; "+
		"intervals hold %.3f", c.found, within, kept, plan, carried, c.grow.held/c.grow.n, c.grow.n, c.interval.held/c.interval.n)
}

// passesOn is how far what a plant passes on truly lies from the target: the mean over the classes of its selfs.
func (g *garden) passesOn(p *grown) float64 {
	n := p.copies()
	rest := space.Minus(p.truth, g.strongOf(n))
	d, ways := 0.0, 1
	for range n {
		ways *= 4
	}
	for w := range ways {
		of := make([]int, len(n))
		for l, k := range n {
			if of[l] = k; k == 1 {
				of[l] = [4]int{0, 1, 1, 2}[w>>(2*l)&3]
			}
		}
		d += cie.DeltaE2000(space.Lab(space.Plus(rest, g.strongOf(of))), g.target.Lab) / float64(ways)
	}
	return d
}

func (g *garden) strongOf(copies []int) space.Vector {
	if g.strong.loci == 0 {
		return space.Vector{}
	}
	return g.strong.effect(copies)
}

// calibrate follows a programme for some seasons, whose weather shifts each season's L*, a* and b* by a standard deviation of
// weather, and looks what was said of twelve pairs drawn from the chosen and from the best, of every plant's rank, of what
// plants carry, and of the seasons ahead.
func calibrate(t testing.TB, seed uint64, strong strongGenes, seasons int, weather float64) *calibration {
	g := newGarden(rand.New(rand.NewPCG(seed, 99)), 0.45, strong)
	out := &calibration{}
	type ahead struct {
		from int
		said []float64
	}
	var plans []ahead
	first := g.mix()
	skies := rand.New(rand.NewPCG(seed, 3))
	shift := func(season int) {
		w := space.Times(weather, normals(skies))
		for _, p := range g.season(season) {
			p.measured = space.Lab(space.Plus(space.Of(p.measured), w))
		}
	}
	for s := 1; s < first; s++ {
		shift(s)
	}
	for s := first; s < first+seasons; s++ {
		shift(s)
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
		if v.Genes != nil {
			out.found[v.Genes.Loci]++
		} else {
			out.found[0]++
		}
		opt := &PairOptions{MostPlants: 6, Top: 1}
		by := map[string]*grown{}
		var obs []Observation
		for _, p := range g.season(s) {
			opt.Candidates = append(opt.Candidates, p.ID)
			by[p.ID] = p
			obs = append(obs, Observation{Plant: p.ID, Photo: p.ID, Lab: p.measured})
			for _, c := range v.Carries(p.ID) {
				if strong.loci != 1 { // of none that was found falsely
					continue
				}
				in := 0.0
				if p.copies()[0] == 1 {
					in = 1
				}
				out.hidden.add(c.Chance, in)
			}
		}
		const keep = 6
		r, err := Rank(g.target, obs, &Options{Values: v, Keep: keep, Draws: 400})
		if err != nil {
			t.Fatal(err)
		}
		byTruth := g.season(s)
		slices.SortFunc(byTruth, func(a, b *grown) int { return cmp.Compare(g.passesOn(a), g.passesOn(b)) })
		for _, p := range r.Plants {
			in, held, d := 0.0, 0.0, g.passesOn(by[p.ID])
			if slices.Contains(byTruth[:keep], by[p.ID]) {
				in = 1
			}
			if p.ValueLow <= d && d <= p.ValueHigh {
				held = 1
			}
			out.kept.add(p.ChanceKept, in)
			out.interval.add(held)
		}
		plan, err := PlanAhead(v, g.target, &PlanOptions{Candidates: opt.Candidates, Choices: []Choice{{sown, 6}}, Runs: 100,
			Seasons: first + seasons - s})
		if err != nil {
			t.Fatal(err)
		}
		plans = append(plans, ahead{s, plan.Courses[0].Reached})
		pairs, err := Pairs(v, g.target, opt)
		if err != nil {
			t.Fatal(err)
		}
		const many = 100
		for _, c := range append(pairs.Chosen, pairs.Pairs...) {
			in := 0.0
			child := *g
			child.plants = nil
			for i := range many {
				child.cross(by[c.SeedParent], by[c.PollenParent], 99, i)
				if cie.DeltaE2000(space.Lab(child.plants[i].truth), g.target.Lab) <= g.target.Within {
					in++
				}
			}
			out.within.add(c.Predicted.ChanceWithin, in/many)
			if n := c.Predicted.GrowFor95; n > 0 && n < 2000 {
				out.grow.add(1 - math.Pow(1-in/many, float64(n)))
			}
		}
		for n := range sown {
			c := pairs.Chosen[n%len(pairs.Chosen)]
			g.cross(by[c.SeedParent], by[c.PollenParent], s+1, n)
		}
	}
	for _, p := range plans {
		reached := 0.0
		for k, chance := range p.said {
			if g.reached(p.from + 1 + k) {
				reached = 1
			}
			out.plan.add(chance, reached)
		}
	}
	return out
}

// What is said of pairs that are chosen, of plants and of the seasons ahead, over lines whose colour adds up
// and lines with strong genes, comes true as often as is said, over all, and seeds enough are sown.
//
// The gardens have the weather that the fit assumes, SeasonSD, as chances can be right only over what they assume. HUEWARD_WEATHER is
// another standard deviation; 0: none. The second simulator has weather of 1.
//
// With weather, 80 programmes of each of the first, second, third and last truth (seeds from 31000 on, which nothing was set by), all
// together: plans 0.02:0.04, 0.14:0.22, 0.24:0.27, 0.34:0.38, 0.45:0.45, 0.55:0.55, 0.65:0.62, 0.74:0.79, 0.85:0.77, 0.95:0.91, standard
// errors 0.04 to 0.05 from 0.14 to 0.65, else 0.03 and less, and 0.484:0.487 ± 0.016 on average; pairs agree within 0.04, ranks within
// 0.03 but for 0.74:0.64 ± 0.04 (126 cases), what is carried hidden within 0.06 but for 0.15:0.23 ± 0.04; intervals hold 0.914 to 0.931,
// seeds are enough in 0.919 to 0.953. Truth by truth plans have less than 100 cases in most tenths; on average 0.774:0.758 ± 0.029
// where colour adds up, 0.552:0.600 ± 0.034 dominant, 0.244:0.210 ± 0.028 recessive, 0.366:0.381 ± 0.034 with a pathway.
//
// What was tried: weather drawn in the seasons that a plan simulates moves what is said by 0.001 on average, and by 0.006 in one truth
// (90 programmes, seeds from 29000 on). The error of a season's mean is told too small where weather is strong, probably as the variance
// of seasons is taken as known once it is estimated: its mean square is 1.2 to 1.4 times what is said (50 lines without strong genes,
// the same seeds, three seasons each), 0.5 to 0.6 times without weather, and 2.5 to 3.4 times (30 lines) with weather of 3.
//
// The figures from here on are of gardens without weather. Of 1410 programmes with a dominant gene, 1555 with a recessive one, 508 with
// a pathway, 2687 without any and 341 with a gene between (seeds from 140000 on, which nothing was set by) intervals hold 0.92 to 0.93, and
// seeds are enough in 0.93 to 0.96. Of tenths of 100 cases and more, the first four truths together:
//   - pairs agree within 0.03, and in each truth within 0.05 but for 0.44:0.37 with a pathway;
//   - ranks agree within 0.03, and in each truth within 0.05 but for tenths above 0.64 of less than 450 cases, by up to 0.09;
//   - plans agree within 0.05 but for 0.25:0.31 and 0.34:0.41. Truth by truth they are too low below 0.8 where colour adds up
//     (0.25:0.37, 0.45:0.53, 0.75:0.84) and below the middle with a dominant gene (0.25:0.33, 0.35:0.45), and too high at the top
//     where a recessive class is wanted (0.94:0.84), with a pathway (0.85:0.78) or a gene between (0.84:0.77); standard errors up to 0.04;
//   - what plants carry hidden agrees within 0.05 but for 0.85, where 0.79 is true, and 0.07, where 0.12 to 0.14 is with a gene that
//     is dominant or between.
//
// Without strong genes the next season of the first plan is met as often as is said (0.48:0.49 of 1631 programmes at heritability
// 0.45, seeds from 340000 on); it is the seasons after a choice that come out better than said: 0.81:0.86 the next, 0.75:0.80 the
// first of the next plan. At heritability 0.3, for which 0.38 is estimated, 0.27:0.34 and 0.57:0.73.
//
// Over the second simulator's eight truths (216 to 270 programmes of each) pairs agree within 0.03 up to 0.54, but plans say too much
// above 0.4: 0.54:0.44, 0.65:0.59, 0.74:0.63, 0.84:0.72, 0.96:0.87, most where the target lies between a gene's classes (0.54:0.35,
// 0.95:0.82), least where it lies in a homozygote's (0.95:0.93). With colours that add up they say 0.15 too little where heritability
// is 0.3, as more is guessed (40 programmes).
//
// Plans and pairs go by values that count what founder groups differ by (ahead.go). By those that plants are ranked by, 0.15 was said
// where 0.21 was true over all truths, and 0.43 of pairs where 0.38 was. The first season's parents of lines without strong genes lie
// 0.09 ± 0.08 of their error nearer to the target than expected, by the others 0.33 ± 0.08 (207 programmes); over 543 of all truths (seeds
// from 78000 on, which it was chosen by) the mean square of what plans err by is 0.1142 in place of 0.1166, and 0.1541 in place of
// 0.1553 over the second simulator's. With the true model, and the parents' true genotypes and values, plans of all truths agree within
// 0.04 but for 0.15, where 0.09 ± 0.03 is true (486 programmes from 76000 on): what is off comes of what is known of the parents, not
// of the seasons that are simulated. Truth by truth they cannot agree while a quarter to two fifths of lines with one gene show none:
// what is said of those is the same as without genes.
//
// Of 195 to 402 programmes each these made plans no truer: errors
// that parents share seen jointly, the coancestry of the whole season, variances unsure axis by axis, more plants in reserve,
// genotypes of sibs drawn together, and chances of genotypes drawn with the effects that they go with. Nor (346 to 886 programmes) did
// a greater chance of the second likeliest model, though where none is told there is a gene oftener than its chance says. Nor (27
// without strong genes) did heritabilities drawn axis by axis together with the values and the rest that go with them: mean square
// 0.0977 in both. Of 40 such lines what a plan takes its next season to vary by is 0.97 of what it truly does; the values of the F2
// err by 1.11 of what is said, those of the next seasons by 1.04 to 1.06.
// HUEWARD_STUDY=30 follows so many programmes of each, of those truths that HUEWARD_TRUTHS names, from
// HUEWARD_SEED on, and shows the tenths: said:true, its standard error over programmes, and cases.
func TestStrongCalibrated(t *testing.T) {
	t.Parallel()
	runs, from := study(t)
	from = max(from, 1000)
	truths := strongTruths
	switch {
	case runs > 0:
	case os.Getenv("HUEWARD_FULL") == "1":
		runs = 4
	default:
		runs, truths = 1, truths[2:3]
	}
	only := os.Getenv("HUEWARD_TRUTHS")
	weather, err := strconv.ParseFloat(cmp.Or(os.Getenv("HUEWARD_WEATHER"), fmt.Sprint(SeasonSD)), 64)
	if err != nil {
		t.Fatal("HUEWARD_WEATHER:", err)
	}
	var pooled calibration
	for _, tr := range truths {
		if only != "" && !strings.Contains(only, tr.name) {
			continue
		}
		var all calibration
		for _, c := range inParallel(runs, func(i int) *calibration { return calibrate(t, uint64(from+i), tr.strongGenes, 3, weather) }) {
			all.join(c)
		}
		pooled.join(&all)
		t.Logf("%s: %s", tr.name, all.words())
		_, p, in := all.within.line()
		_, q, of := all.hidden.line()
		_, planned, reached := all.plan.line()
		enough := all.grow.held / all.grow.n
		for _, c := range []struct {
			what      string
			said      *said
			least, sd float64 // of what one programme says of it, from what comes true
		}{{"pairs", &all.within, 0.05, 0.12}, {"ranks", &all.kept, 0.05, 0.12}, {"plan", &all.plan, 0.05, 0.45},
			{"carried hidden", &all.hidden, 0.08, 0.35}} {
			if off := c.said.off(c.least, c.sd); off != "" {
				t.Errorf("%s, %s: said:true%s", tr.name, c.what, off)
			}
		}
		// The pairs of one programme err together: one programme counts as one.
		held, se := all.interval.held/all.interval.n, 0.12/math.Sqrt(float64(runs))
		if math.Abs(p-in) > 0.03+3*se || math.Abs(q-of) > 0.05+6*se || enough < 0.9-3*se || math.Abs(planned-reached) > 0.05+6*se ||
			held < 0.9-2*se || held > 0.99 {
			t.Errorf("%s: %.2f said, %.2f true; carried hidden %.2f said, %.2f true; seeds are enough in %.2f; plan %.2f said, %.2f true; "+
				"intervals hold %.3f", tr.name, p, in, q, of, enough, planned, reached, held)
		}
	}
	if runs > 1 {
		t.Logf("all together: %s", pooled.words())
	}
}
