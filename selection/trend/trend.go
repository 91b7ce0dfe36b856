// Package trend follows a line over its seasons: whether its mean colour moves, what selection gained,
// how many seasons are left, and, for a held line, off-types and drift. Start with [Trend].
//
// Package drift has the statistics that separate movement from weather; this package knows plants and targets.
package trend

import (
	"fmt"
	"math"

	"hueward/colorimg/cie"
	"hueward/selection"
	"hueward/selection/drift"
	"hueward/selection/space"
)

// Grown is one plant of a line in one season, as [Trend] takes it.
type Grown struct {
	selection.Record
	Seed, Pollen string // ids of its parents; empty: not known
	Group        string // of a founder: its variety or lot
}

// founder reports whether neither parent is known.
func (g *Grown) founder() bool { return g.Seed == "" && g.Pollen == "" }

// Season is one season of a line, as "trend --json" prints it.
type Season struct {
	Season string        `json:"season"`
	Plants int           `json:"plants"` // measured, check plants left out
	Mean   cie.Lab       `json:"mean_lab"`
	Cov    [3][3]float64 `json:"-"`       // covariance of Mean's sampling error
	DeltaE float64       `json:"delta_e"` // of Mean to the target
	Low    float64       `json:"delta_e_low"`
	High   float64       `json:"delta_e_high"` // 95 % interval of DeltaE
	SE     float64       `json:"se"`           // of Mean, Delta E 2000
	// Parents is how many of its plants have offspring in the next season. Differential is the selection differential: their
	// mean, weighted by their numbers of offspring, less the season's mean. Response is the next season's mean less
	// this one's, corrected for weather where that is known. In L*, a*, b*; nil: not known.
	Parents      int         `json:"parents"`
	Differential *[3]float64 `json:"selection_differential"`
	Response     *[3]float64 `json:"response"`
	// Value is the mean breeding value of its plants. nil: not predicted.
	Value *cie.Lab `json:"mean_value_lab"`
	Check *cie.Lab `json:"check_lab"` // mean of its check plants; nil: none
	// Shift is the predicted effect of the season on all colours, relative to an ordinary
	// season, and ShiftSE its standard error; nil: not predicted.
	Shift   *[3]float64 `json:"season_shift"`
	ShiftSE *[3]float64 `json:"season_shift_se"`
}

// Ahead is how many seasons are left, with a 95 % interval; High is +Inf where there is no upper limit.
type Ahead struct{ Value, Low, High float64 }

// Result is the outcome of [Trend].
type Result struct {
	Target  selection.Target
	Seasons []Season // in natural order
	// ResponsePerSeason is how much nearer to the target the mean comes
	// each season, in Delta E 2000; nil: there is only one season.
	ResponsePerSeason *selection.Estimate
	// Genetic is the same for the mean breeding value; nil: not predicted.
	Genetic *float64
	// RealisedHeritability is cumulative response over cumulative selection differential, in the
	// direction of the target; nil: no known parents, no differential, or an estimate below 0.
	RealisedHeritability *selection.Estimate
	// SeasonsToTarget is how many seasons it takes at this pace until the mean is within the tolerance; nil: it does
	// not come nearer. Value 0: it is within it now.
	SeasonsToTarget *Ahead
	Moving          bool    // the means differ by more than chance and weather explain, at a risk of 5 %
	Risk            float64 // p-value: the chance of means as different as these if the line does not move; NaN: cannot be told
	// ToldBy says how the line's movement was separated from weather. SeasonSD is the standard deviation of
	// season effects on L*, a*, b*; nil: not known.
	ToldBy   ToldBy
	SeasonSD *[3]float64
	// Heritability is that of L*, a*, b*, from all relatives, and from parents and offspring alone; nil: not estimated.
	Heritability []AxisHeritability
	OffTypes     []OffType
	EWMA         *drift.Chart // of a held line with two seasons
	Assumed      []string
	Warnings     []string
}

// AxisHeritability is the heritability of one of L*, a*, b*.
type AxisHeritability struct {
	Of string
	selection.Estimate
	ParentOffspring selection.Estimate // NaN: too few families
}

// Options says what to look at. The zero value, like nil, is the usual case.
type Options struct {
	Hold   bool              // the line is held: look for off-types and drift
	Values *selection.Values // breeding values; nil: not predicted
}

// ToldBy says how a line's movement was separated from weather.
type ToldBy string

const (
	ByNothing     ToldBy = ""
	ByCheckPlants ToldBy = "check plants" // by a variety grown in several seasons beside it
	ByKin         ToldBy = "kin"          // by plants or families grown again beside it
	BySeasons     ToldBy = "seasons"      // by the scatter of its own seasons around a straight line
)

// movingRisk is the risk of saying that a line moves when it does not.
const movingRisk = 0.05

// Trend follows a line over its seasons: their mean colours, whether these move, what selection gained, and how many
// seasons are left. Weather is estimated from entries that were grown in several seasons: founders of one group, the
// offspring of one cross from seed kept back, or the same plants again. A founder group's plants count as plants of the
// line only in seasons in which one of them became a parent, and those of a cross in its first season, too.
//
// It returns [selection.ErrNoRecords] where there are no plants, and an error for a target or a colour with a number
// that is none.
//
// Source: selection differential, response, realised heritability: Falconer and Mackay
// 1996, chapter 11; weather and slope: see [drift.Weather.Slope].
func Trend(target selection.Target, plants []Grown, opt *Options) (*Result, error) {
	if opt == nil {
		opt = &Options{}
	}
	t, err := target.Check()
	if err != nil {
		return nil, err
	}
	if len(plants) == 0 {
		return nil, selection.ErrNoRecords
	}
	for _, p := range plants {
		for i, v := range space.Of(p.Lab) {
			if !(math.Abs(v) <= space.Farthest) {
				return nil, fmt.Errorf("plant %q: %s is %v, not a colour; measure it again or leave it out", p.Plant, space.Axes[i], v)
			}
		}
	}
	r := &Result{Target: t, Assumed: []string{}, Warnings: []string{}, Risk: math.NaN()}
	f := &trending{r: r, plants: plants, values: opt.Values, held: opt.Hold}
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
					"below 0", space.Axes[i]))
				alone[i] = selection.Estimate{Value: math.NaN(), SE: math.NaN()}
			}
			r.Heritability = append(r.Heritability, AxisHeritability{space.Axes[i], selection.Estimate{Value: h2, SE: se}, alone[i]})
		}
	}
	f.state()
	return r, nil
}

// trending is the state of [Trend].
type trending struct {
	r       *Result
	plants  []Grown
	values  *selection.Values
	held    bool // as Options.Hold
	names   []string
	own     [][]Grown    // each season's plants of the line
	checks  [][]Grown    // each season's check plants
	again   []entry      // what was grown in several seasons
	pooled  space.Matrix // covariance between plants within seasons
	df      float64      // degrees of freedom of pooled
	weather *drift.Weather
	slope   drift.Slope
}

// seasons fills in the seasons' means and their errors.
func (f *trending) seasons() {
	var ss space.Matrix
	for _, plants := range f.own {
		_, s := meanOf(plants)
		ss = space.Add(ss, s)
		f.df += float64(len(plants) - 1)
	}
	// A prior of one degree of freedom is added, so that equal plants do not make a season's mean certain.
	f.pooled = space.Scale(1/(f.df+1), space.Add(ss, space.Diag(space.Even(selection.LeastSD*selection.LeastSD))))
	for s, plants := range f.own {
		m, _ := meanOf(plants)
		q := Season{Season: f.names[s], Plants: len(plants), Mean: space.Lab(m)}
		q.Cov = space.Scale(1/float64(len(plants)), f.pooled)
		q.DeltaE = cie.DeltaE2000(q.Mean, f.r.Target.Lab)
		q.Low, q.High = space.Interval(m, space.Of(f.r.Target.Lab), q.DeltaE, q.Cov, space.Widening(f.df+1))
		q.SE = math.Sqrt(space.Trace(space.Mul(space.Metric(m), q.Cov)))
		if c := f.checks[s]; len(c) > 0 {
			m, _ := meanOf(c)
			x := space.Lab(m)
			q.Check = &x
		}
		q.Value = f.meanValue(plants)
		if f.values != nil {
			q.Shift, q.ShiftSE = f.values.ShiftOf(f.names[s])
		}
		f.r.Seasons = append(f.r.Seasons, q)
	}
}

// meanValue returns the mean breeding value of the plants; nil: it is not known of all of them.
func (f *trending) meanValue(plants []Grown) *cie.Lab {
	if f.values == nil {
		return nil
	}
	var m space.Vector
	for _, p := range plants {
		v, ok := f.values.Of(p.Plant)
		if !ok {
			return nil
		}
		m = space.Plus(m, space.Of(v.Lab))
	}
	x := space.Lab(space.Vector{m[0] / float64(len(plants)), m[1] / float64(len(plants)), m[2] / float64(len(plants))})
	return &x
}

// parents fills in each season's Parents, Differential and Response.
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
		var sum space.Vector
		total := 0.0
		for _, p := range f.own[s] {
			if n := gave[p.Plant]; n > 0 {
				q.Parents++
				total += n
				for i, v := range space.Of(p.Lab) {
					sum[i] += n * v
				}
			}
		}
		response := space.Minus(space.Of(f.r.Seasons[s+1].Mean), space.Of(q.Mean))
		if shift, _, ok := f.weather.Shift(s+1, s); ok {
			response = space.Minus(response, shift)
		}
		q.Response = &response
		if total > 0 {
			d := space.Minus(space.Vector{sum[0] / total, sum[1] / total, sum[2] / total}, space.Of(q.Mean))
			q.Differential = &d
		}
	}
}

// meanOf returns the mean of the plants' colours, and the sums of squares and products around it.
func meanOf(plants []Grown) (m space.Vector, ss space.Matrix) {
	colors := make([]space.Vector, len(plants))
	for i, p := range plants {
		colors[i] = space.Of(p.Lab)
	}
	return space.Mean(colors)
}
