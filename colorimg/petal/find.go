package petal

import (
	"errors"
	"math"
	"slices"

	"hueward/colorimg/cie"
	"hueward/colorimg/petal/net"
	"hueward/colorimg/photo"
	"hueward/colorimg/robust"
)

// ErrNoBloom is returned when nothing in the picture stands out as a bloom.
var ErrNoBloom = errors.New("no bloom found")

// Options says how to look. Nil and the zero value are the usual case.
type Options struct {
	Bloom *[2]float64         // a working pixel on the bloom; nil: the main bloom is looked for
	Skip  func(x, y int) bool // working pixels that are neither bloom nor background: card, tag

	// CutOff says which of each working pixel's own channels are too bright to
	// be read, a bit each, red the first; nil: those near 1. See [CutOff].
	CutOff []uint8

	Strokes []Stroke // painted over what was found
}

// Bloom is the main bloom of a photo.
type Bloom struct {
	Mask   []uint8    // working W × H: 255 where petal
	Head   []uint8    // working W × H: 255 where petal or disc florets
	Pixels int        // petal pixels of Mask
	Center [2]float64 // middle of the head, working pixels
	Radius float64    // of a disc of the head's area, working pixels
	Sure   float64    // expected intersection over union of Mask and the true petals, 0 to 1
	Rival  float64    // likelihood that another bloom is meant, relative to this one; 0: there is none, or a point was given
	Doubt  float64    // Delta E 2000 between what is surely petal and all that may be
	Sharp  float64    // sharpness of the outline: 0.3 and more in focus, 0.1 out of focus
	Edge   float64    // share of the outline that lies on the picture's edge
	Disc   bool       // disc florets were found and left out

	scene *scene
	prob  *chances
	box   [4]int           // bounds of the head in working pixels: x0, y0, x1, y1, the last two outside
	rim   [sectors]float64 // distance from Center to the head's rim, by direction
}

// Sizes of the network's picture, in its pixels: of the first look at the whole
// picture (a picture that is not square has the same area), and of the close
// look at the bloom. As in training: learn/scenes.py.
const (
	wholeSide = 96
	closeSide = 144
)

// bloomShare is the share of the close look's side that the bloom takes.
const bloomShare = 0.72

// leastChance is the least probability of petals, averaged over a few pixels of the
// first look, of a bloom. Our own choice.
const leastChance = 0.5

// leastSure is the [Bloom.Sure] below which no bloom was found, unless the user pointed at
// one: soil with leaves reaches 0.41.
const leastSure = 0.5

// Accept is the [Bloom.Sure] from which an outline is taken without a word.
const Accept = 0.84

// Find finds the main bloom of im, whose light gains corrects. It returns
// [ErrNoBloom] when nothing stands out.
func Find(im *photo.Linear, gains [3]float64, opt *Options) (*Bloom, error) {
	if opt == nil {
		opt = &Options{}
	}
	s := newScene(im, gains)
	s.cutOff = opt.CutOff
	said := saying(opt)
	near, found := s.seek(opt.Bloom, said, opt.Skip)
	if found == nil {
		return nil, ErrNoBloom
	}
	sure := 1.0
	if opt.Bloom != nil {
		sure = near.sureness() // a second answer is no surer than the first
		near, found = s.around(near, found, said, opt)
	}
	if opt.Bloom != nil && near.sureness() < leastSure {
		near.take(opt.Bloom) // whatever bloom is there
		sure = 1
	}
	b := &Bloom{scene: s, prob: near}
	if len(opt.Strokes) == 0 { // else these say what is meant
		near.oneDisc(found.at)
		b.Rival = found.rival // 0 where a point was given
	}
	b.draw(opt.Skip)
	if len(opt.Strokes) > 0 {
		b.touchUp(opt.Strokes, opt.Skip)
	}
	if b.Pixels < 40 {
		return nil, ErrNoBloom
	}
	b.measure()
	if b.Sure = min(sure, near.sureness()); b.Sure < leastSure && opt.Bloom == nil && len(opt.Strokes) == 0 {
		return nil, ErrNoBloom
	}
	b.Sharp = b.sharpness()
	b.findRim()
	return b, nil
}

// seek looks for the bloom at a working pixel, or for the main one, in the whole picture and then closely. found is nil when
// there is none.
func (s *scene) seek(at *[2]float64, said sayings, skip func(x, y int) bool) (near *chances, found *candidate) {
	first := s.look(s.wholeView(), said, skip, 0)
	first.obey(at)
	if found = first.bloom(s, at); found == nil {
		return nil, nil
	}
	if at == nil && len(said.in) == 0 {
		said.in = append(said.in, mark{found.at, 0}) // from here on this one is meant
	}
	near = s.look(s.closeView(found.box), said, skip, lookAgain)
	near.obey(at)
	if again := near.bloom(s, &found.at); again != nil && near.cutShort(again) {
		near = s.look(s.closeView(again.box), said, skip, lookAgain)
		near.obey(at)
	}
	return near, found
}

// candidate is what the first look takes for the meant bloom.
type candidate struct {
	at    [2]float64 // a working pixel on its petals
	box   [4]float64 // x0, y0, x1, y1 in working pixels
	rival float64
}

// bloom is the bloom at a working pixel, or the likeliest when that is nil; nil when
// there is none.
func (p *chances) bloom(s *scene, at *[2]float64) *candidate {
	meant := p.headField()
	best, most := 0, float32(0)
	if at != nil {
		x, y := p.toView(at[0], at[1])
		i, j := min(max(int(x+0.5), 0), p.w-1), min(max(int(y+0.5), 0), p.h-1)
		best = j*p.w + i
		// The likeliest pixel nearby: a finger is not exact.
		for v := max(0, j-3); v < min(p.h, j+4); v++ {
			for u := max(0, i-3); u < min(p.w, i+4); u++ {
				d := float32((u-i)*(u-i)+(v-j)*(v-j)) * 0.02
				if c := meant[v*p.w+u] - d; c > most {
					best, most = v*p.w+u, c
				}
			}
		}
	} else {
		best, most = p.likeliest()
		if most < leastChance {
			return nil
		}
	}
	piece := pieces(meant, p.w, p.h)
	mass := sizes(piece, func(i int) float64 { return float64(meant[i]) })
	own := piece[best]
	c := &candidate{}
	c.at[0], c.at[1] = p.toWork(float64(best%p.w), float64(best/p.w))
	if own == 0 { // nothing there is likely: a square as the point's own
		r := 0.15 * float64(min(p.w, p.h)) * p.scale
		c.box = [4]float64{c.at[0] - r, c.at[1] - r, c.at[0] + r, c.at[1] + r}
		return c
	}
	in := make([]bool, len(piece))
	for i, k := range piece { // the petals of one bloom may lie apart
		in[i] = k != 0 && (k == own || at != nil && mass[k] > 0.02*mass[own])
	}
	c.box = p.boxOf(in)
	if at != nil {
		return c
	}
	c.rival = p.rival(s, piece, own, mass)
	return c
}

// likeliest returns the pixel that most likely shows petals of the meant bloom, with many such pixels
// around it, and its probability. Where the network sees blooms but not which one is meant, it is the likeliest
// pixel of any bloom, preferably near the middle.
func (p *chances) likeliest() (at int, chance float32) {
	amid := smoothed(p.p[net.Petal], p.w, p.h, bloomReach)
	for i, v := range p.p[net.Petal] {
		if v <= 0.5 {
			amid[i] = 0
		}
	}
	at, _ = peak(amid)
	// That pixel may be a speck: take the surest place near it, with 0.2 less for ten pixels of distance.
	u, v, sure, most := at%p.w, at/p.w, smoothed(p.p[net.Petal], p.w, p.h, 2), float32(math.Inf(-1))
	for y := max(0, v-bloomReach); y <= min(p.h-1, v+bloomReach); y++ {
		for x := max(0, u-bloomReach); x <= min(p.w-1, u+bloomReach); x++ {
			i, far := y*p.w+x, float32((x-u)*(x-u)+(y-v)*(y-v))
			if c := sure[i] - far*0.002; amid[i] > 0 && c > most {
				at, chance, most = i, sure[i], c
			}
		}
	}
	if chance >= leastChance {
		return at, chance
	}
	any := make([]float32, p.w*p.h)
	for i := range any {
		x, y := float64(i%p.w)/float64(p.w)-0.5, float64(i/p.w)/float64(p.h)-0.5
		any[i] = (p.p[net.Petal][i] + p.p[net.Other][i]) * float32(1-0.4*math.Hypot(x, y))
	}
	at, chance = peak(smoothed(any, p.w, p.h, 2))
	return at, chance - (leastAny - leastChance)
}

// peak returns the largest value and its index.
func peak(v []float32) (at int, most float32) {
	most = slices.Max(v)
	return slices.Index(v, most), most
}

// bloomReach is the radius, in pixels of the first look, over which probabilities are averaged to find the
// middle of a bloom among narrow strips and specks of petals. 8 to 14 do as well.
const bloomReach = 10

// leastAny takes the place of leastChance where the network does not say which
// bloom is meant. Our own choice.
const leastAny = 0.6

// rival returns the likelihood that another bloom is the meant one, relative to
// this one's: the largest of the next piece's mass, the probability of other blooms within this
// piece, and the size of another area of the petals' colour.
func (p *chances) rival(s *scene, piece []int32, own int32, mass []float64) float64 {
	next := 0.0
	for k, m := range mass {
		if k != 0 && int32(k) != own {
			next = max(next, m/mass[own])
		}
	}
	other, here := 0.0, 0.0
	for i, k := range piece {
		if k == own {
			other += float64(p.p[net.Other][i])
			here++
		}
	}
	return max(next, other/max(here-other, 1), p.asLarge(s, piece, own)-0.1)
}

// alike is the largest difference from the petals' colour, as apart2 measures it,
// of another bloom of the same kind. Our own choice.
const alike = 9.0

// asLarge returns the size of the largest other area of the petals' colour, relative
// to the bloom's; pixels far from the picture's middle count less.
func (p *chances) asLarge(s *scene, piece []int32, own int32) float64 {
	colors := s.cellColors(p)
	var at [3][]float64
	for i, k := range piece {
		if k == own && p.p[net.Petal][i] > surely {
			at[0], at[1], at[2] = append(at[0], colors[i].L), append(at[1], colors[i].A), append(at[2], colors[i].B)
		}
	}
	if len(at[0]) < 8 {
		return 0
	}
	petals := cie.Lab{L: robust.Median(at[0]), A: robust.Median(at[1]), B: robust.Median(at[2])}
	other := make([]float32, len(piece))
	for i, c := range colors {
		if piece[i] != own && apart2(c, petals) < alike*alike && p.p[net.Petal][i]+p.p[net.Disc][i] < 0.5 {
			other[i] = 1
		}
	}
	weight := func(i int) float64 {
		x, y := float64(i%p.w)/float64(p.w)-0.5, float64(i/p.w)/float64(p.h)-0.5
		return max(0.2, 1-0.6*math.Hypot(x, y))
	}
	most := slices.Max(append(sizes(pieces(other, p.w, p.h), weight)[1:], 0))
	return most / max(sizes(piece, weight)[own], 1)
}

// obey makes the bloom at a working pixel that the user pointed at the meant one, where
// the network takes most of what is near it for another bloom.
func (p *chances) obey(at *[2]float64) {
	if at == nil {
		return
	}
	x, y := p.toView(at[0], at[1])
	petal, other := 0.0, 0.0
	for k := range p.p[net.Petal] {
		dx, dy := float64(k%p.w)-x, float64(k/p.w)-y
		w := math.Exp(-(dx*dx + dy*dy) / (2 * 36))
		petal, other = petal+w*float64(p.p[net.Petal][k]), other+w*float64(p.p[net.Other][k])
	}
	if other >= petal {
		p.take(at)
	}
}

// take makes the bloom at a working pixel the meant one, if there is any.
func (p *chances) take(at *[2]float64) {
	bloom := p.headField()
	for i, v := range p.p[net.Other] {
		bloom[i] += v
	}
	x, y := p.toView(at[0], at[1])
	i, j := int(math.Round(x)), int(math.Round(y))
	if i < 0 || j < 0 || i >= p.w || j >= p.h {
		return
	}
	piece := pieces(bloom, p.w, p.h)
	own := piece[j*p.w+i]
	for k, q := range piece {
		if q == own && own != 0 {
			p.p[net.Petal][k] += p.p[net.Other][k]
			p.p[net.Other][k] = 0
		}
	}
}

// measure sets Center, Radius, Edge and Disc.
func (b *Bloom) measure() {
	W, H := b.scene.im.W, b.scene.im.H
	var n, sumX, sumY, rim, disc float64
	for y := b.box[1]; y < b.box[3]; y++ {
		for x := b.box[0]; x < b.box[2]; x++ {
			i := y*W + x
			if b.Head[i] == 0 {
				continue
			}
			n++
			sumX, sumY = sumX+float64(x), sumY+float64(y)
			if x == 0 || y == 0 || x == W-1 || y == H-1 {
				rim++
			}
			if b.Mask[i] == 0 {
				disc++
			}
		}
	}
	b.Center = [2]float64{sumX / n, sumY / n}
	b.Radius = math.Sqrt(n / math.Pi)
	b.Edge = rim / (2 * math.Pi * b.Radius)
	b.Disc = disc > 0.01*n
}
