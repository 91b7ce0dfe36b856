package petal

import (
	"math"
	"slices"

	"hueward/colorimg/cie"
	"hueward/colorimg/robust"
)

// Ring is one ring around the bloom's middle.
type Ring struct {
	At    float64 // middle of the ring: 0 the bloom's middle, 1 its rim in that direction
	Lab   cie.Lab
	Share float64 // of the petal pixels that were read
}

// Zone is a part of the bloom with a colour of its own, between two distances
// measured as in [Ring].At.
type Zone struct {
	Name     string // "centre", "eye", "body", "tip"
	From, To float64
	Lab      cie.Lab
	Share    float64 // of the head
}

// ringCount is the number of rings of a bloom.
const ringCount = 10

// sectors is the number of directions in which the rim is measured.
const sectors = 48

// findRim fills in the distance to the rim in each direction: the farthest of the
// head's pixels there and in the two directions beside, since narrow petals leave
// gaps.
func (b *Bloom) findRim() {
	s := b.scene
	var far [sectors][]float32
	x0, y0, x1, y1 := b.box[0], b.box[1], b.box[2], b.box[3]
	step := max(1, int(b.Radius/35))
	for k := range far {
		far[k] = make([]float32, 0, 200)
	}
	for y := y0; y < y1; y += step {
		for x := x0; x < x1; x += step {
			if b.Head[y*s.im.W+x] != 0 {
				k, d := b.toward(float64(x), float64(y))
				far[k] = append(far[k], float32(d))
			}
		}
	}
	var reach [sectors]float64
	for k, d := range far {
		if len(d) > 0 {
			reach[k] = float64(robust.Nth(d, len(d)*99/100))
		}
	}
	for k := range b.rim {
		b.rim[k] = max(reach[k], reach[(k+1)%sectors], reach[(k+sectors-1)%sectors], 0.3*b.Radius)
	}
}

// toward returns the direction, as a sector, and the distance of a working pixel from
// the bloom's middle.
func (b *Bloom) toward(x, y float64) (sector int, d float64) {
	dx, dy := x-b.Center[0], y-b.Center[1]
	return sectorOf(dx, dy), distance(dx, dy)
}

// tangents are the tangents of the sectors' bounds within an eighth of the circle.
var tangents = func() (t [sectors/8 - 1]float64) {
	for i := range t {
		t[i] = math.Tan(2 * math.Pi * float64(i+1) / sectors)
	}
	return t
}()

// sectorOf returns the sector in which (x, y) lies, counted from the x axis towards
// the y axis. It avoids the arctangent, which would take longer than all the rest.
func sectorOf(x, y float64) int {
	ax, ay := math.Abs(x), math.Abs(y)
	long, short := ax, ay
	if ay > ax {
		long, short = ay, ax
	}
	k := 0
	for _, t := range tangents {
		if short < t*long {
			break
		}
		k++
	}
	if ay > ax {
		k = sectors/4 - 1 - k
	}
	if x < 0 {
		k = sectors/2 - 1 - k
	}
	if y < 0 {
		k = sectors - 1 - k
	}
	return k
}

// reach returns a pixel's distance from the middle, as a share of the rim's in that direction.
func (b *Bloom) reach(x, y float64) float64 {
	k, d := b.toward(x, y)
	return d / b.rim[k]
}

// Diameter returns the bloom's width in working pixels: the median over directions.
func (b *Bloom) Diameter() float64 {
	v := make([]float64, 0, sectors/2)
	for k := range sectors / 2 {
		v = append(v, b.rim[k]+b.rim[k+sectors/2])
	}
	return robust.Median(v)
}

// rings returns the colour of each ring; rings with hardly any pixels are left out.
func rings(px []*sample) []Ring {
	var in [ringCount][]*sample
	for _, p := range px {
		k := min(int(p.reach*ringCount), ringCount-1)
		in[k] = append(in[k], p)
	}
	var out []Ring
	for k, g := range in {
		if len(g) < 12 || len(g)*250 < len(px) {
			continue
		}
		m := middle(g)
		out = append(out, Ring{(float64(k) + 0.5) / ringCount, m, float64(len(g)) / float64(len(px))})
	}
	return out
}

// zoneGap is the distance in (u, v) from which a ring has another
// colour than the body. Our own choice; it is less than colorGap,
// since a ring is the mean of many petals.
const zoneGap = 10.0

// flat returns a* and b* scaled to L* + 16 = 60: approximately what they are at a fixed lightness, without shading.
func flat(c cie.Lab) (u, v float64) {
	k := 60 / (c.L + 16)
	return c.A * k, c.B * k
}

// zones returns the disc florets, and eye, body and tip as the rings tell them
// apart. nil for a bloom of one colour without a disc.
func (b *Bloom) zones(px []*sample, rs []Ring, main cie.Lab) []Zone {
	mu, mv := flat(main)
	other := make([]bool, len(rs))
	for i, r := range rs {
		u, v := flat(r.Lab)
		other[i] = math.Hypot(u-mu, v-mv) > zoneGap
	}
	in, out := 0, len(rs)
	for in < len(rs) && other[in] {
		in++
	}
	for out > in && other[out-1] {
		out--
	}
	if in == out { // the main colour fills no ring: a picotee, stripes
		in, out = 0, len(rs)
	}
	disc, discTo := b.discZone()
	var zones []Zone
	petals := 1 - disc.Share
	add := func(name string, rs []Ring, from, to float64) {
		if len(rs) == 0 {
			return
		}
		var g []*sample
		for _, p := range px {
			if p.reach >= rs[0].At-0.5/ringCount && p.reach < rs[len(rs)-1].At+0.5/ringCount+1e-9 || rs[len(rs)-1].At > 0.94 && p.reach >= 1 &&
				name != "eye" {
				g = append(g, p)
			}
		}
		if len(g) == 0 {
			return
		}
		m := middle(g)
		zones = append(zones, Zone{name, from, to, m, petals * float64(len(g)) / float64(len(px))})
	}
	if disc.Share > 0 {
		zones = append(zones, disc)
	}
	edge := func(i int) float64 {
		switch {
		case i <= 0:
			return discTo
		case i >= len(rs):
			return 1
		}
		return max(discTo, rs[i].At-0.5/ringCount)
	}
	add("eye", rs[:in], edge(0), edge(in))
	add("body", rs[in:out], edge(in), edge(out))
	add("tip", rs[out:], edge(out), 1)
	if len(zones) < 2 {
		return nil
	}
	return zones
}

// discZone returns the part of the head that was left out as disc florets, and its outer distance.
func (b *Bloom) discZone() (z Zone, to float64) {
	if !b.Disc {
		return z, 0
	}
	s := b.scene
	var g []*sample
	var far []float64
	head := 0
	step := max(1, int(math.Ceil(math.Sqrt(float64(b.Pixels)/mostSamples))))
	x0, y0, x1, y1 := b.box[0], b.box[1], b.box[2], b.box[3]
	for y := y0 - y0%step; y < y1; y += step {
		for x := x0 - x0%step; x < x1; x += step {
			i := y*s.im.W + x
			if b.Head[i] == 0 {
				continue
			}
			head++
			if b.Mask[i] == 0 {
				p := s.im.Pix[3*i:]
				g = append(g, &sample{lab: s.labOf(p[0], p[1], p[2])})
				far = append(far, b.reach(float64(x), float64(y)))
			}
		}
	}
	if len(g) < 12 {
		return z, 0
	}
	m := middle(g)
	to = robust.Nth(far, len(far)*9/10)
	return Zone{"centre", 0, to, m, float64(len(g)) / float64(head)}, to
}

// faded reports whether petals of one colour bleach steadily towards their
// tips: chroma falls by 40 % and lightness rises, with hardly a change of hue.
// Common practice, no source; the limits are our own, beyond the paler tips
// that many fresh blooms have.
func faded(rs []Ring) bool {
	var mid, tip *Ring
	for i := range rs {
		if rs[i].At > 0.35 && rs[i].At < 0.5 {
			mid = &rs[i]
		}
		if rs[i].At > 0.8 && rs[i].At < 0.96 {
			tip = &rs[i]
		}
	}
	if mid == nil || tip == nil {
		return false
	}
	a, c := mid.Lab.LCh(), tip.Lab.LCh()
	turn := math.Abs(math.Mod(a.H-c.H+540, 360) - 180)
	return a.C > 20 && c.C < 0.6*a.C && c.L > a.L+5 && turn < 25 && slices.IsSortedFunc(rs, func(p, q Ring) int {
		if p.At < 0.3 || q.At > 0.96 || q.Lab.LCh().C < p.Lab.LCh().C+3 {
			return 0
		}
		return 1
	})
}

// browned reports whether a petal pixel looks withered compared with the bloom's
// main colour: a dull brown, darker than the petals. Common practice, no
// source: petals turn brown as they die; the limits are our own.
func browned(p sample, main cie.Lab) bool {
	h := p.lab.LCh()
	mu, mv := flat(main)
	dull := math.Hypot(p.u, p.v)
	return h.H > 40 && h.H < 95 && dull > 9 && dull < 42 && p.lab.L < 58 && p.lab.L < main.L-8 &&
		math.Hypot(p.u-mu, p.v-mv) > 12 && (dull < 0.7*math.Hypot(mu, mv) || dull > math.Hypot(mu, mv)+9)
}
