package petal

import (
	"math"
	"slices"

	"hueward/colorimg/cie"
)

// head is a flower head on the map: petals and disc florets together.
type head struct {
	x, y, r float64 // middle and radius of a disc of the same area
	area    int
	mask    []bool     // w × h
	score   float64    // 0 to 1
	parts   [4]float64 // mean colour step across the outline, share of it that is weak, overlap of colours inside and around, area over hull
	sharp   float64    // share of the outline on which the picture is in focus; 0: no telling
	edge    float64    // share of its outline that lies on the frame
}

// draft is a head that is being settled on.
type draft struct {
	head
	at    spot
	fixed bool // the middle is given
	done  bool // more rounds would hardly change it
	lost  bool // nothing is left
}

// rounds is how often a draft's colours and outline follow each other at most.
const rounds = 4

// settle takes the draft one round on: from the disc it begins as, the tallies
// of colours inside and around, and the area they imply, follow each other
// until they settle.
func (s *scene) settle(h *draft, round int) {
	k := len(s.palette)
	in, out := make([]float64, k), make([]float64, k)
	x0, y0, x1, y1 := s.window(h.x, h.y, 2.1*h.r)
	r2 := h.r * h.r
	for yy := y0; yy < y1; yy++ {
		from := yy*s.w + x0
		skip := s.skip[from : yy*s.w+x1]
		label, mask := s.label[from:][:len(skip)], h.mask[from:][:len(skip)]
		dy := float64(yy) - h.y
		for i := range skip {
			if skip[i] {
				continue
			}
			dx := float64(i+x0) - h.x
			d := dx*dx + dy*dy
			switch {
			case d >= 4*r2:
			case round == 0:
				if d < 0.75*0.75*r2 {
					in[label[i]]++
				} else if d > 1.2*1.2*r2 {
					out[label[i]]++
				}
			case !mask[i]:
				out[label[i]]++
			case d < 1.7*1.7*r2:
				in[label[i]]++
			}
		}
	}
	logit := s.evidence(in, out)
	d := newDrawing()
	defer d.done()
	d.field(s, logit, x0, y0, x1, y1, &h.head)
	cx, cy := h.x, h.y
	if h.fixed {
		cx, cy = h.at.x, h.at.y
	}
	if h.lost = !d.connect(h.mask, logit, cx, cy, h.r); h.lost {
		return
	}
	before := h.area
	h.measure(h.mask, s.w, s.h, x0, y0, x1, y1)
	h.lost = h.r < 1.4
	h.done = round == rounds-1 || round > 0 && abs(h.area-before)*200 < h.area
}

// settleAll settles the spots, on all processors, and returns what is left, in
// their order, none of them twice.
func (s *scene) settleAll(spots []spot, fixed bool) []*head {
	drafts := make([]*draft, len(spots))
	for i, at := range spots {
		drafts[i] = &draft{head: head{x: at.x, y: at.y, r: at.r, mask: make([]bool, s.w*s.h)}, at: at, fixed: fixed}
	}
	for round := range rounds {
		parallel(len(drafts), func(i int) {
			if !drafts[i].done {
				s.settle(drafts[i], round)
			}
		})
		kept := drafts[:0]
		for _, h := range drafts {
			if !h.lost && !slices.ContainsFunc(kept, h.twin) {
				kept = append(kept, h)
			}
		}
		drafts = kept
	}
	parallel(len(drafts), func(i int) { s.rate(&drafts[i].head) })
	heads := make([]*head, len(drafts))
	for i, h := range drafts {
		heads[i] = &h.head
	}
	return heads
}

// twin reports whether two drafts have come to be the same.
func (h *draft) twin(o *draft) bool {
	return abs(h.area-o.area)*50 <= o.area && distance(h.x-o.x, h.y-o.y) < 0.03*o.r
}

// redraw draws a head found on the coarse map c on the map s.
func (s *scene) redraw(c *scene, found *head) *head {
	n := s.w * s.h
	mask := make([]bool, n)
	k := len(s.palette)
	in, out := make([]float64, k), make([]float64, k)
	fx, fy := float64(s.w)/float64(c.w), float64(s.h)/float64(c.h)
	h := &head{x: (found.x+0.5)*fx - 0.5, y: (found.y+0.5)*fy - 0.5, r: found.r * math.Sqrt(fx*fy)}
	x0, y0, x1, y1 := s.window(h.x, h.y, 2.1*h.r)
	for y := y0; y < y1; y++ {
		cy := min(c.h-1, int((float64(y)+0.5)/fy))
		for x := x0; x < x1; x++ {
			i := y*s.w + x
			if s.skip[i] {
				continue
			}
			if mask[i] = found.mask[cy*c.w+min(c.w-1, int((float64(x)+0.5)/fx))]; mask[i] {
				in[s.label[i]]++
			} else if distance(float64(x)-h.x, float64(y)-h.y) < 2*h.r {
				out[s.label[i]]++
			}
		}
	}
	logit := s.evidence(in, out)
	d := newDrawing()
	defer d.done()
	d.field(s, logit, x0, y0, x1, y1, h)
	if !d.connect(mask, logit, h.x, h.y, h.r) {
		return nil
	}
	h.measure(mask, s.w, s.h, x0, y0, x1, y1)
	h.mask, h.score, h.edge = mask, found.score, found.edge
	return h
}

// window is the square of half side half around (x, y), within the map.
func (s *scene) window(x, y, half float64) (x0, y0, x1, y1 int) {
	return max(0, int(x-half)), max(0, int(y-half)), min(s.w, int(x+half)+2), min(s.h, int(y+half)+2)
}

// evidence is the log odds of each palette entry to be bloom.
func (s *scene) evidence(in, out []float64) []float64 {
	l := s.odds(in, out, 0.002)
	// Leaves touch petals everywhere. They are bloom only when the bloom is
	// mostly of their colour.
	green := 0.0
	for j, n := range in {
		if LeafGreen(s.palette[j]) {
			green += n / max(total(in), 1)
		}
	}
	if green < 0.5 {
		for j := range l {
			if LeafGreen(s.palette[j]) {
				l[j] = min(l[j], -2.5)
			}
		}
	}
	return l
}

// odds is the log odds of each palette entry between two tallies, each spread
// to the entries like it. The tallies count alike, however many pixels they
// hold. floor is the share that an entry met in neither is given in both.
func (s *scene) odds(in, out []float64, floor float64) []float64 {
	ni, no := max(total(in), 1), max(total(out), 1)
	si, so := s.spreadTally(in), s.spreadTally(out)
	l := make([]float64, len(in))
	for j := range l {
		l[j] = min(max(math.Log((si[j]/ni+floor)/(so[j]/no+floor)), -4), 4)
	}
	return l
}

func total(tally []float64) (n float64) {
	for _, v := range tally {
		n += v
	}
	return n
}

// LeafGreen reports whether the colour is one of leaves: common practice, no
// source; leaves lie near hue 110 to 145 with a chroma of 15 to 45, and are darker
// than pale green petals.
func LeafGreen(c cie.Lab) bool {
	h := c.LCh()
	return h.H > 102 && h.H < 165 && h.C > 9 && h.L < 70
}

// measure sets middle, radius, area and the share on the frame from the mask.
func (h *head) measure(mask []bool, w, ht, x0, y0, x1, y1 int) {
	var all, sumX, sumY, rim int
	for y := y0; y < y1; y++ {
		n := 0
		for x, on := range mask[y*w+x0 : y*w+x1] {
			if on {
				n++
				sumX += x + x0
			}
		}
		all += n
		sumY += n * y
		if y == 0 || y == ht-1 {
			rim += n
			continue
		}
		for _, x := range [2]int{0, w - 1} {
			if x >= x0 && x < x1 && mask[y*w+x] {
				rim++
			}
		}
	}
	n := float64(all)
	h.area = all
	if n == 0 {
		h.r = 0
		return
	}
	h.x, h.y, h.r = float64(sumX)/n, float64(sumY)/n, math.Sqrt(n/math.Pi)
	h.edge = float64(rim) / (2 * math.Pi * h.r)
}

// distance is the length of (x, y); unlike math.Hypot it may overflow, and is
// several times as fast.
func distance(x, y float64) float64 { return math.Sqrt(x*x + y*y) }

func abs(v int) int { return max(v, -v) }
