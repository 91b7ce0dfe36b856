package selection

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/stat/distuv"

	"hueward/colorimg/cie"
	"hueward/selection/genetics"
	"hueward/selection/majorgene"
	"hueward/selection/space"
)

// Record is the colour of one plant in one season, over all its photos.
type Record struct {
	Plant  string
	Season string
	Lab    cie.Lab
	Cov    [3][3]float64 // covariance of its error, as in [Plant].Cov
}

// Value is a plant's breeding value for colour, expressed as the mean colour that its offspring with a plant of its own
// genotype would have in an ordinary season.
type Value struct {
	Lab         cie.Lab
	Cov         [3][3]float64 // covariance of its error
	Reliability [3]float64    // for L*, a*, b*, 0 to 1: see [genetics.Evaluation.Reliability]
	Inbreeding  float64       // 0 to 1
}

// ValueOptions says how values are predicted. The zero value, like nil, is the usual case.
type ValueOptions struct {
	// Heritability is the prior heritability; 0: 0.5.
	Heritability float64
	// Start is an earlier estimate, to begin from; it changes the time, not the result.
	Start *genetics.Components
	// Components are used as they are, and nothing is estimated. Nil: estimated.
	Components *genetics.Components
	// AddsUp takes colour as additive: no strong genes are looked for. Nor are they where Components are given.
	AddsUp bool
	genes  *majorgene.Model // used in place of a search
	// MostFitted is the largest number of records that components are estimated from: those of the
	// newest seasons that fit, and at least one season's; 0: 3000.
	MostFitted int
}

// Priors, which the records outweigh as they come in. All are guesses.
const (
	assumedHeritability = 0.5
	priorPlants         = 8.0  // number of plants that assumedHeritability counts for
	SeasonSD            = 1.0  // standard deviation of season effects on a line's L*, a* and b*
	SeasonPrior         = 1.0  // number of seasons that SeasonSD counts for
	groupSD             = 50.0 // standard deviation of founder groups' means: so large that it tells nothing
)

// LeastSD is the smallest standard deviation of plants within families that the prior assumes, in each of L*, a*, b*.
const LeastSD = 1.0

// Values are the breeding values of all plants of a pedigree.
type Values struct {
	Ped           *genetics.Pedigree
	plants        []genetics.Parents
	Fit           *genetics.Fit // how the components were estimated; nil: they were given
	Components    genetics.Components
	Seasons       []string         // with records, in natural order
	SeasonShift   []space.Vector   // predicted effect of each season on the colours
	SeasonVar     space.Vector     // variance of season effects in L*, a* and b*
	Strays        []string         // plants that lie far out of their family, and count for little
	Assumed       []string         // every number that was assumed; never nil
	Warnings      []string         // never nil
	Genes         *majorgene.Model // strong genes that were found; nil: none, or not looked for
	genotypeKinds []int            // each genotype's kind: see [majorgene.Model.Kinds]
	kindEffects   []space.Vector
	geneVar       space.Matrix           // variance of strong genes' effects given the colours, mean over records; see own.go
	ownGain       map[int32]space.Matrix // change of a plant's value for a change of its colour; plants with records
	moves         [][]float64            // shifts of all values, places × 3, for errors in the components; see unsure.go
	geneMoves     [][]float64            // the same for each of geneDoubts
	geneDoubts    [][][3]float64         // those of Genes.Doubts that geneMoves could be worked out for
	fewForGenes   bool                   // too few plants to look for strong genes
	second        *majorgene.Model       // the second likeliest model of strong genes, and its chance; nil: none worth counting
	secondShare   float64
	opt           ValueOptions
	asRead        []Record // the records as given
	otherOnce     sync.Once
	other         *Values // see secondModel
	aheadOnce     sync.Once
	aheadValues   *Values           // see ahead
	rec           *genetics.Records // that the values follow from
	eval          *genetics.Evaluation
	measured      map[string]bool
	repeated      int          // number of plants with records of several seasons
	scaleCV       float64      // coefficient of variation of the additive variance
	axes          space.Matrix // columns whose outer products add up to the additive covariance; 0: its error is not known
	axisCV        space.Vector // coefficient of variation of the additive variance along each axis
}

// ErrNoRecords is returned where there are no records.
var ErrNoRecords = errors.New("no plant has a colour yet; measure photos first")

// Predict predicts the breeding value of every plant from the colours of all plants and from their relationships. Records
// of plants that are not in the pedigree are an error, as is a plant that is its own ancestor.
//
// Source: see [genetics.Evaluate] and [genetics.FitComponents].
func Predict(plants []genetics.Parents, records []Record, opt *ValueOptions) (*Values, error) {
	if opt == nil {
		opt = &ValueOptions{}
	}
	if len(records) == 0 {
		return nil, ErrNoRecords
	}
	plants = genetics.WithContemporaries(plants, firstSeasons(records))
	ped, err := genetics.NewPedigree(plants)
	if err != nil {
		return nil, err
	}
	v := &Values{Ped: ped, plants: plants, opt: *opt, asRead: records, SeasonVar: space.Even(SeasonSD * SeasonSD), Assumed: []string{},
		Warnings: []string{}}
	asRead := records
	records, far := v.strays(records)
	rec, err := v.records(records)
	if err != nil {
		return nil, err
	}
	if opt.Components == nil && !opt.AddsUp {
		taken, err := v.findGenes(plants, v.company(asRead, records, far), opt.genes)
		if err != nil {
			return nil, err
		}
		if v.Genes != nil { // strays are looked for again, without the effects of strong genes
			v.Strays, v.Warnings = nil, []string{}
			records, far = v.strays(taken)
			if rec, err = v.records(records); err != nil {
				return nil, err
			}
		}
	}
	h2 := opt.Heritability
	if h2 == 0 {
		h2 = assumedHeritability
	}
	if !(h2 > 0 && h2 < 1) {
		return nil, fmt.Errorf("heritability %v; give a number between 0 and 1", h2)
	}
	wide := space.Diag(space.Even(groupSD * groupSD))
	switch {
	case opt.Components != nil:
		v.Components = *opt.Components
		v.Components.Group = flat(wide)
	default:
		sound := records
		if len(far) > 0 {
			sound = nil
			for i, r := range records {
				if !far[i] {
					sound = append(sound, r)
				}
			}
		}
		scatter := withinScatter(sound, ped)
		prior := &genetics.Components{Additive: flat(space.Scale(h2, scatter)), Residual: flat(space.Scale(1-h2, scatter))}
		v.repeated = repeatedPlants(records)
		if v.repeated >= fewRepeated { // then the permanent environmental variance can be estimated
			prior.Plant = flat(space.Scale((1-h2)/2, scatter))
			prior.Residual = prior.Plant
		}
		fitPed, fitRec := ped, rec
		if some := fitted(records, v.Seasons, opt.MostFitted, ped); len(some) < len(records) {
			if fitPed, fitRec, err = v.part(plants, some); err != nil {
				return nil, err
			}
			v.Assumed = append(v.Assumed, fmt.Sprintf("heritability is estimated from %d of the newest of %d records", len(some), len(records)))
		}
		v.Fit, err = genetics.FitComponents(fitPed, fitRec, &genetics.FitOptions{
			Prior: prior, PriorWeight: priorPlants, Start: opt.Start, Group: flat(wide), Plant: prior.Plant != nil, EffectPrior: SeasonPrior,
		})
		if err != nil {
			return nil, err
		}
		v.addGeneVar(&v.Fit.Components)
		v.Components = v.Fit.Components
		v.scaleCV = v.Fit.AdditiveCV()
		v.findAxes()
		if len(v.Fit.EffectVar) > 0 && len(rec.Effects) > 0 {
			rec.Effects[0].Var = v.Fit.EffectVar[0]
			for i := range 3 {
				v.SeasonVar[i] = v.Fit.EffectVar[0][i*3+i]
			}
		}
	}
	v.rec = rec
	v.eval, err = genetics.Evaluate(ped, rec, &v.Components, nil)
	if err != nil {
		return nil, err
	}
	v.findOwnGain(rec)
	v.findMoves(rec)
	for s := range v.Seasons {
		var shift space.Vector
		if len(v.eval.Levels) > 0 {
			copy(shift[:], v.eval.Levels[0][s*3:])
		}
		v.SeasonShift = append(v.SeasonShift, shift)
	}
	v.state(records, opt, h2)
	return v, nil
}

// fewRepeated is the least number of plants with records of several seasons from which the
// permanent environmental variance is estimated. A guess.
const fewRepeated = 5

// newest returns the records of the newest seasons, at most most (0: 3000), but at least one season's.
func newest(records []Record, seasons []string, most int) []Record {
	if most <= 0 {
		most = 3000
	}
	if len(records) <= most {
		return records
	}
	count := map[string]int{}
	for _, r := range records {
		count[r.Season]++
	}
	in, sum := map[string]bool{}, 0
	for _, s := range slices.Backward(seasons) {
		if sum += count[s]; sum > most && len(in) > 0 {
			break
		}
		in[s] = true
	}
	return slices.DeleteFunc(slices.Clone(records), func(r Record) bool { return !in[r.Season] })
}

// part returns the pedigree and the records of genetics for some of the records.
func (v *Values) part(plants []genetics.Parents, records []Record) (*genetics.Pedigree, *genetics.Records, error) {
	var ids []string
	for _, r := range records {
		ids = append(ids, r.Plant)
	}
	ped, err := genetics.NewPedigree(genetics.Ancestry(plants, ids))
	if err != nil {
		return nil, nil, err
	}
	sub := &Values{Ped: ped}
	rec, err := sub.records(records)
	return ped, rec, err
}

// records turns the records into those of genetics, with a season effect, and fills in v.Seasons and v.measured.
func (v *Values) records(records []Record) (*genetics.Records, error) {
	for _, r := range records {
		v.Seasons = append(v.Seasons, r.Season)
	}
	slices.SortFunc(v.Seasons, CompareIDs)
	v.Seasons = slices.Compact(v.Seasons)
	rec := &genetics.Records{Traits: 3}
	v.measured = map[string]bool{}
	season := genetics.Effect{Levels: len(v.Seasons), Var: flat(space.Diag(space.Even(SeasonSD * SeasonSD)))}
	for _, r := range records {
		at, ok := v.Ped.Place(r.Plant)
		if !ok {
			return nil, fmt.Errorf("plant %q has a colour, but is not in the pedigree", r.Plant)
		}
		v.measured[r.Plant] = true
		y := space.Of(r.Lab)
		for i, c := range y {
			if !(math.Abs(c) <= space.Farthest) {
				return nil, fmt.Errorf("plant %q: %s is %v, not a colour; measure it again or leave it out", r.Plant, space.Axes[i], c)
			}
		}
		rec.Plant, rec.Y, rec.Error = append(rec.Plant, at), append(rec.Y, y[:]...), append(rec.Error, flat(r.Cov)...)
		level, _ := slices.BinarySearchFunc(v.Seasons, r.Season, CompareIDs)
		season.Level = append(season.Level, int32(level))
	}
	if season.Levels > 1 {
		rec.Effects = []genetics.Effect{season}
	}
	return rec, nil
}

// families groups records by family and season, in the order of the first of each.
func families(records []Record, ped *genetics.Pedigree) (out [][]Record) {
	number := map[family]int{}
	for _, r := range records {
		at, _ := ped.Place(r.Plant)
		f := family{season: r.Season}
		f.seed, f.pollen = ped.Parents(at)
		k, ok := number[f]
		if !ok {
			k, out = len(out), append(out, nil)
			number[f] = k
		}
		out[k] = append(out[k], r)
	}
	return out
}

// withinScatter returns the pooled covariance of the records within families, groups of founders and seasons, less their
// own errors, and at least LeastSD². guessSD counts for three further plants, so that two plants do not decide alone.
func withinScatter(records []Record, ped *genetics.Pedigree) space.Matrix {
	var ss space.Matrix
	df := 0.0
	for _, rs := range families(records, ped) {
		if len(rs) < 2 {
			continue
		}
		var m space.Vector
		for _, r := range rs {
			m = space.Plus(m, space.Of(r.Lab))
		}
		m = space.Times(1/float64(len(rs)), m)
		for _, r := range rs {
			ss = space.Add(ss, space.Outer(space.Minus(space.Of(r.Lab), m)))
			ss = space.Sub(ss, space.Scale(float64(len(rs)-1)/float64(len(rs)), r.Cov))
		}
		df += float64(len(rs) - 1)
	}
	const few = 3
	ss = space.Scale(1/(df+few), space.Add(space.Semidefinite(ss), space.Scale(few, space.Diag(space.Even(guessSD*guessSD)))))
	for i := range 3 {
		ss[i][i] = max(ss[i][i], LeastSD*LeastSD)
	}
	return ss
}

// guessSD is the prior standard deviation of plants within a family in L*, a*, b*. A guess.
const guessSD = 3.0

// findAxes fills in axes and axisCV.
func (v *Values) findAxes() {
	for k, a := range v.Fit.Axes() {
		for i := range 3 {
			v.axes[i][k] = math.Sqrt(a.Variance) * a.Traits[i]
		}
		v.axisCV[k] = a.CV
	}
}

// Measured reports whether a plant has a colour of its own.
func (v *Values) Measured(plant string) bool { return v.measured[plant] }

// Of returns the breeding value of a plant; ok is false for one that is not in the pedigree.
func (v *Values) Of(plant string) (value Value, ok bool) {
	at, ok := v.Ped.Place(plant)
	if !ok {
		return value, false
	}
	var x space.Vector
	copy(x[:], v.eval.Value(at))
	if v.Genes != nil {
		var gene space.Vector
		gene, value.Cov = v.Genes.Mean(v.Genes.Self(v.Genes.Of(at)))
		x = space.Plus(x, gene)
	}
	value.Lab = space.Lab(x)
	value.Cov = space.Add(value.Cov, v.errorVar(at))
	for i := range 3 {
		value.Reliability[i] = v.eval.Reliability(at, i)
	}
	value.Inbreeding = v.Ped.Inbreeding(at)
	return value, true
}

// ShiftOf returns the effect of a season on L*, a*, b*, and its standard error, widened by Student's t as the
// variance of season effects is itself estimated from few seasons; nil: not known.
func (v *Values) ShiftOf(season string) (shift, se *[3]float64) {
	at, ok := slices.BinarySearchFunc(v.Seasons, season, CompareIDs)
	if !ok || len(v.Seasons) < 2 {
		return nil, nil
	}
	x := v.SeasonShift[at]
	if len(v.eval.LevelVar) == 0 {
		return &x, nil
	}
	var e space.Vector
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: SeasonPrior + float64(len(v.Seasons)-1)}.Quantile(0.975) / distuv.UnitNormal.Quantile(0.975)
	for i := range e {
		e[i] = t * math.Sqrt(max(v.eval.LevelVar[0][at*9+i*3+i], 0))
	}
	return &x, &e
}

func flat(x space.Matrix) []float64 {
	return []float64{x[0][0], x[0][1], x[0][2], x[1][0], x[1][1], x[1][2], x[2][0], x[2][1], x[2][2]}
}

func unflat(x []float64) (m space.Matrix) {
	for i := range 3 {
		copy(m[i][:], x[3*i:3*i+3])
	}
	return m
}
