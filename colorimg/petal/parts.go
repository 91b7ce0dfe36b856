package petal

import (
	"cmp"
	"math"
	"slices"

	"hueward/colorimg/cie"
	"hueward/colorimg/robust"
)

// This file separates the colours of petals that have several, or that shade from one into another.

// blendGap is the least difference, in Delta E 2000 at equal lightness, between the two halves of the petals' pixels
// at which petals that shade from one colour into another are listed as two colours. Our own choice, on half of 75 real
// photos.
const blendGap = 15.5

// blend splits petals of one colour into the two between which they shade, where these differ by blendGap.
func (c *Colors) blend(px []*sample) {
	pair := kmeans(px, 2, (1+c.Clipped)*blendGap, 0)
	if pair == nil {
		return
	}
	slices.SortStableFunc(pair, func(a, b []*sample) int { return cmp.Compare(len(b), len(a)) })
	var shares []Share
	for _, g := range pair {
		light := slices.DeleteFunc(slices.Clone(g), func(p *sample) bool { return p.fate == Shadow })
		if len(light) == 0 {
			return
		}
		shares = append(shares, Share{middle(uncut(light)), float64(len(g)) / float64(len(px))})
	}
	c.Shares, c.Blend, c.floors = shares, true, append(c.floors, c.floors[0])
}

// Two colours of one bloom differ by at least colorGap CIEDE2000 units at equal lightness.
// Where the petals shade evenly from one to the other, they must differ by more: by hueGap times
// the natural logarithm of the ratio of the principal axes of (u, v), as one pigment, thin or deep, matt
// or glossy, varies along one line, and only a second pigment leaves it. Two halves of an even gradient
// explain 3/4 of its variance; from twoPlateaus on it is not even. Our own choice, on half of 75 real photos.
const (
	colorGap    = 12.5
	hueGap      = 6.0
	twoPlateaus = 0.8
	colorShare  = 0.07 // least share of the pixels that counts as a colour
)

// leastRun returns the least difference between two colours between which the petals shade evenly.
func leastRun(px []*sample) float64 {
	var n, u, v, uu, uv, vv float64
	for _, p := range px {
		n, u, v, uu, uv, vv = n+1, u+p.u, v+p.v, uu+p.u*p.u, uv+p.u*p.v, vv+p.v*p.v
	}
	uu, uv, vv = uu/n-u*u/n/n, uv/n-u*v/n/n, vv/n-v*v/n/n
	mid, half := (uu+vv)/2, math.Hypot((uu-vv)/2, uv)
	return colorGap + hueGap*math.Log((mid+half)/max(mid-half, 1e-6*mid+1e-9))/2
}

// plateaus returns the share of the variance of (u, v) along the line through two groups' means
// that lies between the groups.
func plateaus(g, h []*sample) float64 {
	mean := func(px []*sample) (u, v float64) {
		for _, p := range px {
			u, v = u+p.u/float64(len(px)), v+p.v/float64(len(px))
		}
		return u, v
	}
	gu, gv := mean(g)
	hu, hv := mean(h)
	within := 0.0
	for i, p := range slices.Concat(g, h) {
		u, v := gu, gv
		if i >= len(g) {
			u, v = hu, hv
		}
		t := (p.u-u)*(gu-hu) + (p.v-v)*(gv-hv)
		within += t * t
	}
	n, m, d := float64(len(g)), float64(len(h)), (gu-hu)*(gu-hu)+(gv-hv)*(gv-hv)
	return n * m / (n + m) * d * d / (n*m/(n+m)*d*d + within)
}

// evenly returns the colour with its shading changed so that its L* is 60.
func evenly(c cie.Lab) cie.Lab {
	u, v := flat(c)
	return cie.Lab{L: 60, A: u * 76 / 60, B: v * 76 / 60}
}

// split sorts the pixels into one, two or three colours, the largest first.
// strict multiplies the least difference between two; it is larger where
// cut-off channels were estimated.
func split(px []*sample, strict float64) [][]*sample {
	best, run := [][]*sample{px}, strict*leastRun(px)
	if g := kmeans(px, 2, strict*colorGap, run); g != nil {
		best = g
		if g = kmeans(px, 3, run, run); g != nil { // a third colour must not be a shade between two others
			best = g
		}
	}
	slices.SortStableFunc(best, func(a, b []*sample) int { return cmp.Compare(len(b), len(a)) })
	return best
}

// kmeans sorts the pixels into k colours; nil when two of these differ by less than
// least at equal lightness, or by less than run with an even gradient between them.
func kmeans(px []*sample, k int, least, run float64) [][]*sample {
	type point [3]float64
	at := func(p *sample) point { return point{p.u, p.v, 0.45 * p.lab.L} }
	var some []*sample
	for i := 0; i < len(px); i += max(1, len(px)/1500) {
		some = append(some, px[i])
	}
	var c []point
	nearest := func(p point) (at int, best float64) {
		best = math.Inf(1)
		for i, q := range c {
			if d := math.Sqrt((p[0]-q[0])*(p[0]-q[0]) + (p[1]-q[1])*(p[1]-q[1]) + (p[2]-q[2])*(p[2]-q[2])); d < best {
				at, best = i, d
			}
		}
		return at, best
	}
	groups := make([][]*sample, k)
	group := func() {
		for i := range groups {
			groups[i] = groups[i][:0]
		}
		for _, p := range some {
			i, _ := nearest(at(p))
			groups[i] = append(groups[i], p)
		}
	}
	mean := func(px []*sample) (m point) {
		for _, p := range px {
			for d, v := range at(p) {
				m[d] += v / float64(len(px))
			}
		}
		return m
	}
	// Start: the pixel farthest (97th percentile) from the mean, then each time that
	// farthest from the centres so far.
	far := func() point {
		ds := make([]float64, len(some))
		for i, p := range some {
			_, ds[i] = nearest(at(p))
		}
		return at(some[slices.Index(ds, robust.Nth(slices.Clone(ds), int(0.97*float64(len(ds)-1))))])
	}
	c = []point{mean(some)}
	for c = []point{far()}; len(c) < k; {
		c = append(c, far())
	}
	for range 8 {
		group()
		for i, g := range groups {
			if float64(len(g)) < colorShare*float64(len(some)) {
				return nil
			}
			c[i] = mean(g)
		}
	}
	looks := make([]cie.Lab, k)
	for i, g := range groups {
		looks[i] = evenly(middle(g))
		for j, c := range looks[:i] {
			if d := cie.DeltaE2000(looks[i], c); d < least || d < run && plateaus(g, groups[j]) < twoPlateaus {
				return nil
			}
		}
	}
	// Each pixel counts for the colour that it looks most like.
	groups = make([][]*sample, k)
	for _, p := range px {
		at, look := 0, evenly(p.lab)
		for i := 1; i < k; i++ {
			if cie.DeltaE2000(look, looks[i]) < cie.DeltaE2000(look, looks[at]) {
				at = i
			}
		}
		groups[at] = append(groups[at], p)
	}
	return groups
}

// partRanges returns the range of L* between parts of the bloom, and the median range
// within a part, each from the tenth to the ninetieth percentile.
func partRanges(px []*sample) [2]float64 {
	cells := map[int][]float64{}
	for _, p := range px {
		cells[p.cell] = append(cells[p.cell], p.lab.L)
	}
	var mid, within []float64
	for _, l := range cells {
		if len(l) < 10 {
			continue
		}
		n := len(l) - 1
		within = append(within, robust.Nth(l, n*9/10)-robust.Nth(l, n/10))
		mid = append(mid, robust.Median(l))
	}
	if len(mid) < 8 {
		return [2]float64{}
	}
	n := len(mid) - 1
	return [2]float64{robust.Nth(mid, n*9/10) - robust.Nth(mid, n/10), robust.Median(within)}
}
