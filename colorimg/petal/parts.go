package petal

import (
	"cmp"
	"math"
	"slices"

	"hueward/colorimg/cie"
	"hueward/colorimg/robust"
)

// Petals of several colours are parted here, and those that shade from one into another.

// blendGap is how far apart, in Delta E 2000 in the same light, the halves of petals must be that shade from one
// colour into another, to be listed as two. Our own choice, on half of 75 real photos.
const blendGap = 15.5

// blend lists the two colours between which petals of one colour shade, where these lie far apart.
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

// Two colours of one bloom are colorGap CIEDE2000 units apart in the same light. Where
// the petals run evenly from one to the other, they are hueGap more for each natural
// logarithm of how many times as far hue and chroma reach along their longest axis
// as across it: one pigment, thin or deep, matt or glossy, moves both along one line,
// a second one off it. An even run explains 3/4 of the variance by its halves; from
// twoPlateaus on it is not one. Our own choice, on half of 75 real photos.
const (
	colorGap    = 12.5
	hueGap      = 6.0
	twoPlateaus = 0.8
	colorShare  = 0.07 // the least that is a colour
)

// leastRun is how far apart two colours must be between which the petals run evenly.
func leastRun(px []*sample) float64 {
	var n, u, v, uu, uv, vv float64
	for _, p := range px {
		n, u, v, uu, uv, vv = n+1, u+p.u, v+p.v, uu+p.u*p.u, uv+p.u*p.v, vv+p.v*p.v
	}
	uu, uv, vv = uu/n-u*u/n/n, uv/n-u*v/n/n, vv/n-v*v/n/n
	mid, half := (uu+vv)/2, math.Hypot((uu-vv)/2, uv)
	return colorGap + hueGap*math.Log((mid+half)/max(mid-half, 1e-6*mid+1e-9))/2
}

// plateaus is the share of the variance of two groups' hue and chroma, along the line
// through their means, that lies between the groups.
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

// evenly is a colour with its hue and chroma in the light in which its L* is 60.
func evenly(c cie.Lab) cie.Lab {
	u, v := flat(c)
	return cie.Lab{L: 60, A: u * 76 / 60, B: v * 76 / 60}
}

// split sorts the pixels into one, two or three colours, the largest first.
// strict multiplies the least distance between two: more where channels that
// were cut off have been estimated.
func split(px []*sample, strict float64) [][]*sample {
	best, run := [][]*sample{px}, strict*leastRun(px)
	if g := kmeans(px, 2, strict*colorGap, run); g != nil {
		best = g
		if g = kmeans(px, 3, run, run); g != nil { // a third colour is not the way from one to the other
			best = g
		}
	}
	slices.SortStableFunc(best, func(a, b []*sample) int { return cmp.Compare(len(b), len(a)) })
	return best
}

// kmeans sorts the pixels into k colours; nil when two of these are less than
// least apart in the same light, or less than run with an even run between them.
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

// partRanges compares how far L* reaches from part to part of the bloom with how
// far it reaches within a part, both from the tenth to the ninetieth percentile.
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
