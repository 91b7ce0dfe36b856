package selection

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"sync"

	"gonum.org/v1/gonum/stat/distuv"

	"hueward/colorimg/cie"
	"hueward/selection/classes"
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

const (
	outerPoints = 192 // for what all offspring of a pair share
	innerPoints = 192 // for the offspring themselves
)

// points are standard normal numbers that fill space evenly.
type points struct {
	outer [outerPoints][6]float64 // the shared error, and the scales
	inner [innerPoints][3]float64
	once  sync.Once
}

var grid points

func (p *points) fill() {
	p.once.Do(func() {
		// Additive recurrences by the powers of the plastic numbers, each with its
		// mirror image: Roberts 2018, "The unreasonable effectiveness of quasirandom
		// sequences".
		normal := distuv.UnitNormal
		at := func(n, d, dims int) float64 {
			phi := 2.0
			for range 40 {
				phi = math.Pow(1+phi, 1/float64(dims+1))
			}
			_, f := math.Modf(0.5 + float64(n+1)*math.Pow(1/phi, float64(d+1)))
			return normal.Quantile(f)
		}
		for n := range outerPoints / 2 {
			for d := range 6 {
				p.outer[2*n][d] = at(n, d, 6)
				p.outer[2*n+1][d] = -p.outer[2*n][d]
			}
		}
		for n := range innerPoints / 2 {
			for d := range 3 {
				p.inner[2*n][d] = at(n, d, 3)
				p.inner[2*n+1][d] = -p.inner[2*n][d]
			}
		}
	})
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
	grid.fill()
	shared, own := space.Root(space.Semidefinite(o.Between)), space.Matrix(o.Axes)
	if own == (space.Matrix{}) {
		own = space.Root(space.Semidefinite(o.Within))
	}
	var chances [outerPoints]float64
	out.NextWithin = math.NaN()
	if o.genes != nil {
		out.NextWithin = 0
	}
	var width space.Vector
	for k, cv := range o.ScaleCV {
		width[k] = math.Sqrt(math.Log1p(cv * cv))
	}
	var near []weighed // the offspring of one case, each with its share
	var away [innerPoints]float64
	weights := weightsOf(out.N)
	for j, z := range grid.outer {
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
			for i := range grid.inner {
				z := &grid.inner[i]
				away[i] = cie.DeltaE2000(cie.Lab{L: m[0] + l[0][0]*z[0] + l[0][1]*z[1] + l[0][2]*z[2],
					A: m[1] + l[1][0]*z[0] + l[1][1]*z[1] + l[1][2]*z[2], B: m[2] + l[2][0]*z[0] + l[2][1]*z[1] + l[2][2]*z[2]}, t.Lab)
			}
			sortNear(&away)
			sum, best, within := 0.0, 0.0, 0
			for i, d := range away {
				sum += d
				best += weights[i] * d
				if d <= t.Within {
					within++
				}
			}
			out.Distance += sum / (innerPoints * outerPoints)
			out.Best += best / outerPoints
			chances[j] = float64(within) / innerPoints
			out.ChanceWithin += chances[j] / outerPoints
			continue
		}
		near = o.sample(near[:0], j, e, l, t.Lab)
		for _, d := range near {
			out.Distance += d.share * d.away / outerPoints
			if d.away <= t.Within {
				chances[j] += d.share
				out.NextWithin += d.next / outerPoints
			}
		}
		out.Best += nearestOf(near, out.N) / outerPoints
		out.ChanceWithin += chances[j] / outerPoints
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
func sortNear(d *[innerPoints]float64) {
	least, most := slices.Min(d[:]), slices.Max(d[:])
	scale := (innerPoints - 1) / (most - least)
	if !(scale > 0 && scale < math.MaxFloat64) { // all alike, or not numbers
		slices.Sort(d[:])
		return
	}
	var starts [innerPoints + 1]uint8
	var box [innerPoints]uint8
	for i, x := range d {
		box[i] = uint8((x - least) * scale)
		starts[box[i]+1]++
	}
	for i := range innerPoints {
		starts[i+1] += starts[i]
	}
	was := *d
	for i, x := range was {
		d[starts[box[i]]] = x
		starts[box[i]]++
	}
	for i := 1; i < innerPoints; i++ {
		x, j := d[i], i
		for ; j > 0 && d[j-1] > x; j-- {
			d[j] = d[j-1]
		}
		d[j] = x
	}
}

// weighed is one of the offspring that are looked at, and its shares among them and among their
// offspring.
type weighed struct{ away, share, next float64 }

// sample appends the offspring of outer point j where there are strong genes: of each kind those of
// the inner points.
func (o *Offspring) sample(near []weighed, j int, shared space.Vector, own space.Matrix, target cie.Lab) []weighed {
	// The parents' genotypes: each case in its share of the outer points.
	_, u := math.Modf(0.5 + float64(j+1)*(math.Sqrt(5)-1)/2)
	c := 0
	for c < len(o.genes.cases)-1 && u >= o.genes.cases[c].chance {
		u -= o.genes.cases[c].chance
		c++
	}
	share := o.genes.cases[c].share
	for k, e := range o.genes.effects {
		next := o.genes.next[k]
		if share[k] < 1e-6 && next < 1e-6 {
			continue
		}
		m := space.Plus(space.Plus(space.Plus(o.base, e), shared), o.genes.cases[c].shift)
		const some = innerPoints / 2
		for i := range some {
			z := grid.inner[(i+j%2*some)%innerPoints]
			near = append(near, weighed{cie.DeltaE2000(space.Lab(space.Plus(m, space.Apply(own, z))), target), share[k] / some, next / some})
		}
	}
	return near
}

// weightsOf are what each of the inner points, the nearest first, counts in the mean of the nearest of n.
func weightsOf(n int) (w [innerPoints]float64) {
	was := 1.0
	for i := range w {
		now := math.Pow(1-float64(i+1)/innerPoints, float64(n))
		w[i], was = was-now, now
	}
	return w
}

// nearestOf is the mean of the smallest of n draws, each as likely as its share; it sorts them.
func nearestOf(near []weighed, n int) float64 {
	slices.SortFunc(near, func(a, b weighed) int { return cmp.Compare(a.away, b.away) })
	left, sum := 1.0, 0.0
	was := 1.0
	for _, d := range near {
		left = max(left-d.share, 0)
		now := math.Pow(left, float64(n))
		sum += (was - now) * d.away
		if was = now; was < 1e-9 {
			break
		}
	}
	return sum
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
	l := space.Root(space.Add(o.Between, o.Within))
	from := func(m space.Vector) float64 {
		sum := 0.0
		for _, z := range z {
			sum += cie.DeltaE2000(space.Lab(space.Plus(m, space.Apply(l, z))), target)
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
