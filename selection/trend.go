package selection

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"

	"gonum.org/v1/gonum/stat/distuv"

	"hueward/colorimg/cie"
)

// Grown is one plant of a line in one season, as [Trend] takes it.
type Grown struct {
	Record
	Seed, Pollen string // ids of its parents; empty: not known
	Group        string // of a founder: its variety or lot
}

// founder reports whether neither parent is known.
func (g *Grown) founder() bool { return g.Seed == "" && g.Pollen == "" }

// TrendSeason is one season of a line.
type TrendSeason struct {
	Season    string
	Plants    int // measured, check plants left out
	Mean      cie.Lab
	Cov       [3][3]float64 // covariance of Mean's error, as a sample of the season's plants
	DeltaE    float64       // of Mean to the target
	Low, High float64       // 95 % interval of DeltaE
	SE        float64       // of Mean, Delta E 2000
	Check     *cie.Lab      // mean of its check plants; nil: none
	// Parents is how many of its plants gave plants to the next season; Differential by
	// how much their mean differs from the season's, weighted by what each gave; Response
	// by how much the next season's mean differs. In L*, a*, b*; nil: not known.
	Parents      int
	Differential *[3]float64
	Response     *[3]float64
	// Value is the mean of what its plants pass on: the season's weather apart, as
	// far as that can be told. Nil: not predicted.
	Value  *cie.Lab
	within m3 // between plants
	checks m3 // covariance of the error of Check
}

// Estimate is a number and its standard error.
type Estimate struct{ Value, SE float64 }

// Ahead is how many seasons are to go; High is +Inf where it cannot be said.
type Ahead struct{ Value, Low, High float64 }

// TrendResult is the outcome of [Trend].
type TrendResult struct {
	Target  Target
	Seasons []TrendSeason // in natural order
	// ResponsePerSeason is by how much the season's mean comes nearer to the target
	// each season, in Delta E 2000, and the error of that; nil: one season only.
	ResponsePerSeason *Estimate
	// Genetic is the same of what the plants pass on; nil: not predicted.
	Genetic *float64
	// RealisedHeritability is response over selection differential, cumulated, in the
	// direction of the target; nil: no parents known, or no differential.
	RealisedHeritability *Estimate
	// SeasonsToTarget is until the mean is within the tolerance at this pace; nil: it does not
	// come nearer. Value 0: it is there.
	SeasonsToTarget *Ahead
	Moving          bool    // the means differ by more than chance, with a risk of 5 % of saying so wrongly
	Risk            float64 // the chance of means as different as these if the line stood still; NaN: cannot be said
	// Heritability of L*, a*, b*, by all relatives, and by parents and offspring alone;
	// nil: not estimated.
	Heritability []AxisHeritability
	OffTypes     []OffType
	EWMA         *Chart // of a held line with two seasons
	Assumed      []string
	Warnings     []string
}

// AxisHeritability is the heritability of one of L*, a*, b*.
type AxisHeritability struct {
	Of string
	Estimate
	ParentOffspring Estimate // NaN: too few families
}

// TrendOptions says what to look at. The zero value, like nil, is the usual case.
type TrendOptions struct {
	Hold   bool    // the line is held: look for off-types and drift
	Values *Values // what the plants pass on; nil: not predicted
}

// movingRisk is the risk of saying that a line moves when it does not.
const movingRisk = 0.05

// Trend follows a line over its seasons: their mean colours, whether they move, what
// selection gained, and how many seasons are to go. Founders of a group that was grown
// in several seasons are check plants: they show what the weather did, and after their
// first season do not count as the line's.
//
// It returns ErrNoRecords for no plants, and an error for a target that is none.
//
// Source: selection differential, response, realised heritability: Falconer and Mackay
// 1996, chapter 11; the test is Hotelling's 1931, Ann. Math. Statist. 2:360, of the
// slope over seasons.
func Trend(target Target, plants []Grown, opt *TrendOptions) (*TrendResult, error) {
	if opt == nil {
		opt = &TrendOptions{}
	}
	t, err := target.check()
	if err != nil {
		return nil, err
	}
	if len(plants) == 0 {
		return nil, ErrNoRecords
	}
	for _, p := range plants {
		for i, v := range vec(p.Lab) {
			if !(math.Abs(v) <= farthest) {
				return nil, fmt.Errorf("plant %q: %s is %v, not a colour; measure it again or leave it out", p.Plant, axes[i], v)
			}
		}
	}
	r := &TrendResult{Target: t, Assumed: []string{}, Warnings: []string{}, Risk: math.NaN()}
	f := &trending{r: r, plants: plants, values: opt.Values}
	f.sort()
	f.seasons()
	f.parents()
	f.pace()
	if opt.Hold {
		f.hold()
	}
	if v := opt.Values; v != nil && v.Fit != nil {
		alone, _ := ParentOffspring(plants)
		for i := range 3 {
			h2, se := v.Fit.Heritability(i)
			r.Heritability = append(r.Heritability, AxisHeritability{axes[i], Estimate{h2, se}, alone[i]})
		}
	}
	f.state(opt.Hold)
	return r, nil
}

// trending is a look at a line under way.
type trending struct {
	r       *TrendResult
	plants  []Grown
	values  *Values
	names   []string
	own     [][]Grown // of each season, the line's plants
	checks  [][]Grown
	pooled  m3 // covariance between plants within seasons
	df      float64
	checked bool // check plants join all seasons
}

// sort puts the plants into seasons, check plants apart.
func (f *trending) sort() {
	first := map[string]string{} // of each group, its first season
	several := map[string]bool{}
	for _, p := range f.plants {
		f.names = append(f.names, p.Season)
		if !p.founder() || p.Group == "" {
			continue
		}
		s, ok := first[p.Group]
		if ok && s != p.Season {
			several[p.Group] = true
		}
		if !ok || CompareIDs(p.Season, s) < 0 {
			first[p.Group] = p.Season
		}
	}
	slices.SortFunc(f.names, CompareIDs)
	f.names = slices.Compact(f.names)
	f.own, f.checks = make([][]Grown, len(f.names)), make([][]Grown, len(f.names))
	for _, p := range f.plants {
		s, _ := slices.BinarySearchFunc(f.names, p.Season, CompareIDs)
		check := p.founder() && several[p.Group]
		if check {
			f.checks[s] = append(f.checks[s], p)
		}
		if !check || first[p.Group] == p.Season {
			f.own[s] = append(f.own[s], p)
		}
	}
	// A season of check plants only is none of the line.
	keep := 0
	for s := range f.names {
		if len(f.own[s]) > 0 {
			f.names[keep], f.own[keep], f.checks[keep] = f.names[s], f.own[s], f.checks[s]
			keep++
		}
	}
	f.names, f.own, f.checks = f.names[:keep], f.own[:keep], f.checks[:keep]
	f.checked = keep > 1
	for _, c := range f.checks {
		f.checked = f.checked && len(c) > 0
	}
}

// meanOf is the mean of the plants' colours, and the sum of squares around it.
func meanOf(plants []Grown) (m v3, ss m3) {
	for _, p := range plants {
		m = plus(m, vec(p.Lab))
	}
	for i := range m {
		m[i] /= float64(len(plants))
	}
	for _, p := range plants {
		ss = add(ss, outer(minus(vec(p.Lab), m)))
	}
	return m, ss
}

func (f *trending) seasons() {
	var ss m3
	for _, plants := range f.own {
		_, s := meanOf(plants)
		ss = add(ss, s)
		f.df += float64(len(plants) - 1)
	}
	// A little is added, so that equal plants do not make a season's mean certain.
	f.pooled = scale(1/(f.df+1), add(ss, diag(v3{leastSD * leastSD, leastSD * leastSD, leastSD * leastSD})))
	for s, plants := range f.own {
		m, ss := meanOf(plants)
		q := TrendSeason{Season: f.names[s], Plants: len(plants), Mean: lab(m)}
		q.within = f.pooled
		if len(plants) > 4 {
			q.within = scale(1/float64(len(plants)-1), ss)
		}
		q.Cov = scale(1/float64(len(plants)), f.pooled)
		q.DeltaE = cie.DeltaE2000(q.Mean, f.r.Target.Lab)
		q.Low, q.High = interval(m, vec(f.r.Target.Lab), q.DeltaE, q.Cov, f.df+1)
		q.SE = math.Sqrt(trace(mul(metric(m), q.Cov)))
		if c := f.checks[s]; len(c) > 0 {
			m, _ := meanOf(c)
			x := lab(m)
			q.Check, q.checks = &x, scale(1/float64(len(c)), f.pooled)
		}
		q.Value = f.meanValue(plants)
		f.r.Seasons = append(f.r.Seasons, q)
	}
}

func (f *trending) meanValue(plants []Grown) *cie.Lab {
	if f.values == nil {
		return nil
	}
	var m v3
	for _, p := range plants {
		v, ok := f.values.Of(p.Plant)
		if !ok {
			return nil
		}
		m = plus(m, vec(v.Lab))
	}
	x := lab(v3{m[0] / float64(len(plants)), m[1] / float64(len(plants)), m[2] / float64(len(plants))})
	return &x
}

// parents fills in what the parents of each season differed by, and what came of it.
func (f *trending) parents() {
	for s := range f.own {
		if s+1 == len(f.own) {
			break
		}
		gave := map[string]float64{}
		for _, p := range f.own[s+1] {
			for _, parent := range [2]string{p.Seed, p.Pollen} {
				if parent != "" {
					gave[parent]++
				}
			}
		}
		q := &f.r.Seasons[s]
		var sum v3
		total := 0.0
		for _, p := range f.own[s] {
			if n := gave[p.Plant]; n > 0 {
				q.Parents++
				total += n
				for i, v := range vec(p.Lab) {
					sum[i] += n * v
				}
			}
		}
		response := minus(vec(f.r.Seasons[s+1].Mean), vec(q.Mean))
		if f.checked { // less what the check plants changed by
			response = minus(response, minus(vec(*f.r.Seasons[s+1].Check), vec(*q.Check)))
		}
		q.Response = &response
		if total > 0 {
			d := minus(v3{sum[0] / total, sum[1] / total, sum[2] / total}, vec(q.Mean))
			q.Differential = &d
		}
	}
}

// time is when season s was, in seasons: years apart where names are years.
func (f *trending) time(s int) float64 {
	first, err1 := strconv.Atoi(f.names[0])
	this, err2 := strconv.Atoi(f.names[s])
	if err1 == nil && err2 == nil && this-first < 200 {
		return float64(this - first)
	}
	return float64(s)
}

// corrected is the mean of season s, less what check plants changed by since the first,
// and the covariance of its error, with what a season's weather adds where no check
// plants tell.
func (f *trending) corrected(s int) (m v3, cov m3) {
	q := &f.r.Seasons[s]
	m, cov = vec(q.Mean), q.Cov
	if f.checked {
		return minus(m, minus(vec(*q.Check), vec(*f.r.Seasons[0].Check))), add(cov, q.checks)
	}
	return m, add(cov, diag(v3{seasonSD * seasonSD, seasonSD * seasonSD, seasonSD * seasonSD}))
}

// pace fills in whether and how fast the line moves.
func (f *trending) pace() {
	r, n := f.r, len(f.own)
	if n < 2 {
		return
	}
	// The slope over seasons, weighted by how sure each mean is.
	mid, total := 0.0, 0.0
	weight := make([]float64, n)
	for s := range n {
		_, cov := f.corrected(s)
		weight[s] = 3 / trace(cov)
		mid += weight[s] * f.time(s)
		total += weight[s]
	}
	mid /= total
	var slope v3
	var cov m3
	sxx := 0.0
	for s := range n {
		sxx += weight[s] * (f.time(s) - mid) * (f.time(s) - mid)
	}
	for s := range n {
		m, c := f.corrected(s)
		w := weight[s] * (f.time(s) - mid) / sxx
		for i := range slope {
			slope[i] += w * m[i]
		}
		cov = add(cov, scale(w*w, c))
	}
	t2 := dot(slope, apply(inverse(cov), slope))
	r.Risk = hotellingRisk(t2, f.df)
	r.Moving = r.Risk < movingRisk

	// Toward the target, in units of Delta E.
	last := vec(r.Seasons[n-1].Mean)
	lt, u := f.toward(last)
	rate := dot(u, apply(lt, slope))
	se := math.Sqrt(max(dot(u, apply(mul(mul(lt, cov), transpose(lt)), u)), 0))
	r.ResponsePerSeason = &Estimate{rate, se}
	if first, end := r.Seasons[0].Value, r.Seasons[n-1].Value; first != nil && end != nil {
		g := dot(u, apply(lt, minus(vec(*end), vec(*first)))) / f.time(n-1)
		r.Genetic = &g
	}
	f.ahead(rate, se)
	f.realised(lt, u)
}

// toward is the map to coordinates where distance is Delta E, and the unit vector there
// from x to the target.
func (f *trending) toward(x v3) (lt m3, u v3) {
	var mid v3
	for i, v := range vec(f.r.Target.Lab) {
		mid[i] = (x[i] + v) / 2
	}
	lt = transpose(root(metric(mid)))
	u = apply(lt, minus(vec(f.r.Target.Lab), x))
	n := math.Sqrt(dot(u, u))
	if n < 1e-9 {
		return lt, v3{1, 0, 0}
	}
	return lt, v3{u[0] / n, u[1] / n, u[2] / n}
}

// hotellingRisk is the chance of a T² as large as t2 by chance alone, for three traits
// and a covariance with df degrees of freedom.
func hotellingRisk(t2, df float64) float64 {
	const p = 3
	if df-p+1 < 1 {
		return math.NaN()
	}
	f := distuv.F{D1: p, D2: df - p + 1}
	return f.Survival(t2 * (df - p + 1) / (p * df))
}

// ahead fills in how many seasons are to go.
func (f *trending) ahead(rate, se float64) {
	r := f.r
	last := r.Seasons[len(r.Seasons)-1]
	left := last.DeltaE - r.Target.Within
	if left <= 0 {
		r.SeasonsToTarget = &Ahead{}
		return
	}
	if !(rate > 0) {
		return
	}
	rnd := rand.New(rand.NewPCG(1, 1))
	var draws []float64
	for range 4000 {
		d, v := left+last.SE*rnd.NormFloat64(), rate+se*rnd.NormFloat64()
		switch {
		case d <= 0:
			draws = append(draws, 0)
		case v <= 0:
			draws = append(draws, math.Inf(1))
		default:
			draws = append(draws, d/v)
		}
	}
	slices.Sort(draws)
	r.SeasonsToTarget = &Ahead{left / rate, draws[100], draws[3899]}
}

// realised fills in the realised heritability: the regression through the origin of
// the cumulated response on the cumulated differential, toward the target.
func (f *trending) realised(lt m3, u v3) {
	r := f.r
	var x, y, v []float64
	cumulated, first := 0.0, 0.0
	variance := func(s int) float64 {
		_, c := f.corrected(s)
		return max(dot(u, apply(mul(mul(lt, c), transpose(lt)), u)), 0)
	}
	first = variance(0)
	m0, _ := f.corrected(0)
	for s := range r.Seasons[:len(r.Seasons)-1] {
		d := r.Seasons[s].Differential
		if d == nil {
			break
		}
		cumulated += dot(u, apply(lt, *d))
		m, _ := f.corrected(s + 1)
		x, y, v = append(x, cumulated), append(y, dot(u, apply(lt, minus(m, m0)))), append(v, variance(s+1))
	}
	sxx, sxy, sx := 0.0, 0.0, 0.0
	for i := range x {
		sxx += x[i] * x[i]
		sxy += x[i] * y[i]
		sx += x[i]
	}
	if len(x) == 0 || sxx < 0.25 {
		return
	}
	b := sxy / sxx
	errors := sx * sx * first // the first mean is in every difference
	rest, expected := 0.0, 0.0
	for i := range x {
		errors += x[i] * x[i] * v[i]
		rest += (y[i] - b*x[i]) * (y[i] - b*x[i])
		expected += v[i] + first
	}
	se := math.Sqrt(errors) / sxx
	if n := float64(len(x)); n > 2 && rest/(n-1) > expected/n { // they scatter more than samples do
		se *= math.Sqrt(rest / (n - 1) / (expected / n))
	}
	r.RealisedHeritability = &Estimate{b, se}
}

// state says what was assumed, and what is in doubt.
func (f *trending) state(hold bool) {
	r := f.r
	if len(f.own) < 2 {
		r.Warnings = append(r.Warnings, "only one season is measured: whether the line moves shows from the second on")
		return
	}
	if f.checked {
		r.Assumed = append(r.Assumed, "check plants change by weather alone: what they changed by is taken off")
	} else {
		r.Assumed = append(r.Assumed, fmt.Sprintf("a season shifts all colours by a standard deviation of %.1f in L*, a* and b* (a guess; no variety was grown in every season as a check)", seasonSD))
	}
	if math.IsNaN(r.Risk) {
		r.Warnings = append(r.Warnings, "too few plants to say whether the line moves; measure at least 3 a season")
	}
	if r.RealisedHeritability == nil && !hold {
		r.Warnings = append(r.Warnings, "no realised heritability: it needs parents that are known, and that differ from their season")
	}
	if h := r.RealisedHeritability; h != nil && (h.Value < 0 || h.Value > 1) {
		r.Warnings = append(r.Warnings, "a realised heritability outside 0 to 1 is chance, weather, or genes that do not add up")
	}
}
