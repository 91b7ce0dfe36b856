package selection

import (
	"fmt"
	"math"

	"hueward/colorimg/cie"
	"hueward/selection/drift"
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
	Value *cie.Lab
	// Shift is by how much the season's weather shifts all colours against an ordinary
	// season, as far as that can be told, and ShiftSE the error of that; nil: not predicted.
	Shift, ShiftSE *[3]float64
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
	Moving          bool    // the means differ by more than chance and weather, with a risk of 5 % of saying so wrongly
	Risk            float64 // the chance of means as different as these if the line stood still; NaN: cannot be told
	// ToldBy says what tells the line's movement from weather; SeasonSD is by how much
	// seasons scatter in L*, a*, b*, as far as they were seen; nil: not seen.
	ToldBy   ToldBy
	SeasonSD *[3]float64
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

// ToldBy says what tells a line's movement from weather.
type ToldBy string

const (
	ByNothing     ToldBy = ""
	ByCheckPlants ToldBy = "check plants" // a variety grown in several seasons beside it
	ByKin         ToldBy = "kin"          // plants or families grown again beside it
	BySeasons     ToldBy = "seasons"      // how its own seasons scatter around a straight course
)

// movingRisk is the risk of saying that a line moves when it does not.
const movingRisk = 0.05

// Trend follows a line over its seasons: their mean colours, whether they move, what
// selection gained, and how many seasons are to go. What was grown in several seasons
// tells the weather from that: founders of one group, the offspring of one cross from
// seed kept back, or the same plants again. Such a group's plants count as the line's in
// seasons in which one of them became a parent, such a cross's in its first season, too.
//
// It returns ErrNoRecords for no plants, and an error for a target that is none.
//
// Source: selection differential, response, realised heritability: Falconer and Mackay
// 1996, chapter 11; weather and slope: see [drift.Weather.Slope].
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
	f.tell()
	f.parents()
	f.pace()
	if opt.Hold {
		f.hold()
	}
	if v := opt.Values; v != nil && v.Fit != nil {
		alone, _ := ParentOffspring(plants)
		for i := range 3 {
			h2, se := v.Fit.Heritability(i)
			if alone[i].Value < 0 {
				r.Warnings = append(r.Warnings, fmt.Sprintf("by parents and offspring alone the heritability of %s cannot be estimated: it came out "+
					"below 0", axes[i]))
				alone[i] = Estimate{math.NaN(), math.NaN()}
			}
			r.Heritability = append(r.Heritability, AxisHeritability{axes[i], Estimate{h2, se}, alone[i]})
		}
	}
	f.state()
	return r, nil
}

// trending is a look at a line under way.
type trending struct {
	r       *TrendResult
	plants  []Grown
	values  *Values
	names   []string
	own     [][]Grown // of each season, the line's plants
	checks  [][]Grown // and its check plants
	again   []entry   // what was grown in several seasons
	pooled  m3        // covariance between plants within seasons
	df      float64
	weather *drift.Weather
	slope   drift.Slope
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
		m, _ := meanOf(plants)
		q := TrendSeason{Season: f.names[s], Plants: len(plants), Mean: lab(m)}
		q.Cov = scale(1/float64(len(plants)), f.pooled)
		q.DeltaE = cie.DeltaE2000(q.Mean, f.r.Target.Lab)
		q.Low, q.High = interval(m, vec(f.r.Target.Lab), q.DeltaE, q.Cov, f.df+1)
		q.SE = math.Sqrt(trace(mul(metric(m), q.Cov)))
		if c := f.checks[s]; len(c) > 0 {
			m, _ := meanOf(c)
			x := lab(m)
			q.Check = &x
		}
		q.Value = f.meanValue(plants)
		if f.values != nil {
			q.Shift, q.ShiftSE = f.values.seasonShift(f.names[s])
		}
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
		if shift, _, ok := f.weather.Shift(s+1, s); ok {
			response = minus(response, shift)
		}
		q.Response = &response
		if total > 0 {
			d := minus(v3{sum[0] / total, sum[1] / total, sum[2] / total}, vec(q.Mean))
			q.Differential = &d
		}
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
