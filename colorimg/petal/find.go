package petal

import (
	"cmp"
	"errors"
	"image"
	"math"
	"slices"

	"hueward/colorimg/cie"
	"hueward/colorimg/photo"
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
	Score  float64    // 0 to 1: how clearly it stands out
	Rival  float64    // score of the next bloom elsewhere over this one's; 0 when none, or a point was given
	Edge   float64    // share of the outline that lies on the frame
	Disc   bool       // disc florets were found and left out

	scene *scene
	box   [4]int           // x0, y0, x1, y1: working pixels within which the head lies
	rim   [sectors]float64 // how far the head reaches, by direction
}

// Accept is the score from which a bloom is taken without a word, Doubt the
// one below which none is: leaves and stones on bare soil reach 0.190, drawn
// blooms that are found right 0.31 and more but for pale green ones.
const (
	Accept = 0.22
	Doubt  = 0.205
)

// Find finds the main bloom of im, whose light gains corrects. It returns
// [ErrNoBloom] when nothing stands out.
func Find(im *photo.Linear, gains [3]float64, opt *Options) (*Bloom, error) {
	if opt == nil {
		opt = &Options{}
	}
	s := newScene(im, gains, opt.Skip, coarseSide, image.Rect(0, 0, im.W, im.H))
	s.reduce()
	s.tell()
	var best *head
	rival := 0.0
	if opt.Bloom != nil {
		best = s.headAt(opt.Bloom[0], opt.Bloom[1])
	} else {
		best, rival = s.mainHead()
	}
	if best == nil || best.score < Doubt && opt.Bloom == nil {
		return nil, ErrNoBloom
	}
	x0, y0, x1, y1 := s.window(best.x, best.y, 2.2*best.r)
	wx0, wy0 := s.toWork(float64(x0), float64(y0))
	wx1, wy1 := s.toWork(float64(x1), float64(y1))
	fine := newScene(im, gains, opt.Skip, fineSide, image.Rect(int(wx0), int(wy0), int(wx1)+1, int(wy1)+1))
	fine.palette, fine.like = s.palette, s.like
	fine.tell()
	if best = fine.redraw(s, best); best == nil {
		return nil, ErrNoBloom
	}
	s = fine
	b := &Bloom{scene: s, Score: best.score, Rival: rival, Edge: best.edge}
	x, y := s.toWork(best.x, best.y)
	b.Center = [2]float64{x, y}
	b.Radius = best.r * s.scale
	disc := s.disc(best)
	b.Disc = disc != nil
	s.cutOff = opt.CutOff
	b.paint(best, disc)
	if len(opt.Strokes) > 0 {
		b.touchUp(opt.Strokes, opt.Skip)
	}
	if b.Pixels < 40 {
		return nil, ErrNoBloom
	}
	b.findRim()
	return b, nil
}

// headAt is the head around a given point, tried at several sizes.
func (s *scene) headAt(x, y float64) *head {
	mx, my := s.toMap(x, y)
	short := float64(min(s.w, s.h))
	var tries []spot
	for _, f := range [...]float64{0.07, 0.11, 0.17, 0.26, 0.4, 0.6} {
		tries = append(tries, spot{x: mx, y: my, r: f * short})
	}
	heads := s.settleAll(tries, true)
	for _, h := range heads {
		if d := math.Hypot(h.x-mx, h.y-my) / h.r; d > 1.1 {
			h.score *= math.Exp(1.1 - d)
		}
	}
	return s.whole(heads)
}

// mainHead is the best head anywhere, and how near the next comes to it.
func (s *scene) mainHead() (*head, float64) {
	short := float64(min(s.w, s.h))
	sal := s.salience()
	heads := s.settleAll(s.spots(sal, 5), false)
	s.prefer(heads, sal)
	slices.SortStableFunc(heads, func(a, b *head) int { return cmp.Compare(b.score, a.score) })
	// What stands out may be no more than the disc florets: look for more
	// around the two best.
	var larger []spot
	for i, h := range heads {
		if len(larger) >= 4 {
			break
		}
		if slices.ContainsFunc(heads[:i], func(o *head) bool { return o.holds(h) }) {
			continue
		}
		for _, f := range [...]float64{2.2, 3.8} {
			if h.r*f < 0.7*short {
				larger = append(larger, spot{x: h.x, y: h.y, r: h.r * f})
			}
		}
	}
	more := s.settleAll(larger, false)
	s.prefer(more, sal)
	heads = append(heads, more...)
	best := s.whole(heads)
	rival := 0.0
	for _, h := range heads {
		if h != best && math.Hypot(h.x-best.x, h.y-best.y) > h.r+0.8*best.r {
			rival = max(rival, h.score/best.score)
		}
	}
	return best, rival
}

// prefer favours heads that are large, near the middle of the frame and of a
// colour that its rim has not.
func (s *scene) prefer(heads []*head, sal []float64) {
	short := float64(min(s.w, s.h))
	for _, h := range heads {
		d := math.Hypot(h.x/float64(s.w)-0.5, h.y/float64(s.h)-0.5)
		own := 0.0
		for i, m := range h.mask {
			if m {
				own += sal[i] / float64(h.area)
			}
		}
		h.score *= math.Pow(min(1, h.r/short/0.25), 0.6) * (1 - 0.4*d) * min(1, 0.4+1.2*own)
	}
}

// inFocus lowers the score of heads whose outline is blurred beside the
// sharpest: they lie before or behind what was photographed.
func inFocus(heads []*head) {
	sharpest := 0.0
	for _, h := range heads {
		sharpest = max(sharpest, h.sharp)
	}
	for _, h := range heads {
		if h.sharp > 0 {
			h.score *= max(0.2, math.Pow(min(1, h.sharp/sharpest), 4))
		}
	}
}

// whole is the best of the heads, or the larger one that it is a part of: the
// disc florets and the ring around them stand out by themselves too.
func (s *scene) whole(heads []*head) *head {
	inFocus(heads)
	var best *head
	for _, h := range heads {
		if best == nil || h.score > best.score {
			best = h
		}
	}
	if best == nil {
		return nil
	}
	top := best.score
	for {
		var larger *head
		for _, h := range heads {
			if float64(h.area) > 1.2*float64(best.area) && h.holds(best) && h.score > s.wholeShare(best, h)*top &&
				(larger == nil || h.score > larger.score) {
				larger = h
			}
		}
		if larger == nil {
			return best
		}
		best = larger
	}
}

// wholeShare is how much of a part's score the whole must have: less when the
// whole is cut out cleanly, so that nothing else can be meant, or when the
// part sits in its middle as disc florets do and no leaves have been added.
func (s *scene) wholeShare(part, h *head) float64 {
	green := 0
	for i, m := range h.mask {
		if m && !part.mask[i] && LeafGreen(s.lab[i]) {
			green++
		}
	}
	added := h.area - part.area
	weak, overlap, solid := h.parts[1], h.parts[2], h.parts[3]
	if overlap < 0.12 && weak < 0.12 && solid > 0.6 && h.edge < 0.25 && (green*2 < added || LeafGreen(s.middle(part))) {
		return 0.4
	}
	if part.r < 0.65*h.r && math.Hypot(part.x-h.x, part.y-h.y) < 0.5*h.r && overlap < 0.6 && h.edge < 0.25 && green*4 < added {
		return 0.65
	}
	return 0.92
}

// middle is the mean colour of a head.
func (s *scene) middle(h *head) cie.Lab {
	var m cie.Lab
	n := float64(max(1, h.area))
	for i, in := range h.mask {
		if in {
			m.L, m.A, m.B = m.L+s.lab[i].L/n, m.A+s.lab[i].A/n, m.B+s.lab[i].B/n
		}
	}
	return m
}

// holds reports whether nearly all of o lies in h.
func (h *head) holds(o *head) bool {
	both := 0
	for i, m := range o.mask {
		if m && h.mask[i] {
			both++
		}
	}
	return both*10 >= o.area*9
}
