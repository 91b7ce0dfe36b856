package selection

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"

	"hueward/colorimg/cie"
	"hueward/selection/draws"
	"hueward/selection/genetics"
	"hueward/selection/kept"
	"hueward/selection/mating"
	"hueward/selection/space"
)

// Kind is what kind of mating a pair is.
type Kind string

// The kinds of a pair. Sibs are full sibs, as [genetics.FullSibs] has them.
const (
	KindCross Kind = "cross"
	KindSelf  Kind = "self"
	KindSib   Kind = "sib"
)

// Pair is two plants, or one plant selfed, and the prediction of their offspring.
type Pair struct {
	SeedParent, PollenParent string // of a cross, either plant may bear the seed
	Kind                     Kind
	Offspring                Offspring
	//lint:ignore ST1003 it is Delta E, of the mean
	DeltaEOfMean float64
	Predicted    Predicted
	Inbreeding   float64 // of the offspring
	Why          string  // in a grower's words
	// Bonus is how many Delta E nearer the offspring count for their other traits: the mean of their parents'.
	Bonus float64
	// Sorts is the number by which pairs are sorted, less Bonus: Predicted.Distance; where strong genes part
	// the offspring, a distance in which their own offspring count too, and more.
	Sorts  float64
	merit  float64 // Sorts, by a quick approximation
	places [2]int  // of the parents among the candidates
}

// PairOptions says which pairs to look for. The zero value, like nil, is the usual case.
type PairOptions struct {
	Candidates []string // plants that can be crossed; empty: none
	Top        int      // how many pairs to predict in full; 0: 20
	Crosses    int      // how many crosses to choose together; 0: 6
	MostUses   int      // of one plant among them; 0: 3
	MostPlants int      // in all; 0: any
	// MostInbreeding is how much the chosen crosses may add to the mean coancestry c of the candidates, as a share of
	// 1 - c, 0 to 1; 0: 0.1 where the line is moved, 0.01 where it is held.
	MostInbreeding float64
	// Hold is for a line that is held true: all candidates are crossed in a ring.
	Hold    bool
	NoSelfs bool // of plants that cannot set seed to their own pollen
	// Doubts are texts about candidates, appended to the reason of each of their pairs; nil: none.
	Doubts map[string]string
	// Spare are candidates that the ranking would drop: a cross with one is chosen only where it is nearer by
	// more than spareCost, and pairs of spare plants that no chosen cross needs are not listed.
	Spare map[string]bool
	// Bonus is how many Delta E nearer each candidate counts for its other traits, as in its ranking; nil: 0.
	Bonus   map[string]float64
	Predict PredictOptions
}

// Pairing is the outcome of [Pairs].
type Pairing struct {
	Target Target // with its tolerance filled in
	Pairs  []Pair // best first, at most Top
	// Chosen are the crosses to make together, best first.
	Chosen []Pair
	// Coancestry is the mean coancestry c of the candidates, each with itself included; Gain is what the
	// chosen crosses add to it, as a share of 1 - c.
	Coancestry, Gain float64
	// Bred and Parents are the mean inbreeding of the chosen crosses' offspring, and of their parents.
	Bred, Parents float64
	Only          string     // which plants alone were paired, in words; empty: all that grow
	Few           string     // why fewer crosses than asked for are chosen; empty: they are not
	Tests         []GeneTest // matings that would tell what candidates carry hidden
	Assumed       []string
	Warnings      []string // never nil

	search  *pairing          // what Predict works from; nil: Predict is done
	all     []mating.Crossing // best first
	chosen  []mating.Crossing
	predict sync.Once
}

// candidate is one plant that may become a parent.
type candidate struct {
	id         string
	at         int32
	value, own space.Vector // breeding value; own: the value less its founder groups' part
	inbreeding float64
	bonus      float64 // for its other traits
	gives      float64 // variance among its gametes, as a share of the additive variance
}

// Pairs ranks all pairs of candidates, selfs included, by the expected distance of one of their offspring to the target,
// over the whole predicted distribution of its breeding value. Two plants on opposite sides of the target are often better
// than the two nearest. TestProgrammes compares the outcome over many seasons with keeping the nearest plants. The nearest
// of ten offspring is no criterion, as it favours parents whose values are uncertain.
//
// Pairs also chooses a set of crosses: with near offspring, while no plant is used more than MostUses times, and mean
// coancestry does not rise by more than MostInbreeding. A cross is chosen only where it is worth a bed: where one of its
// offspring is expected at most 1 Delta E, or a tenth of the distance, farther away than one of the best pair's. Less is
// hardly seen; a bed of a farther cross is better filled with more seed of the best one. So fewer crosses than asked for
// may be chosen, and [Pairing].Few says why.
//
// Source: expected loss over a distribution, as in any textbook of decision theory; coancestry
// of a set, Meuwissen 1997, J. Anim. Sci. 75:934.
func Pairs(v *Values, target Target, opt *PairOptions) (*Pairing, error) {
	p, err := Crosses(v, target, opt)
	if err != nil {
		return nil, err
	}
	p.Predict()
	return p, nil
}

// Crosses is the part of [Pairs] that a ranking needs, in a fraction of the time: Chosen names the plants that are crossed,
// without predictions of their offspring, and Pairs is empty. [Pairing.Predict] adds the rest.
func Crosses(v *Values, target Target, opt *PairOptions) (*Pairing, error) {
	if opt == nil {
		opt = &PairOptions{}
	}
	t, err := target.Check()
	if err != nil {
		return nil, err
	}
	cs, err := v.candidates(opt.Candidates)
	if err != nil {
		return nil, err
	}
	for i := range cs {
		cs[i].bonus = opt.Bonus[cs[i].id]
	}
	f := &pairing{v: v, target: t, opt: opt, candidates: cs}
	f.prepare()
	all := f.rate()
	out := &Pairing{Target: t, Assumed: slices.Clone(v.Assumed), Warnings: slices.Clone(v.Warnings), Coancestry: f.mean}
	out.Assumed = append(out.Assumed, f.groupWords()...)
	if len(f.candidates) < len(cs) {
		out.Assumed = append(out.Assumed, fmt.Sprintf("of %d plants, the %d that the best pairs are made of were looked at in full",
			len(cs), len(f.candidates)))
	}
	if len(all) == 0 {
		return nil, errOnePlant
	}
	choose := f.choose
	if opt.Hold {
		choose = f.ring
	}
	out.chosen, out.Gain = choose(f.worth(all))
	for _, c := range out.chosen {
		p := Pair{places: c.Places}
		f.name(&p)
		out.Chosen = append(out.Chosen, p)
	}
	if limit := f.limit(); out.Gain > limit+1e-9 && !opt.Hold {
		out.Warnings = append(out.Warnings, fmt.Sprintf(
			"these crosses cost the line %.0f %% of its variety, more than the %.0f %% asked for: the candidates are too closely "+
				"related; keep more "+
				"families", 100*out.Gain, 100*limit))
	}
	out.search, out.all = f, all
	return out, nil
}

// Predict completes the outcome of [Crosses] to that of [Pairs]: it fills in Pairs, predicts the offspring of all pairs listed
// and chosen, and finds Tests. Further calls do nothing.
func (r *Pairing) Predict() {
	r.predict.Do(func() {
		f := r.search
		if f == nil {
			return
		}
		all := f.listed(r.all, r.chosen)
		all = all[:min(cmp.Or(max(f.opt.Top, 0), 20), len(all))]
		f.predict(slices.Concat(r.chosen, all))
		r.Chosen, r.Pairs = f.fully(r.chosen), f.fully(all)
		r.tell(f)
		if !f.opt.Hold {
			bySorts(r.Chosen)
		}
		bySorts(r.Pairs)
		r.Tests = f.v.Tests(f.opt.Candidates, f.opt.NoSelfs)
		r.search, r.all, r.chosen = nil, nil, nil
	})
}

// errOnePlant is returned where the only candidate may not be selfed.
var errOnePlant = errors.New("only one plant, and no selfs: there is no pair; keep another plant")

// candidates returns the plants named, each once, in natural order of id.
func (v *Values) candidates(ids []string) ([]candidate, error) {
	if len(ids) == 0 {
		return nil, fmt.Errorf("no plant to cross: keep some, or name them")
	}
	var out []candidate
	seen := map[string]bool{}
	for _, id := range ids {
		at, ok := v.Ped.Place(id)
		if !ok {
			return nil, fmt.Errorf("plant %q is not in the pedigree", id)
		}
		if seen[id] {
			continue
		}
		seen[id] = true
		c := candidate{id: id, at: at, inbreeding: v.Ped.Inbreeding(at)}
		c.value, c.own = space.Vector(v.eval.Value(at)), space.Vector(v.eval.Own(at))
		out = append(out, c)
	}
	slices.SortFunc(out, func(a, b candidate) int { return CompareIDs(a.id, b.id) })
	return out, nil
}

// pairing is a search under way.
type pairing struct {
	v          *Values
	target     Target
	opt        *PairOptions
	candidates []candidate
	coancestry [][]float64 // candidates × candidates
	errors     []float64   // covariance of the errors of their values: candidates·3 × candidates·3
	additive   space.Matrix
	mean       float64 // of coancestry
	mixed      bool    // founders are of several groups
	otherShare float64 // where v is the second likeliest model of strong genes: its chance
	predicted  map[[2]int]Predicted
}

// prepare fills in what the candidates' pairs are judged by.
func (f *pairing) prepare() {
	places := func() []int32 {
		at := make([]int32, len(f.candidates))
		for i, c := range f.candidates {
			at[i] = c.at
		}
		return at
	}
	at := places()
	f.additive = unflat(f.v.Components.Additive)
	f.segregate()
	f.coancestry = f.v.Ped.Coancestries(at, at)
	n := float64(len(at))
	for _, row := range f.coancestry {
		for _, c := range row {
			f.mean += c / (n * n)
		}
	}
	if f.shorten(); len(f.candidates) < len(at) {
		at = places()
		f.coancestry = f.v.Ped.Coancestries(at, at)
	}
	f.errors = f.v.eval.ErrorCov(at)
}

// segregate works out the variance among each candidate's gametes.
func (f *pairing) segregate() {
	var ids []string
	for _, c := range f.candidates {
		ids = append(ids, c.id)
	}
	more := genetics.Segregating(f.v.plants, ids)
	f.mixed = more != nil
	for i := range f.candidates {
		c := &f.candidates[i]
		if c.gives = (1 - c.inbreeding) / 4; more != nil {
			c.gives *= more[c.id]
		}
	}
}

// groupWords returns what is assumed of founder groups.
func (f *pairing) groupWords() []string {
	if !f.mixed {
		return nil
	}
	return []string{fmt.Sprintf("founder groups differ in %.1f of the variety of their genes (a guess), so that offspring of mixtures "+
		"vary more than the groups do", genetics.GroupsApart)}
}

// errorCov returns the covariance of the errors of two candidates' values.
func (f *pairing) errorCov(i, j int) space.Matrix {
	var m space.Matrix
	n := len(f.candidates) * 3
	if f.errors == nil { // too large to work out: errors are taken as independent
		if i == j {
			m = f.v.errorVar(f.candidates[i].at)
		}
		return m
	}
	for k := range 3 {
		copy(m[k][:], f.errors[(3*i+k)*n+3*j:])
	}
	return space.Add(m, f.v.componentErrorCov(f.candidates[i].at, f.candidates[j].at))
}

// offspring predicts the offspring of candidates i and j, which may be the same. cases: with the
// cases of the parents' genotypes for strong genes.
func (f *pairing) offspring(i, j int, cases bool) Offspring {
	x, y := &f.candidates[i], &f.candidates[j]
	var m space.Vector
	for k := range 3 {
		m[k] = (x.value[k] + y.value[k]) / 2
	}
	c := f.errorCov(i, j)
	between := space.Scale(0.25, space.Add(space.Add(f.errorCov(i, i), f.errorCov(j, j)), space.Add(c, space.Transpose(c))))
	d := x.gives + y.gives
	o := Offspring{
		Mean: space.Lab(m), Between: between, ScaleCV: f.v.axisCV,
		Within: space.Scale(d, f.additive), Axes: space.Scale(math.Sqrt(d), f.v.axes),
	}
	if g := f.v.Genes; g != nil {
		k := f.v.kindsOf(g.Of(x.at), g.Of(y.at), i == j, cases)
		f.v.shiftCases(k, x.at, y.at)
		o.withGenes(k)
	}
	return o
}

// rate returns all pairs with their approximate merits and costs, best first.
func (f *pairing) rate() []mating.Crossing {
	n := len(f.candidates)
	var all []mating.Crossing
	for i := range n {
		for j := i; j < n; j++ {
			if i != j || !f.opt.NoSelfs {
				all = append(all, mating.Crossing{Places: [2]int{i, j}, Bonus: (f.candidates[i].bonus + f.candidates[j].bonus) / 2})
			}
		}
	}
	z, near, metric := draws.Few(), cie.NearnessTo(f.target.Lab), space.Metric(space.Of(f.target.Lab))
	genetics.SideBySide(len(all), func(k int) {
		p := &all[k]
		o := f.offspring(p.Places[0], p.Places[1], false)
		away := o.distance(near, z)
		p.Merit = away - p.Bonus
		d := space.Minus(f.candidates[p.Places[0]].own, f.candidates[p.Places[1]].own)
		p.Cost = mating.Doubt(away, space.Quadratic(metric, d))
	})
	slices.SortStableFunc(all, mating.ByMerit)
	return all
}

// predict adds to f.predicted those of the crossings that are not there yet, or takes them from the cache.
func (f *pairing) predict(some []mating.Crossing) {
	var fresh [][2]int
	var names []string
	for _, p := range some {
		if _, ok := f.predicted[p.Places]; !ok && !slices.Contains(fresh, p.Places) {
			fresh = append(fresh, p.Places)
			names = append(names, f.candidates[p.Places[0]].id, f.candidates[p.Places[1]].id)
		}
	}
	told, _ := kept.Value(func() ([]Predicted, error) {
		ahead, other, out := f.under(f.v.ahead()), f.secondModel(), make([]Predicted, len(fresh))
		genetics.SideBySide(len(fresh), func(k int) {
			i, j := fresh[k][0], fresh[k][1]
			o := ahead.offspring(i, j, true)
			if other != nil {
				q := other.offspring(i, j, true)
				o.other, o.otherShare = &q, other.otherShare
			}
			out[k] = o.Predict(f.target, &f.opt.Predict)
		})
		return out, nil
	}, f.v.plants, f.v.asRead, f.v.opt, f.target, f.opt, names)
	if f.predicted == nil {
		f.predicted = map[[2]int]Predicted{}
	}
	for k, p := range told {
		f.predicted[fresh[k]] = p
	}
}

// fully returns crossings as pairs with their predictions.
func (f *pairing) fully(some []mating.Crossing) []Pair {
	f.predict(some)
	out := make([]Pair, len(some))
	for k, p := range some {
		out[k] = f.full(Pair{places: p.Places, merit: p.Merit})
	}
	return out
}

// name fills in a pair's parents, kind, inbreeding and bonus.
func (f *pairing) name(p *Pair) (x, y candidate) {
	x, y = f.candidates[p.places[0]], f.candidates[p.places[1]]
	p.SeedParent, p.PollenParent, p.Kind = x.id, y.id, f.kind(x, y)
	p.Inbreeding, p.Bonus = f.coancestry[p.places[0]][p.places[1]], (x.bonus+y.bonus)/2
	return x, y
}

// full fills in a pair whose prediction is in f.predicted.
func (f *pairing) full(p Pair) Pair {
	x, y := f.name(&p)
	p.Offspring = f.offspring(p.places[0], p.places[1], true)
	p.DeltaEOfMean = cie.DeltaE2000(p.Offspring.Mean, f.target.Lab)
	p.Predicted = f.predicted[p.places]
	if p.Sorts = p.Predicted.Distance - p.Bonus; p.Offspring.genes != nil {
		p.Sorts = p.merit
	}
	p.Why = f.why(x, y, &p) + bonusWords(p.Bonus) + f.opt.Doubts[x.id]
	if y.id != x.id {
		p.Why += f.opt.Doubts[y.id]
	}
	return p
}

// kind returns the kind of mating of two candidates.
func (f *pairing) kind(x, y candidate) Kind {
	if x.id == y.id {
		return KindSelf
	}
	if f.v.Ped.FullSibs(x.at, y.at) {
		return KindSib
	}
	return KindCross
}

// why returns the reason for a pair, in a grower's words.
func (f *pairing) why(x, y candidate, p *Pair) string {
	t := f.target.Lab
	vx, _ := f.v.Of(x.id) // strong genes included, as in the ranking
	vy, _ := f.v.Of(y.id)
	dx, dy := cie.DeltaE2000(vx.Lab, t), cie.DeltaE2000(vy.Lab, t)
	if hides := p.hides(); hides != "" {
		return hides
	}
	switch {
	case f.opt.Hold:
		return "both are true, and as distantly related as possible"
	case p.Kind == KindSelf:
		return fmt.Sprintf("its selfs lie around a mean that is %.1f away, and vary less than a cross's offspring", p.DeltaEOfMean)
	case p.DeltaEOfMean < 0.7*min(dx, dy):
		return fmt.Sprintf("they lie on different sides of the target (%s; %s), and their offspring between them",
			cie.Direction(vx.Lab, t), cie.Direction(vy.Lab, t))
	}
	if words := cie.Direction(p.Offspring.Mean, t); words != cie.OnTarget {
		return fmt.Sprintf("their offspring vary around a mean that is %s than the target", words)
	}
	return "their offspring vary around a mean that is on the target"
}

// limit returns MostInbreeding, or its default.
func (f *pairing) limit() float64 {
	switch {
	case f.opt.MostInbreeding > 0:
		return f.opt.MostInbreeding
	case f.opt.Hold:
		return 0.01
	}
	return usualLimit
}

// tell fills in Bred, Parents and Few.
func (r *Pairing) tell(f *pairing) {
	n := float64(len(r.Chosen))
	for _, p := range r.Chosen {
		r.Bred += p.Inbreeding / n
		r.Parents += (f.candidates[p.places[0]].inbreeding + f.candidates[p.places[1]].inbreeding) / (2 * n)
	}
	switch asked := cmp.Or(max(f.opt.Crosses, 0), usualCrosses); {
	case f.opt.Hold || len(r.Chosen) >= asked:
	case len(f.candidates) == 1:
		r.Few = "there is only this plant to cross"
	default:
		r.Few = "no other cross is worth a bed of its own: its offspring would be farther from the target, or too inbred, " +
			"or of a plant used already"
	}
}

// Words returns a pair's name, such as "M-02 × M-07" or "M-02 selfed".
func (p *Pair) Words() string {
	if p.Kind == KindSelf {
		return p.SeedParent + " selfed"
	}
	return p.SeedParent + " × " + p.PollenParent
}
