// Package draws approximates distributions by points: quasi-random normal points that fill space evenly, the mean of the
// nearest of several draws, and the smallest of many numbers.
//
// Start with [Grid]. The package knows neither plants nor colours.
package draws

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"sync"

	"gonum.org/v1/gonum/stat/distuv"
)

// Sizes of [Points].
const (
	OuterPoints = 192 // points for the errors that all offspring of a pair share
	InnerPoints = 192 // points for the offspring of a pair
	MoreDims    = 18  // further dimensions of the outer points
)

// Points are standard normal points that fill space evenly, each with its mirror image.
type Points struct {
	Outer [OuterPoints][6]float64        // errors that all offspring share: of their mean, and of their variance along three axes
	More  [OuterPoints][MoreDims]float64 // further dimensions of Outer: pseudo-random, so less even, but independent of the others
	Inner [InnerPoints][3]float64        // offspring around their mean
	once  sync.Once
}

var grid Points

// Grid returns the points. They are always the same, and must not be changed.
func Grid() *Points {
	grid.fill()
	return &grid
}

func (p *Points) fill() {
	p.once.Do(func() {
		for d := range 6 {
			for n, u := range even(OuterPoints/2, d, 6) {
				p.Outer[2*n][d] = distuv.UnitNormal.Quantile(u)
				p.Outer[2*n+1][d] = -p.Outer[2*n][d]
			}
		}
		rnd := rand.New(rand.NewPCG(3, 4))
		for d := range MoreDims {
			square := 0.0
			for n := range OuterPoints / 2 {
				z := rnd.NormFloat64()
				p.More[2*n][d], p.More[2*n+1][d] = z, -z
				square += 2 * z * z / OuterPoints
			}
			for n := range OuterPoints {
				p.More[n][d] /= math.Sqrt(square)
			}
		}
		for d := range 3 {
			for n, u := range even(InnerPoints/2, d, 3) {
				p.Inner[2*n][d] = distuv.UnitNormal.Quantile(u)
				p.Inner[2*n+1][d] = -p.Inner[2*n][d]
			}
		}
	})
}

// even returns coordinate d, from 0 to 1, of n points that fill a cube of dims dimensions evenly.
//
// Source: additive recurrences by the powers of the plastic numbers, Roberts 2018, "The unreasonable effectiveness of
// quasirandom sequences".
func even(n, d, dims int) []float64 {
	phi, out := 2.0, make([]float64, n)
	for range 40 {
		phi = math.Pow(1+phi, 1/float64(dims+1))
	}
	for i := range out {
		_, out[i] = math.Modf(0.5 + float64(i+1)*math.Pow(1/phi, float64(d+1)))
	}
	return out
}

// Mixed returns n points (n even) of three standard normal numbers and one from 0 to 1, which fill space evenly, in random order.
// They are the same in every call.
func Mixed(n int) [][4]float64 {
	out, rnd := make([][4]float64, n), rand.New(rand.NewPCG(0, 1))
	for d := range 4 {
		for i, u := range even(n/2, d, 4) {
			if out[2*i][d], out[2*i+1][d] = u, 1-u; d < 3 {
				out[2*i][d] = distuv.UnitNormal.Quantile(u)
				out[2*i+1][d] = -out[2*i][d]
			}
		}
	}
	rnd.Shuffle(n, func(i, j int) { out[i], out[j] = out[j], out[i] })
	return out
}

// Sort sorts distances in place: a counting sort into InnerPoints boxes of equal width, then an
// insertion sort, which takes a third of the time of a general sort.
func Sort(d *[InnerPoints]float64) {
	least, most := slices.Min(d[:]), slices.Max(d[:])
	scale := (InnerPoints - 1) / (most - least)
	if !(scale > 0 && scale < math.MaxFloat64) { // all alike, or not numbers
		slices.Sort(d[:])
		return
	}
	var starts [InnerPoints + 1]uint8
	var box [InnerPoints]uint8
	for i, x := range d {
		box[i] = uint8((x - least) * scale)
		starts[box[i]+1]++
	}
	for i := range InnerPoints {
		starts[i+1] += starts[i]
	}
	was := *d
	for i, x := range was {
		d[starts[box[i]]] = x
		starts[box[i]]++
	}
	for i := 1; i < InnerPoints; i++ {
		x, j := d[i], i
		for ; j > 0 && d[j-1] > x; j-- {
			d[j] = d[j-1]
		}
		d[j] = x
	}
}

// Few returns 64 standard normal points, half of them mirror images of the others, for rough means.
func Few() [][3]float64 {
	rnd := rand.New(rand.NewPCG(1, 2))
	var out [][3]float64
	for range 32 {
		z := [3]float64{rnd.NormFloat64(), rnd.NormFloat64(), rnd.NormFloat64()}
		out = append(out, z, [3]float64{-z[0], -z[1], -z[2]})
	}
	return out
}

// Weighed is one draw of an offspring: its distance, its share among the offspring, and its share among the grandchildren.
type Weighed struct{ Away, Share, Next float64 }

// WeightsOf returns the weights of the sorted inner points, nearest first, in the expected distance of the nearest of n draws.
func WeightsOf(n int) (w [InnerPoints]float64) {
	was := 1.0
	for i := range w {
		now := math.Pow(1-float64(i+1)/InnerPoints, float64(n))
		w[i], was = was-now, now
	}
	return w
}

// NearestOf returns the expected distance of the nearest of n draws from near, each drawn with the chance Share. It sorts near.
func NearestOf(near []Weighed, n int) float64 {
	inBoxes(near)
	left, sum := 1.0, 0.0
	was := 1.0
	for _, d := range near {
		left = max(left-d.Share, 0)
		now := power(left, n)
		sum += (was - now) * d.Away
		if was = now; was < 1e-9 {
			break
		}
	}
	return sum
}

// inBoxes is [Sort] for any number of draws.
func inBoxes(near []Weighed) {
	least, most := math.Inf(1), math.Inf(-1)
	for i := range near {
		least, most = min(least, near[i].Away), max(most, near[i].Away)
	}
	const boxes = 256
	scale := (boxes - 1) / (most - least)
	if len(near) < 16 || len(near) > 1000 || !(scale > 0 && scale < math.MaxFloat64) {
		slices.SortStableFunc(near, func(a, b Weighed) int { return cmp.Compare(a.Away, b.Away) })
		return
	}
	var starts [boxes + 1]int32
	var room [1000]Weighed
	was := room[:copy(room[:], near)]
	for i := range was {
		starts[int((was[i].Away-least)*scale)+1]++
	}
	for i := range boxes {
		starts[i+1] += starts[i]
	}
	for i := range was {
		at := &starts[int((was[i].Away-least)*scale)]
		near[*at] = was[i]
		*at++
	}
	for i := 1; i < len(near); i++ {
		x, j := near[i], i
		for ; j > 0 && near[j-1].Away > x.Away; j-- {
			near[j] = near[j-1]
		}
		near[j] = x
	}
}

// power returns x to the power of n.
func power(x float64, n int) float64 {
	p := 1.0
	for ; n > 0; n /= 2 {
		if n%2 == 1 {
			p *= x
		}
		x *= x
	}
	return p
}

// Lowest returns the weighted mean of the lowest values whose shares add up to part; share are the weights, which add up to 1.
func Lowest(share, values []float64, part float64) float64 {
	left, sum := part, 0.0
	var room [32]bool
	used := room[:]
	if len(share) > len(room) {
		used = make([]bool, len(share))
	}
	for left > 1e-9 {
		at := -1
		for i := range share {
			if !used[i] && (at < 0 || values[i] < values[at]) {
				at = i
			}
		}
		if at < 0 {
			return sum / (part - left)
		}
		used[at] = true
		p := min(left, share[at])
		sum += p * values[at]
		left -= p
	}
	return sum / part
}

// CountSmallest draws n numbers, draw(0) to draw(n-1), times times, and counts how often each is among the k smallest.
func CountSmallest(n, k, times int, draw func(i int) float64) []int {
	d, s, count := make([]float64, n), make([]float64, 0, n), make([]int, n)
	low, high := math.Inf(-1), math.Inf(1) // where the k-th smallest is expected, from the last draw: nearly all numbers lie outside
	for range times {
		for i := range d {
			d[i] = draw(i)
		}
		below := 0
		s = s[:0]
		for _, x := range d {
			switch {
			case x < low:
				below++
			case x <= high:
				s = append(s, x)
			}
		}
		if below >= k || below+len(s) < k {
			below, s = 0, append(s[:0], d...)
		}
		cut, left := Smallest(s, k-below), k
		wide := 0.02 * math.Abs(cut)
		low, high = cut-wide, cut+wide
		for i, x := range d { // below the cut for certain
			if x < cut {
				count[i]++
				left--
			}
		}
		for i, x := range d { // ties on the cut, in order
			if left == 0 {
				break
			}
			if x == cut {
				count[i]++
				left--
			}
		}
	}
	return count
}

// Smallest returns the k-th smallest of v, with k from 1, and reorders v.
//
// Source: Hoare 1961, Comm. ACM 4:321, algorithm 65 (find), with the median of three as pivot.
func Smallest(v []float64, k int) float64 {
	for len(v) > 2 {
		a, b, c := v[0], v[len(v)/2], v[len(v)-1]
		pivot := max(min(a, b), min(max(a, b), c))
		i, j := 0, len(v)-1
		for i <= j {
			for v[i] < pivot {
				i++
			}
			for v[j] > pivot {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i, j = i+1, j-1
			}
		}
		switch { // v[:j+1] ≤ pivot ≤ v[i:], and what is between equals it
		case k <= j+1:
			v = v[:j+1]
		case k > i:
			v, k = v[i:], k-i
		default:
			return pivot
		}
	}
	if len(v) == 2 && (k == 1) == (v[0] <= v[1]) || len(v) == 1 {
		return v[0]
	}
	return v[1]
}
