package trend

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"

	"gonum.org/v1/gonum/stat/distuv"

	"hueward/colorimg/cie"
	"hueward/selection"
	"hueward/selection/drift"
	"hueward/selection/space"
)

// time returns when season s was, counted from the first: in years where names are years, else by its place.
func (f *trending) time(s int) float64 {
	first, err1 := strconv.Atoi(f.names[0])
	this, err2 := strconv.Atoi(f.names[s])
	if err1 == nil && err2 == nil && this-first < 200 {
		return float64(this - first)
	}
	return float64(s)
}

// pace fills in whether and how fast the line moves.
func (f *trending) pace() {
	r, n := f.r, len(f.own)
	if n < 2 {
		return
	}
	f.slope = f.weather.Slope(f.line())
	r.Risk = f.slope.Risk
	r.Moving = r.Risk < movingRisk
	switch f.slope.By {
	case drift.BySeasons:
		r.ToldBy = BySeasons
	case drift.ByKin:
		r.ToldBy = ByKin
		for _, e := range f.again {
			if e.founders {
				r.ToldBy = ByCheckPlants
			}
		}
	}
	cov := f.slope.Cov
	if r.ToldBy == ByNothing { // two seasons, each with a weather of its own
		t := f.time(n-1) - f.time(0)
		cov = space.Add(cov, space.Scale(2/(t*t), space.Diag(f.seasonVar())))
	}
	if v, df := f.weather.Scatter(); df >= 1 {
		sd := space.Vector{math.Sqrt(v[0]), math.Sqrt(v[1]), math.Sqrt(v[2])}
		r.SeasonSD = &sd
	} else if r.ToldBy == BySeasons {
		v := f.seasonVar()
		sd := space.Vector{math.Sqrt(v[0]), math.Sqrt(v[1]), math.Sqrt(v[2])}
		r.SeasonSD = &sd
	}

	// Toward the target, in units of Delta E. Of a line that is there, what is left is chance: the way that it came counts.
	at, away, t := r.Seasons[n-1], r.Seasons[0].DeltaE, f.time(n-1)
	there := at.DeltaE <= r.Target.Within
	if there {
		at = r.Seasons[0]
	}
	lt, u := f.toward(space.Of(at.Mean))
	rate := space.Dot(u, space.Apply(lt, f.slope.PerSeason))
	if there {
		came := space.Plus(space.Of(at.Mean), space.Times(t, f.slope.PerSeason))
		rate = (away - cie.DeltaE2000(space.Lab(came), r.Target.Lab)) / t
	}
	se := math.Sqrt(along(lt, u, cov))
	r.ResponsePerSeason = &selection.Estimate{Value: rate, SE: se}
	if first, end := r.Seasons[0].Value, r.Seasons[n-1].Value; first != nil && end != nil {
		g := (cie.DeltaE2000(*first, r.Target.Lab) - cie.DeltaE2000(*end, r.Target.Lab)) / t
		r.Genetic = &g
	}
	f.ahead(rate, se, math.Sqrt(along(lt, u, space.Diag(f.seasonVar()))))
	f.realised(lt, u)
}

// along returns the variance toward the target that a covariance gives; lt and u are from toward.
func along(lt space.Matrix, u space.Vector, cov space.Matrix) float64 {
	return max(space.Dot(u, space.Apply(space.Mul(space.Mul(lt, cov), space.Transpose(lt)), u)), 0)
}

// seasonVar returns the variance of season effects on L*, a* and b*: a prior joined with what entries grown in several
// seasons show, or else the line's own seasons.
func (f *trending) seasonVar() space.Vector {
	out := space.Even(selection.SeasonSD * selection.SeasonSD)
	if f.values != nil {
		out = f.values.SeasonVar
	}
	seen, df := f.weather.Scatter()
	if df < 1 && f.slope.By == drift.BySeasons {
		sxx, mid := 0.0, 0.0
		for s := range f.own {
			mid += f.time(s) / float64(len(f.own))
		}
		for s := range f.own {
			sxx += (f.time(s) - mid) * (f.time(s) - mid)
		}
		df = f.slope.DF
		for i := range seen {
			seen[i] = f.slope.Cov[i][i] * sxx
		}
	}
	if df >= 1 {
		for i := range out {
			out[i] = (selection.SeasonPrior*out[i] + df*seen[i]) / (selection.SeasonPrior + df)
		}
	}
	return out
}

// toward returns the linear map to coordinates where Delta E is the Euclidean distance, and the unit vector from x to the
// target there.
func (f *trending) toward(x space.Vector) (lt space.Matrix, u space.Vector) {
	var mid space.Vector
	for i, v := range space.Of(f.r.Target.Lab) {
		mid[i] = (x[i] + v) / 2
	}
	lt = space.Transpose(space.Root(space.Metric(mid)))
	u = space.Apply(lt, space.Minus(space.Of(f.r.Target.Lab), x))
	n := math.Sqrt(space.Dot(u, u))
	if n < 1e-9 {
		return lt, space.Vector{1, 0, 0}
	}
	return lt, space.Vector{u[0] / n, u[1] / n, u[2] / n}
}

// ahead fills in SeasonsToTarget; weather is the standard deviation of a season effect toward the target.
func (f *trending) ahead(rate, se, weather float64) {
	r := f.r
	last := r.Seasons[len(r.Seasons)-1]
	left := last.DeltaE - r.Target.Within
	if left <= 0 {
		r.SeasonsToTarget = &Ahead{}
		return
	}
	if !(rate > 0) || r.ToldBy == ByNothing {
		return
	}
	rnd := rand.New(rand.NewPCG(1, 1))
	spread := distuv.ChiSquared{K: max(f.slope.DF, 1), Src: rnd}
	off := math.Hypot(last.SE, weather)
	var draws []float64
	for range 4000 {
		d, v := left+off*rnd.NormFloat64(), rate+se*rnd.NormFloat64()/math.Sqrt(spread.Rand()/spread.K)
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

// realised fills in the realised heritability: the regression through the origin of the cumulative response on the
// cumulative selection differential, toward the target. An estimate below 0 is left out, with a warning.
func (f *trending) realised(lt space.Matrix, u space.Vector) {
	r := f.r
	var x, y, v []float64
	cumulated := 0.0
	weather := along(lt, u, space.Diag(f.seasonVar()))
	plants := along(lt, u, f.pooled)
	first := plants / float64(len(f.own[0])) // variance of the first season's mean, which is part of every difference
	m0 := space.Of(r.Seasons[0].Mean)
	for s := range r.Seasons[:len(r.Seasons)-1] {
		d := r.Seasons[s].Differential
		if d == nil {
			break
		}
		cumulated += space.Dot(u, space.Apply(lt, *d))
		m, own := space.Of(r.Seasons[s+1].Mean), plants/float64(len(f.own[s+1]))
		if shift, variance, ok := f.weather.Shift(s+1, 0); ok {
			m = space.Minus(m, shift)
			own += variance * plants
		} else {
			own += weather
			first = max(first, weather+plants/float64(len(f.own[0])))
		}
		x, y, v = append(x, cumulated), append(y, space.Dot(u, space.Apply(lt, space.Minus(m, m0)))), append(v, own)
	}
	sxx, sxy, sx := 0.0, 0.0, 0.0
	for i := range x {
		sxx += x[i] * x[i]
		sxy += x[i] * y[i]
		sx += x[i]
	}
	doubt := func(format string, args ...any) {
		if !f.held { // of a held line it is not told
			r.Warnings = append(r.Warnings, fmt.Sprintf(format, args...))
		}
	}
	if len(x) == 0 || sxx < 0.25 {
		doubt("no realised heritability: it needs parents that are known, and that differ from their season")
		return
	}
	b := sxy / sxx
	errors := sx * sx * first
	rest, expected := 0.0, 0.0
	for i := range x {
		errors += x[i] * x[i] * v[i]
		rest += (y[i] - b*x[i]) * (y[i] - b*x[i])
		expected += v[i] + first
	}
	se := math.Sqrt(errors) / sxx
	if n := float64(len(x)); n > 2 && rest/(n-1) > expected/n { // they scatter more than sampling explains
		se *= math.Sqrt(rest / (n - 1) / (expected / n))
	}
	switch {
	case b < 0:
		doubt("the realised heritability cannot be estimated: the seasons went the opposite way from their parents, by more than what they "+
			"passed on (%.1f ± %.1f)", b, se)
		return
	case b > 1:
		doubt("a realised heritability above 1 is chance, weather, or genes that do not add up")
	}
	r.RealisedHeritability = &selection.Estimate{Value: b, SE: se}
}

// wouldTell is advice on how to separate a line's movement from weather.
const wouldTell = "grow a few plants of one variety every season as a check, or sow some seed kept back from an earlier season beside " +
	"the new"

// state fills in Assumed, and adds to Warnings.
func (f *trending) state() {
	r := f.r
	if len(f.own) < 2 {
		r.Warnings = append(r.Warnings, "only one season is measured: whether the line moves shows from the second on")
		return
	}
	say := func(format string, args ...any) { r.Assumed = append(r.Assumed, fmt.Sprintf(format, args...)) }
	doubt := func(format string, args ...any) { r.Warnings = append(r.Warnings, fmt.Sprintf(format, args...)) }
	if f.values != nil {
		r.Assumed = append(r.Assumed, f.values.GeneWords()...)
	}
	v := f.seasonVar()
	sd := fmt.Sprintf("%.1f in L*, %.1f in a*, %.1f in b*", math.Sqrt(v[0]), math.Sqrt(v[1]), math.Sqrt(v[2]))
	switch r.ToldBy {
	case ByCheckPlants:
		say("check plants change by weather alone: their change is taken off")
	case ByKin:
		say("plants and crosses that were grown again change by weather alone: their change is taken off")
	case BySeasons:
		say("each season's weather is independent of the last one's; seasons shift colours by a standard deviation of %s, as the line's own "+
			"scatter shows (no variety was grown in every season as a check)", sd)
		doubt("one season's change cannot be told from weather, only a steady course over many; %s", wouldTell)
	default:
		say("a season shifts colours by a standard deviation of %s (a guess; no variety was grown in every season as a check)", sd)
		if !f.held { // of a held line hold says it
			doubt("whether the line moves cannot be told from weather; %s", wouldTell)
		}
	}
	if math.IsNaN(r.Risk) && r.ToldBy != ByNothing {
		doubt("too few plants to say whether the line moves; measure at least 3 a season")
	}
}
