package selection

import (
	"math"
	"math/rand/v2"
	"slices"

	"hueward/colorimg/cie"
	"hueward/selection/classes"
	"hueward/selection/draws"
	"hueward/selection/space"
)

// Offspring is what is expected of one pair's offspring: the colours that they are
// bred for. What bed, weather and camera add to one flower is not in it.
type Offspring struct {
	Mean cie.Lab
	// Between is the covariance of the error of Mean, which all offspring share; Within
	// that of the offspring around their true mean.
	Between, Within [3][3]float64
	// Axes, one a column, make up Within: it is their squares' sum. ScaleCV is how unsure the variance along
	// each is, its coefficient of variation; zero axes: those of Within's root.
	Axes    [3][3]float64
	ScaleCV [3]float64
	// Kinds are the colour classes that strong genes part the offspring into, which Within does not
	// hold; nil: none were found.
	Kinds []OffspringKind
	genes *kinds
	base  space.Vector // Mean without strong genes
}

// withGenes adds what strong genes do to offspring whose Mean is without them.
func (o *Offspring) withGenes(k *kinds) {
	o.genes, o.base = k, space.Of(o.Mean)
	mean := k.mean(k.share)
	o.Mean = space.Lab(space.Plus(o.base, mean))
	for i, p := range k.share {
		if p > 1e-3 {
			o.Kinds = append(o.Kinds, OffspringKind{p, space.Minus(k.effects[i], mean)})
		}
	}
}

// Whole is the covariance of one offspring around Mean, with all that is not known.
func (o Offspring) Whole() [3][3]float64 {
	m := space.Add(o.Between, o.Within)
	for _, k := range o.Kinds {
		m = space.Add(m, space.Scale(k.Share, space.Outer(k.Shift)))
	}
	return m
}

// Predicted is what a pair's offspring promise.
type Predicted struct {
	ChanceWithin float64 // that one offspring is within the target's tolerance, 0 to 1
	Distance     float64 // expected Delta E 2000 of one offspring to the target
	// Best is the expected Delta E 2000 of the nearest of N offspring.
	Best float64
	N    int
	// GrowFor95 is how many seeds to sow for a chance of 95 % that at least Wanted
	// offspring within the tolerance come up; 0: more than mostSeeds, or the parents are
	// not known well enough for any number to do.
	GrowFor95 int
	Wanted    int
	// NextWithin is the chance of one offspring of its offspring among each other to be within the
	// tolerance, where strong genes part them: what is hidden in the first shows in those. NaN:
	// no strong genes.
	NextWithin float64
}

// mostSeeds is the most that a grower is told to sow.
const mostSeeds = 100_000

// PredictOptions says what to ask of a pair.
type PredictOptions struct {
	N           int     // offspring, of which the nearest; 0: 10
	Wanted      int     // 0: 1
	Germination float64 // share of seeds that make a plant; 0: all
}

// Predict works out what offspring promise, over the whole of their distribution:
// what they share (that the parents' values and the additive variance are not known
// for certain) apart from what differs between them, so that more seeds do not make
// up for a mistaken parent.
//
// Source: the distribution is the infinitesimal model's: Fisher 1918; Bulmer 1980,
// The Mathematical Theory of Quantitative Genetics. The chance is integrated over
// fixed points; TestPredictSampled compares it with plain sampling.
func (o Offspring) Predict(t Target, opt *PredictOptions) Predicted {
	if opt == nil {
		opt = &PredictOptions{}
	}
	if t.Within == 0 {
		t.Within = DefaultWithin
	}
	out := Predicted{N: opt.N, Wanted: opt.Wanted}
	if out.N <= 0 {
		out.N = 10
	}
	if out.Wanted <= 0 {
		out.Wanted = 1
	}
	grid := draws.Grid()
	shared, own := space.Root(space.Semidefinite(o.Between)), space.Matrix(o.Axes)
	if own == (space.Matrix{}) {
		own = space.Root(space.Semidefinite(o.Within))
	}
	var chances [draws.OuterPoints]float64
	out.NextWithin = math.NaN()
	if o.genes != nil {
		out.NextWithin = 0
	}
	var width space.Vector
	for k, cv := range o.ScaleCV {
		width[k] = math.Sqrt(math.Log1p(cv * cv))
	}
	var near []draws.Weighed // the offspring of one case, each with its share
	var at [draws.InnerPoints]cie.Lab
	var away [draws.InnerPoints]float64
	weights, distance := draws.WeightsOf(out.N), cie.NearnessTo(t.Lab)
	for j, z := range grid.Outer {
		e := space.Apply(shared, space.Vector{z[0], z[1], z[2]})
		var l space.Matrix
		for k, w := range width { // of the variance along each axis a factor of median 1
			size := math.Exp(w * z[3+k] / 2)
			for i := range l {
				l[i][k] = size * own[i][k]
			}
		}
		if o.genes == nil { // the usual case, several times faster alone
			m := space.Plus(space.Of(o.Mean), e)
			for i := range grid.Inner {
				z := &grid.Inner[i]
				at[i] = cie.Lab{L: m[0] + l[0][0]*z[0] + l[0][1]*z[1] + l[0][2]*z[2],
					A: m[1] + l[1][0]*z[0] + l[1][1]*z[1] + l[1][2]*z[2], B: m[2] + l[2][0]*z[0] + l[2][1]*z[1] + l[2][2]*z[2]}
			}
			distance.Of(away[:], at[:])
			sortNear(&away)
			sum, best, within := 0.0, 0.0, 0
			for i, d := range away {
				sum += d
				best += weights[i] * d
				if d <= t.Within {
					within++
				}
			}
			out.Distance += sum / (draws.InnerPoints * draws.OuterPoints)
			out.Best += best / draws.OuterPoints
			chances[j] = float64(within) / draws.InnerPoints
			out.ChanceWithin += chances[j] / draws.OuterPoints
			continue
		}
		near = o.sample(near[:0], j, e, l, distance)
		for _, d := range near {
			out.Distance += d.Share * d.Away / draws.OuterPoints
			if d.Away <= t.Within {
				chances[j] += d.Share
				out.NextWithin += d.Next / draws.OuterPoints
			}
		}
		out.Best += draws.NearestOf(near, out.N) / draws.OuterPoints
		out.ChanceWithin += chances[j] / draws.OuterPoints
	}
	g := opt.Germination
	if g <= 0 || g > 1 {
		g = 1
	}
	out.GrowFor95 = seedsFor(chances[:], g, out.Wanted, 0.95)
	return out
}

// sortNear sorts distances: first into as many boxes of equal width as there are, then each into its place, which takes
// a third of the time of a general sort.
func sortNear(d *[draws.InnerPoints]float64) {
	least, most := slices.Min(d[:]), slices.Max(d[:])
	scale := (draws.InnerPoints - 1) / (most - least)
	if !(scale > 0 && scale < math.MaxFloat64) { // all alike, or not numbers
		slices.Sort(d[:])
		return
	}
	var starts [draws.InnerPoints + 1]uint8
	var box [draws.InnerPoints]uint8
	for i, x := range d {
		box[i] = uint8((x - least) * scale)
		starts[box[i]+1]++
	}
	for i := range draws.InnerPoints {
		starts[i+1] += starts[i]
	}
	was := *d
	for i, x := range was {
		d[starts[box[i]]] = x
		starts[box[i]]++
	}
	for i := 1; i < draws.InnerPoints; i++ {
		x, j := d[i], i
		for ; j > 0 && d[j-1] > x; j-- {
			d[j] = d[j-1]
		}
		d[j] = x
	}
}

// sample appends the offspring of outer point j where there are strong genes: of each kind those of
// the inner points.
func (o *Offspring) sample(near []draws.Weighed, j int, shared space.Vector, own space.Matrix, distance *cie.Nearness) []draws.Weighed {
	// The parents' genotypes: each case in its share of the outer points.
	_, u := math.Modf(0.5 + float64(j+1)*(math.Sqrt(5)-1)/2)
	c := 0
	for c < len(o.genes.cases)-1 && u >= o.genes.cases[c].chance {
		u -= o.genes.cases[c].chance
		c++
	}
	share := o.genes.cases[c].share
	grid := draws.Grid()
	for k, e := range o.genes.effects {
		next := o.genes.next[k]
		if share[k] < 1e-6 && next < 1e-6 {
			continue
		}
		m := space.Plus(space.Plus(space.Plus(o.base, e), shared), o.genes.cases[c].shift)
		for d, move := range o.genes.moves {
			m = space.Plus(m, space.Times(grid.More[j][d], move[k]))
		}
		const some = draws.InnerPoints / 2
		var at [some]cie.Lab
		var away [some]float64
		for i := range some {
			at[i] = space.Lab(space.Plus(m, space.Apply(own, grid.Inner[(i+j%2*some)%draws.InnerPoints])))
		}
		distance.Of(away[:], at[:])
		for _, d := range away {
			near = append(near, draws.Weighed{Away: d, Share: share[k] / some, Next: next / some})
		}
	}
	return near
}

// seedsFor is the least number of seeds for a chance of sure that at least wanted of
// them come up right, each with one of the chances, which all share; 0: mostSeeds would
// not do.
//
// Source: with one chance and one wanted it is ln(1-P)/ln(1-q), a table in most
// handbooks of plant breeding.
func seedsFor(chances []float64, germination float64, wanted int, sure float64) int {
	return classes.Fewest(mostSeeds, func(n int) bool {
		p := 0.0
		for _, c := range chances {
			p += classes.AtLeast(wanted, n, c*germination)
		}
		return p >= sure*float64(len(chances))
	})
}

// distance is the expected Delta E 2000 of one offspring to the target, roughly, over
// all that is not known of it, at the points z.
func (o *Offspring) distance(target cie.Lab, z []space.Vector) float64 {
	l, near := space.Root(space.Add(o.Between, o.Within)), cie.NearnessTo(target)
	at, away := make([]cie.Lab, len(z)), make([]float64, len(z))
	from := func(m space.Vector) float64 {
		for i, z := range z {
			at[i] = space.Lab(space.Plus(m, space.Apply(l, z)))
		}
		near.Of(away, at)
		sum := 0.0
		for _, d := range away {
			sum += d
		}
		return sum / float64(len(z))
	}
	if o.genes == nil {
		return from(space.Of(o.Mean))
	}
	of := make([]float64, len(o.genes.effects))
	for k, e := range o.genes.effects {
		if o.genes.share[k] > 1e-6 || o.genes.next[k] > 1e-6 {
			of[k] = from(space.Plus(o.base, e))
		}
	}
	return o.genes.merit(of)
}

// distancePoints are the offspring that distance looks at.
func distancePoints() []space.Vector {
	rnd := rand.New(rand.NewPCG(1, 2))
	var out []space.Vector
	for range 32 {
		z := space.Vector{rnd.NormFloat64(), rnd.NormFloat64(), rnd.NormFloat64()}
		out = append(out, z, space.Vector{-z[0], -z[1], -z[2]})
	}
	return out
}
