package tag

import (
	"cmp"
	"math"
	"slices"

	"hueward/colorimg/photo"
	"hueward/colorimg/shape"
)

// Luma is how bright the photo is at a point, on any even scale; NaN outside
// the photo. Pixel centres are whole numbers.
type Luma func(x, y float64) float64

// PhotoLuma reads a photo's lightness, interpolated between pixels.
func PhotoLuma(l *photo.Lightness) Luma {
	return func(x, y float64) float64 {
		if !(x >= 0 && y >= 0 && x <= float64(l.W-1) && y <= float64(l.H-1)) {
			return math.NaN()
		}
		i, j := int(x), int(y)
		k, m := min(i+1, l.W-1), min(j+1, l.H-1)
		fx, fy := x-float64(i), y-float64(j)
		return (1-fy)*((1-fx)*float64(l.At(i, j))+fx*float64(l.At(k, j))) +
			fy*((1-fx)*float64(l.At(i, m))+fx*float64(l.At(k, m)))
	}
}

// Refine finds the round marks of the sheet near where the code's corners predict them, and fits the sheet to code and
// marks. It begins with the mark that is predicted best, as each mark improves the prediction of the next. ok is false as
// in [Sheet.Locate]; where no mark is found, the result is that of Locate.
//
// No source: our own method. TestRefine has its figures.
func (s Sheet) Refine(luma Luma, corners [4][2]float64) (l Located, ok bool) {
	l, ok = s.Locate(corners)
	if !ok {
		return Located{}, false
	}
	for _, least := range []float64{sure, unsure} {
		if m, ok := s.refine(luma, corners, least); ok && m.Marks > l.Marks {
			l = m
		}
		if l.Marks == len(s.Marks) {
			break
		}
	}
	return l, true
}

// Under a plane that is not yet accurate, a mark looks stretched and correlates less. So only marks with a high correlation
// are used at first, then others, too; all must correlate well in the end. Guesses: in the pictures
// of TestRefine, a mark in its true place correlates by at least 0.41 at first and above 0.9 at last.
const (
	sure   = 0.6
	unsure = 0.35
	kept   = 0.75
)

func (s Sheet) refine(luma Luma, corners [4][2]float64, least float64) (l Located, ok bool) {
	code := s.codePoints(corners)
	p, ok := fitPlane(code)
	if !ok {
		return Located{}, false
	}
	found := map[int]sighting{}
	for range 2 { // the second time for those missed while the plane was far off
		for i, g := range found {
			if g.score == 0 {
				delete(found, i)
			}
		}
		p = s.seekAll(luma, p, code, found, least)
	}
	// Now that the marks can be drawn as they are seen, each is met again.
	for range 3 {
		for i, g := range found {
			if g.score == 0 {
				continue
			}
			m := s.mark(p, i)
			if at, score := m.seek(luma, m.mm, 1.5, fineStep); score >= kept {
				found[i] = sighting{px: p.At(at), score: score}
			} else {
				found[i] = sighting{}
			}
		}
		if p, ok = s.settle(code, found); !ok {
			return Located{}, false
		}
	}
	pts := s.points(code, found)
	return s.located(p, pts, len(pts)-len(code)), true
}

// seekAll looks for each mark not found yet, the one that is predicted best first, and
// fits the plane again after each. A mark that is not found gets the score 0.
func (s Sheet) seekAll(luma Luma, p shape.Homography, code []match, found map[int]sighting, least float64) shape.Homography {
	for {
		i, reach := s.next(p, s.points(code, found), found)
		if i < 0 {
			return p
		}
		found[i] = sighting{}
		m := s.mark(p, i)
		at, score := m.seek(luma, m.mm, reach, coarseStep)
		if score >= least {
			at, score = m.seek(luma, at, coarseStep, fineStep)
		}
		if score >= least {
			found[i] = sighting{px: p.At(at), score: score}
			if q, ok := fitPlane(s.points(code, found)); ok {
				p = q
			} else {
				found[i] = sighting{}
			}
		}
	}
}

// settle fits the plane, leaving out the mark with the lowest score as long as the code's own corners contradict the fit.
func (s Sheet) settle(code []match, found map[int]sighting) (shape.Homography, bool) {
	for {
		p, ok := fitPlane(s.points(code, found))
		worst := 0.0
		for _, m := range code {
			q := p.At(m.From)
			worst = max(worst, math.Hypot(q[0]-m.To[0], q[1]-m.To[1])/p.Scale(m.From))
		}
		if ok && worst <= 6*codeError*s.Code.W {
			return p, true
		}
		least := -1
		for i, g := range found {
			if g.score > 0 && (least < 0 || g.score < found[least].score) {
				least = i
			}
		}
		if least < 0 {
			return p, ok
		}
		found[least] = sighting{}
	}
}

// sighting is where a mark was seen; a score of 0 is none.
type sighting struct {
	px    [2]float64
	score float64
}

// markError is the standard deviation of a mark's place, in millimetres. TestRefine holds what follows from it.
const markError = 0.1

func (s Sheet) points(code []match, found map[int]sighting) []match {
	pts := slices.Clone(code)
	for i, g := range found {
		if g.score > 0 {
			pts = append(pts, match{From: s.Marks[i], To: g.px, SD: markError})
		}
	}
	slices.SortFunc(pts[len(code):], func(a, b match) int { // whatever the map's order
		return cmp.Or(cmp.Compare(a.From[0], b.From[0]), cmp.Compare(a.From[1], b.From[1]))
	})
	return pts
}

// next returns the mark, of those not looked for yet, whose place is predicted best, and
// how far around it to look, in millimetres.
func (s Sheet) next(p shape.Homography, pts []match, found map[int]sighting) (mark int, reach float64) {
	if len(found) == len(s.Marks) {
		return -1, 0
	}
	mark = -1
	sd := foretold(p, pts, s.Marks[:])
	for i := range s.Marks {
		if _, done := found[i]; done {
			continue
		}
		if r := 1 + 3*sd[i]; mark < 0 || r < reach {
			mark, reach = i, r
		}
	}
	return mark, min(reach, 25)
}

// mark is one mark as it is to be looked for.
type mark struct {
	p       shape.Homography
	mm      [2]float64
	out, in float64 // radii of the black disc and of the hole
}

// darkness is the least contrast of a mark's black and white, as a share of white.
const darkness = 0.2

func (s Sheet) mark(p shape.Homography, i int) mark {
	return mark{p: p, mm: s.Marks[i], out: s.MarkR, in: s.HoleR}
}

// The steps of a search, in millimetres.
const (
	coarseStep = 0.8
	fineStep   = 0.25
)

// seek looks for the mark within reach millimetres of a place on the sheet, by normalised cross-correlation with its
// picture in the plane of the paper. It returns where, on the sheet as foretold, it was seen best, and how well.
func (m mark) seek(luma Luma, near [2]float64, reach, step float64) (at [2]float64, score float64) {
	half := int(math.Ceil((m.out + 1.2) / step)) // of the template
	far := int(math.Ceil(reach / step))
	n := 2*(half+far) + 1
	field := make([]float64, n*n)
	for j := range n {
		for i := range n {
			q := m.p.At([2]float64{near[0] + float64(i-half-far)*step, near[1] + float64(j-half-far)*step})
			field[j*n+i] = luma(q[0], q[1])
		}
	}
	t := m.template(half, step)
	side := 2*far + 1
	scores := make([]float64, side*side)
	best := 0
	for y := range side {
		for x := range side {
			scores[y*side+x] = t.score(field[y*n+x:], n)
			if scores[y*side+x] > scores[best] {
				best = y*side + x
			}
		}
	}
	x, y := best%side, best/side
	return [2]float64{
		near[0] + (float64(x-far)+peak(scores, best, 1, x > 0 && x < side-1))*step,
		near[1] + (float64(y-far)+peak(scores, best, side, y > 0 && y < side-1))*step,
	}, scores[best]
}

// peak returns the distance of the top of a parabola through three scores from the middle one, in steps.
func peak(v []float64, i, step int, inside bool) float64 {
	if !inside {
		return 0
	}
	a, b, c := v[i-step], v[i], v[i+step]
	if d := a - 2*b + c; d < 0 {
		return max(-0.5, min(0.5, (a-c)/(2*d)))
	}
	return 0
}

// template is a mark's picture: the places around its middle and their whiteness, 0 to 1.
type template struct {
	dx, dy []int
	v      []float64
	mean   float64
	dev    float64 // root of the sum of squares about the mean
}

func (m mark) template(half int, step float64) template {
	var t template
	for j := -half; j <= half; j++ {
		for i := -half; i <= half; i++ {
			r := math.Hypot(float64(i), float64(j)) * step
			if r > m.out+1.2 {
				continue
			}
			soft := func(d float64) float64 { return max(0, min(1, 0.5+d/step)) }
			t.dx, t.dy = append(t.dx, i+half), append(t.dy, j+half)
			t.v = append(t.v, max(soft(r-m.out), soft(m.in-r)))
		}
	}
	for _, v := range t.v {
		t.mean += v / float64(len(t.v))
	}
	for _, v := range t.v {
		t.dev += (v - t.mean) * (v - t.mean)
	}
	t.dev = math.Sqrt(t.dev)
	return t
}

// score is the correlation with a field of n columns, -1 to 1; 0 where the
// field is outside the photo, or has no black on white.
func (t template) score(field []float64, n int) float64 {
	sum, sq, cross, white, whites := 0.0, 0.0, 0.0, 0.0, 0.0
	for k, v := range t.v {
		f := field[t.dy[k]*n+t.dx[k]]
		sum += f
		sq += f * f
		cross += f * v
		if v == 1 {
			white += f
			whites++
		}
	}
	count := float64(len(t.v))
	dev := sq - sum*sum/count
	c := (cross - sum*t.mean) / (math.Sqrt(max(0, dev)) * t.dev)
	// Black and white differ by the slope of the field upon the template.
	slope := (cross - sum*t.mean) / (t.dev * t.dev)
	if math.IsNaN(c) || whites == 0 || slope < darkness*white/whites {
		return 0
	}
	return c
}
