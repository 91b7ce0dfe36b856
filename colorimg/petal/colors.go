package petal

import (
	"math"
	"slices"
	"sync"

	"hueward/colorimg/cie"
	"hueward/colorimg/robust"
)

// Colors is what the petals of a bloom look like.
type Colors struct {
	Lab     cie.Lab    // robust centre of the main colour
	Spread  [3]float64 // robust standard deviation of L*, a*, b* within the main colour
	SE      [3]float64 // standard error of Lab from the scatter between parts of the bloom
	Shares  []Share    // one to three colours, the largest first
	Blend   bool       // Shares are the two colours that the petals shade between; Lab is the middle of all pixels
	Used    int        // number of pixels that Lab is the centre of
	Clipped float64    // share of the petal pixels with a channel too bright to read, which is estimated from the others
	Guessed float64    // uncertainty of Lab from cut-off channels, Delta E 2000: if all these pixels counted, or another colour led
	Shadow  float64    // share left out as in deep shadow
	Shaded  float64    // Delta E 2000 from Lab to what it would be with deep shadow included
	Patches [2]float64 // range of L* between parts of the bloom, and within a part
	Rings   []Ring     // from the middle to the rim
	Zones   []Zone     // parts that differ in colour; nil: none do
	Browned float64    // share left out as withered
	Faded   bool       // petals are bleached towards their tips
	White   float64    // share brighter than a white card would be: a sign that the light was judged wrong

	floors []float64 // the least luminance that counts, for each of Shares
}

// Share is one colour and its share of the petals, those in deep shadow included.
type Share struct {
	Lab   cie.Lab
	Share float64
}

// sample is one readable petal pixel.
type sample struct {
	lab   cie.Lab
	u, v  float64 // a* and b* without shading: nearly the same for all luminances of a colour; see flat
	reach float64 // distance from the middle, 0, to the rim, 1
	cell  int     // part of the bloom
	at    int     // working pixel
	fate  Fate
	cut   bool // a channel was surely cut off
}

// mostSamples is about the largest number of pixels read: more pixels of the same bloom add nothing.
const mostSamples = 4000

// Colors measures the petals. It returns [ErrNoBloom] when too few of them can
// be read.
func (b *Bloom) Colors() (*Colors, error) {
	all, out := b.samples(0)
	px := make([]*sample, len(all))
	for i := range all {
		px[i] = &all[i]
	}
	if len(px) < 30 {
		return out, ErrNoBloom
	}
	groups := split(px, 1+out.Clipped)
	main := middle(groups[0])
	total, counts, floors := 0, make([]int, len(groups)), make([]float64, len(groups))
	var all0 []*sample // the main colour's pixels, with those in deep shadow
	for i, g := range groups {
		n := len(g)
		fresh := slices.DeleteFunc(slices.Clone(g), func(p *sample) bool {
			if browned(*p, main) {
				p.fate = Browned
			}
			return p.fate == Browned
		})
		if len(fresh)*10 < n*6 && i == 0 {
			fresh = g // a brown flower
			for _, p := range g {
				p.fate = Used
			}
		}
		out.Browned += float64(n-len(fresh)) / float64(len(px))
		if i == 0 {
			all0 = fresh
		}
		groups[i], floors[i] = lit(fresh)
		out.Shadow += float64(len(fresh)-len(groups[i])) / float64(len(px))
		counts[i] = len(fresh)
		total += len(fresh)
	}
	if len(groups[0]) == 0 {
		return out, ErrNoBloom
	}
	kept := groups[:0]
	for i, g := range groups {
		if len(g) == 0 || float64(counts[i]) < colorShare/2*float64(total) {
			continue // this colour was that of withered petals
		}
		kept, out.floors = append(kept, g), append(out.floors, floors[i])
		out.Shares = append(out.Shares, Share{middle(uncut(g)), float64(counts[i]) / float64(total)})
	}
	groups = kept
	whole := middle(groups[0])
	groups[0] = uncut(groups[0])
	out.Used = len(groups[0])
	out.Lab, out.Spread = center(groups[0])
	out.Guessed, out.Shaded = cie.DeltaE2000(out.Lab, whole), cie.DeltaE2000(out.Lab, middle(uncut(all0)))
	for _, s := range out.Shares[1:] { // where much is cut off, it is also uncertain which of two colours is the larger
		much := min(1, out.Clipped/manyCut)
		out.Guessed = math.Hypot(out.Guessed, much*much*math.Sqrt(s.Share)*cie.DeltaE2000(out.Lab, s.Lab))
	}
	if len(groups) == 1 {
		out.blend(all0)
	}
	out.SE = cellError(groups[0])
	out.Patches = partRanges(groups[0])
	sound := slices.Concat(groups...)
	out.Rings = rings(sound)
	out.Zones = b.zones(sound, out.Rings, out.Lab)
	out.Faded = len(groups) == 1 && faded(out.Rings)
	for _, p := range px {
		if p.lab.L > 101 {
			out.White += 1 / float64(len(px))
		}
	}
	return out, nil
}

// samples returns the readable pixels a little inside the mask, on a grid of
// every step-th row and column; step 0 gives about mostSamples. Of the
// Colors it returns, only Clipped is filled in.
func (b *Bloom) samples(step int) ([]sample, *Colors) {
	s := b.scene
	W, H := s.im.W, s.im.H
	inset := min(max(1, int(b.Radius*0.02)), 4)
	out := &Colors{}
	if step == 0 {
		step = max(1, int(math.Ceil(math.Sqrt(float64(b.Pixels)/mostSamples))))
	}
	cell := max(4, b.Radius/5)
	px := make([]sample, 0, b.Pixels/(step*step)*5/4)
	type short struct {
		at   int // in px
		v    [3]float64
		bits uint8
	}
	var cuts []short
	petal := 0
	x0, y0, x1, y1 := b.box[0], b.box[1], b.box[2], b.box[3]
	x0 += ((inset-x0)%step + step) % step // the same grid wherever the bloom lies
	y0 += ((inset-y0)%step + step) % step
	for y := max(y0, inset); y < min(y1, H-inset); y += step {
		for x := max(x0, inset); x < min(x1, W-inset); x += step {
			i := y*W + x
			if b.Mask[i] == 0 {
				continue
			}
			if b.Mask[i-inset] == 0 || b.Mask[i+inset] == 0 || b.Mask[i-inset*W] == 0 || b.Mask[i+inset*W] == 0 {
				continue
			}
			petal++
			p := s.im.Pix[3*i:]
			v := s.native(p)
			bits := s.cutAt(i, v)
			q := sample{lab: s.labOf(p[0], p[1], p[2]), at: i, reach: b.reach(float64(x), float64(y)),
				cell: int(float64(y)/cell)*4096 + int(float64(x)/cell)}
			if bits != 0 {
				cuts = append(cuts, short{len(px), v, bits})
			}
			px = append(px, q)
		}
	}
	if len(cuts) == 0 {
		// nothing to restore
	} else if r, ok := s.restorer(px); ok {
		back := s.im.Native.Inverse()
		for _, c := range cuts {
			v, sure := r.restore(c.v, c.bits)
			px[c.at].lab = labOfNative(v, back, s.gains)
			px[c.at].cut = max(c.v[0], c.v[1], c.v[2]) > surelyCut
			if !sure {
				px[c.at].fate = Clipped
			}
		}
	} else {
		px = px[:0] // too few pixels are not cut off
	}
	for i := range px {
		c := px[i].lab
		k := 60 / (c.L + 16)
		px[i].u, px[i].v = c.A*k, c.B*k
	}
	out.Clipped = float64(len(cuts)) / float64(max(1, petal))
	return px, out
}

// restorer returns a restorer made from all samples.
func (s *scene) restorer(px []sample) (*restorer, bool) {
	all, which := make([][3]float64, len(px)), make([]uint8, len(px))
	for i := range px {
		all[i] = s.native(s.im.Pix[3*px[i].at:])
		which[i] = s.cutAt(px[i].at, all[i])
	}
	return newRestorer(all, which, s.white())
}

// white returns the native pixel of a white that reflects all light, plus 3 % for
// the card's error: no petal is brighter in any channel, unless more
// light falls on it than on the card.
func (s *scene) white() [3]float64 {
	const k = 1.03
	x, y, z := s.im.Native.Apply(k/s.gains[0], k/s.gains[1], k/s.gains[2])
	return [3]float64{x, y, z}
}

// deepShadow is the share of the well-lit petals' luminance below which a petal
// pixel counts as in deep shadow: a crevice, the folded middle of a
// double. Our own choice: a little under three stops. Real petals darken gradually from the lit ones into the deepest fold,
// with the same hue and saturation, so any such limit is a convention; [Colors.Shaded] says how much depends on it.
const deepShadow = 0.13

// lit returns the pixels of one colour that are not in deep shadow, and the least
// luminance of these. Well lit is what the brightest fifth has at least.
func lit(px []*sample) ([]*sample, float64) {
	if len(px) == 0 {
		return px, 0
	}
	l := make([]float64, len(px))
	for i, p := range px {
		l[i] = p.lab.XYZ().Y
	}
	floor := deepShadow * robust.Nth(slices.Clone(l), len(l)*4/5)
	out := make([]*sample, 0, len(px))
	for i, p := range px {
		if l[i] >= floor {
			out = append(out, p)
		} else {
			p.fate = Shadow
		}
	}
	return out, floor
}

// axes return L*, a* and b* of a colour.
var axes = [3]func(cie.Lab) float64{
	func(c cie.Lab) float64 { return c.L }, func(c cie.Lab) float64 { return c.A }, func(c cie.Lab) float64 { return c.B },
}

// center returns the middle, and the robust standard deviation of each of L*, a*, b*.
func center(px []*sample) (m cie.Lab, sd [3]float64) {
	m = middle(px)
	v := scratch(len(px))
	defer give(v)
	for c, of := range axes {
		for i, p := range px {
			v[i] = math.Abs(of(p.lab) - of(m))
		}
		sd[c] = 1.4826 * robust.Median(v)
	}
	return m, sd
}

// middle returns the median of L*, and the means of the middle thirds of a* and b*:
// JPEG quantises chroma coarsely, so that the median of an even petal would jump
// from step to step; lightness is quantised more finely.
func middle(px []*sample) (m cie.Lab) {
	v := scratch(len(px))
	defer give(v)
	all := func(of func(cie.Lab) float64) []float64 {
		for i, p := range px {
			v[i] = of(p.lab)
		}
		return v
	}
	m.L = min(robust.Median(all(axes[0])), 100) // lighter than white means that the light was judged wrong, which is flagged
	m.A, m.B = robust.MiddleThird(all(axes[1])), robust.MiddleThird(all(axes[2]))
	return m
}

// spare holds buffers for reuse.
var spare = sync.Pool{New: func() any { return new([]float64) }}

// scratch returns a buffer of n numbers from spare; give returns it there.
func scratch(n int) []float64 { return resized(*spare.Get().(*[]float64), n) }

func give(v []float64) { spare.Put(&v) }

// cellError returns the standard error of the centre from the scatter of the
// middles of cells a tenth of the bloom wide. Pixels within a cell count as
// one observation, and half the cells as independent, as neighbours are alike.
func cellError(px []*sample) [3]float64 {
	cells := map[int][]*sample{}
	for _, p := range px {
		cells[p.cell] = append(cells[p.cell], p)
	}
	var se [3]float64
	var v [3][]float64
	for _, g := range cells {
		if len(g) < 4 {
			continue
		}
		m := middle(g)
		v[0], v[1], v[2] = append(v[0], m.L), append(v[1], m.A), append(v[2], m.B)
	}
	for c := range v {
		n := float64(len(v[c]))
		if n < 3 {
			se[c] = 2 // too few parts to tell: a guess, on the safe side
			continue
		}
		m := robust.Median(v[c])
		for i := range v[c] {
			v[c][i] = math.Abs(v[c][i] - m)
		}
		// 1.25: standard error of a median over that of a mean.
		se[c] = 1.25 * 1.4826 * robust.Median(v[c]) / math.Sqrt(n/2)
	}
	return se
}
