package petal

// A point that was given says which bloom is meant. It may lie on stamens or on a disc, which the network then takes for
// all of it, with what else looks like a bloom.

// The bloom at a point is looked for without the point as well below a [Bloom.Sure] of lookAlone, and where it is less
// than leastPointed of the frame's shorter side across: a disc or stamens that were pointed at may stand for it. From nearer it
// is looked at below leastTaken of the close look's side. Our own choices.
const (
	lookAlone    = 0.87
	leastPointed = 0.2
	leastTaken   = 0.4
)

// around is what is to be taken in place of what was found at a point: the bloom that is found without the point, where it
// lies around that; a closer look, where what lies apart was taken for its petals.
func (s *scene) around(near *chances, found *candidate, said sayings, opt *Options) (*chances, *candidate) {
	own, seen := near.pieceAt(found.at)
	if len(opt.Strokes) == 0 && (near.sureness() < lookAlone || near.side(own) < leastPointed*float64(min(s.im.W, s.im.H))) {
		alone, main := s.seek(nil, sayings{}, opt.Skip)
		if main != nil && alone.isAround(near, own) {
			main.rival = 0 // a point was given
			return alone, main
		}
	}
	if seen && near.side(own) < leastTaken*near.scale*closeSide {
		nearer := s.look(s.closeView(near.boxOf(own)), said, opt.Skip, lookAgain)
		if nearer.obey(opt.Bloom); nearer.sureness() >= Accept {
			return nearer, found
		}
	}
	return near, found
}

// pieceAt marks the pixels of the view that are of one piece of bloom with a working pixel; where no bloom is seen there,
// that one alone.
func (p *chances) pieceAt(at [2]float64) (in []bool, seen bool) {
	head := p.headField()
	piece := pieces(head, p.w, p.h)
	x, y := p.toView(at[0], at[1])
	k := min(max(int(y+0.5), 0), p.h-1)*p.w + min(max(int(x+0.5), 0), p.w-1)
	in, seen = make([]bool, len(head)), piece[k] != 0
	for i, q := range piece {
		in[i] = seen && q == piece[k] || i == k
	}
	return in, seen
}

// boxOf is where marked pixels lie: x0, y0, x1, y1 in working pixels.
func (p *chances) boxOf(in []bool) (box [4]float64) {
	x0, y0, x1, y1 := p.w, p.h, 0, 0
	for i, v := range in {
		if v {
			x0, y0, x1, y1 = min(x0, i%p.w), min(y0, i/p.w), max(x1, i%p.w), max(y1, i/p.w)
		}
	}
	box[0], box[1] = p.toWork(float64(x0)-0.5, float64(y0)-0.5)
	box[2], box[3] = p.toWork(float64(x1)+0.5, float64(y1)+0.5)
	return box
}

// side is how far marked pixels reach across or down, in working pixels.
func (p *chances) side(in []bool) float64 {
	b := p.boxOf(in)
	return max(b[2]-b[0], b[3]-b[1])
}

// isAround reports whether the bloom in p is to be taken for a piece of bloom in another view: it is sure, has
// four fifths of the piece, and is surer or four times as large.
func (p *chances) isAround(q *chances, piece []bool) bool {
	sure := p.sureness()
	if sure < Accept {
		return false
	}
	head := p.headField()
	in, all, own := 0, 0, 0
	for i, v := range piece {
		if !v {
			continue
		}
		all++
		x, y := p.toView(q.toWork(float64(i%q.w), float64(i/q.w)))
		if x > -0.5 && y > -0.5 && x < float64(p.w)-0.5 && y < float64(p.h)-0.5 && p.at(head, x, y) > 0.5 {
			in++
		}
	}
	for _, v := range head {
		if v > 0.5 {
			own++
		}
	}
	larger := float64(own)*p.scale*p.scale > 4*float64(all)*q.scale*q.scale
	return in*5 >= all*4 && (larger || sure > q.sureness())
}
