package card

import (
	"cmp"
	"math"
	"runtime"
	"slices"
	"sync"

	"hueward/colorimg/cie"
	"hueward/colorimg/photo"
	"hueward/colorimg/shape"
)

// Candidate is a place that may be the card.
type Candidate struct {
	Quad  Quad
	RGB   [3]float64 // mean linear colour of the patch
	Score float64    // 0 to 1: how much it looks like a card in daylight
}

// Find lists the even, four-sided, grey-in-some-daylight patches of the
// picture, best first, none of them twice. A patch between about 3 and 35 % of
// the frame's width is seen. An empty list means that no card was found; those
// below [Accept] are listed so that a near miss can be told.
//
// Patches are grown from a grid of seeds as areas that stay within a few steps
// of the seed's colour; an area is a patch when it fills the quadrilateral
// drawn around its convex hull. No source: our own method, judged by the
// figures of DEVELOPERS.md.
//
// A picture is looked at in half its size first; that is enough for all but
// the smallest cards.
func Find(im *photo.Linear) []Candidate {
	if max(im.W, im.H) >= 2*leastSide {
		found := find(halved(im))
		if len(found) > 0 && found[0].Score >= sureScore {
			for i := range found {
				for k, p := range found[i].Quad {
					found[i].Quad[k] = [2]float64{2*p[0] + 0.5, 2*p[1] + 0.5}
				}
			}
			return found
		}
	}
	return find(im)
}

const (
	leastSide = 400  // working pixels that the halved picture must still have
	sureScore = 0.45 // score of a card that needs no second look
)

func find(im *photo.Linear) []Candidate {
	f := lightness(im)
	found := make([][]Candidate, len(growSteps))
	var wg sync.WaitGroup
	for i, t := range growSteps {
		wg.Go(func() {
			g := &grower{w: im.W, h: im.H, f: f, mark: make([]uint8, im.W*im.H)}
			for y := seedStep / 2; y < im.H; y += seedStep {
				for x := seedStep / 2; x < im.W; x += seedStep {
					if !g.grow(x, y, t) {
						continue
					}
					if c, ok := judge(im, &g.area); ok {
						found[i] = append(found[i], c)
					}
				}
			}
		})
	}
	wg.Wait()
	return middleOfStrip(distinct(slices.Concat(found...)))
}

// halved is the picture at half its size, an odd last row or column left out.
func halved(im *photo.Linear) *photo.Linear {
	h := &photo.Linear{W: im.W / 2, H: im.H / 2, ScaleX: 2 * im.ScaleX, ScaleY: 2 * im.ScaleY}
	h.Pix, h.Clipped = make([]float32, 3*h.W*h.H), make([]uint8, h.W*h.H)
	bands(h.H, func(y0, y1 int) {
		for y := y0; y < y1; y++ {
			a, b := im.Pix[6*y*im.W:], im.Pix[3*(2*y+1)*im.W:]
			ca, cb := im.Clipped[2*y*im.W:], im.Clipped[(2*y+1)*im.W:]
			out, cl := h.Pix[3*y*h.W:3*(y+1)*h.W], h.Clipped[y*h.W:(y+1)*h.W]
			for x := range cl {
				for c := range 3 {
					out[3*x+c] = (a[6*x+c] + a[6*x+3+c] + b[6*x+c] + b[6*x+3+c]) / 4
				}
				cl[x] = uint8((int(ca[2*x]) + int(ca[2*x+1]) + int(cb[2*x]) + int(cb[2*x+1])) / 4)
			}
		}
	})
	return h
}

// Accept is the score from which a candidate is taken for the card, Sure the
// one from which it is taken without a word. Cards laid in real photos score
// 0.57 and more, other things in photos without a card up to 0.43.
const (
	Accept = 0.28
	Sure   = 0.5
)

const seedStep = 5

// growSteps are the largest steps from the seed's colour, in units of 100
// times the square root of linear light, tried in turn: a card on a board of
// nearly its own lightness needs the smallest, a noisy one the largest.
var growSteps = []float32{2.2, 4, 7}

// grower grows areas in a picture of [lightness], and marks what has been
// grown.
type grower struct {
	w, h  int
	f     []float32 // 3 × w × h
	mark  []uint8   // grown at the present step
	stack []int32
	area  area
}

// area is one grown area: its pixel count and, row by row, how far it reaches.
type area struct {
	n, x0, y0, x1, y1 int
	left, right       []int32 // index y - y0
}

// lightness is the picture in a roughly even lightness scale, each pixel the
// mean of the 3 × 3 around it; edge pixels are repeated.
func lightness(im *photo.Linear) []float32 {
	w, h := im.W, im.H
	rows, f := make([]float32, len(im.Pix)), make([]float32, len(im.Pix))
	bands(h, func(y0, y1 int) { // the mean of three along each row
		root := make([]float32, 3*(w+2))
		for y := y0; y < y1; y++ {
			for i, v := range im.Pix[3*y*w : 3*(y+1)*w] {
				root[i+3] = 100 * float32(math.Sqrt(float64(max(v, 0))))
			}
			copy(root, root[3:6])
			copy(root[3*(w+1):], root[3*w:3*(w+1)])
			out := rows[3*y*w : 3*(y+1)*w]
			for i := range out {
				out[i] = (root[i] + root[i+3] + root[i+6]) / 3
			}
		}
	})
	bands(h, func(y0, y1 int) { // … and down each column
		for y := y0; y < y1; y++ {
			up, mid, low := rows[3*max(y-1, 0)*w:], rows[3*y*w:], rows[3*min(y+1, h-1)*w:]
			out := f[3*y*w : 3*(y+1)*w]
			for i := range out {
				out[i] = (up[i] + mid[i] + low[i]) / 3
			}
		}
	})
	return f
}

// bands cuts the rows 0 to h in one band for each processor.
func bands(h int, f func(y0, y1 int)) {
	n := min(runtime.GOMAXPROCS(0), h)
	var wg sync.WaitGroup
	for b := range n {
		wg.Go(func() { f(b*h/n, (b+1)*h/n) })
	}
	wg.Wait()
}

// grow collects the area around the seed whose colour stays within t of the
// seed's. It reports false when the seed is not on an even place, already
// grown over, or the area is too small, too large or at the frame's edge.
func (g *grower) grow(sx, sy int, t float32) bool {
	w, h := g.w, g.h
	if sx < 4 || sy < 4 || sx >= w-4 || sy >= h-4 || g.mark[sy*w+sx] != 0 {
		return false
	}
	var m [3]float32
	for _, d := range [...][2]int{{0, 0}, {3, 0}, {-3, 0}, {0, 3}, {0, -3}} {
		i := 3 * ((sy+d[1])*w + sx + d[0])
		for c := range 3 {
			m[c] += g.f[i+c] / 5
		}
	}
	lo, hi := [3]float32{m[0] - t, m[1] - t, m[2] - t}, [3]float32{m[0] + t, m[1] + t, m[2] + t}
	near := func(i int) bool {
		p := g.f[3*i : 3*i+3 : 3*i+3]
		return p[1] > lo[1] && p[1] < hi[1] && p[0] > lo[0] && p[0] < hi[0] && p[2] > lo[2] && p[2] < hi[2]
	}
	for _, d := range [...][2]int{{0, 0}, {3, 0}, {-3, 0}, {0, 3}, {0, -3}} {
		if !near((sy+d[1])*w + sx + d[0]) {
			return false
		}
	}
	largest := int(0.14 * float64(w) * float64(w))
	a := &g.area
	*a = area{x0: w, y0: h, left: a.left, right: a.right}
	if len(a.left) < h {
		a.left, a.right = make([]int32, h), make([]int32, h)
	}
	for y := range h {
		a.left[y], a.right[y] = int32(w), -1
	}
	start := int32(sy*w + sx)
	g.mark[start] = 1
	g.stack = append(g.stack[:0], start)
	edge := false
	for len(g.stack) > 0 {
		i := int(g.stack[len(g.stack)-1])
		g.stack = g.stack[:len(g.stack)-1]
		x, y := i%w, i/w
		a.n++
		a.left[y], a.right[y] = min(a.left[y], int32(x)), max(a.right[y], int32(x))
		a.y0, a.y1 = min(a.y0, y), max(a.y1, y)
		if x <= 1 || y <= 1 || x >= w-2 || y >= h-2 {
			edge = true
			continue
		}
		for _, j := range [...]int{i - 1, i + 1, i - w, i + w} {
			if g.mark[j] == 0 && near(j) {
				g.mark[j] = 1
				g.stack = append(g.stack, int32(j))
			}
		}
	}
	if edge || a.n > largest || a.n < int(max(60, 0.0004*float64(w)*float64(w))) {
		return false
	}
	for y := a.y0; y <= a.y1; y++ {
		a.x0, a.x1 = min(a.x0, int(a.left[y])), max(a.x1, int(a.right[y]))
	}
	bw, bh := a.x1-a.x0+1, a.y1-a.y0+1
	return float64(a.n) > 0.3*float64(bw*bh) && max(bw, bh) < w/2
}

// full is the area with its rows filled from left to right.
func (a *area) full() int {
	n := 0
	for y := a.y0; y <= a.y1; y++ {
		if a.right[y] >= 0 {
			n += int(a.right[y]-a.left[y]) + 1
		}
	}
	return n
}

// outline is the convex hull of the area.
func (a *area) outline() [][2]float64 {
	return shape.RowHull(a.y0, a.y1+1, func(y int) (int, int) { return int(a.left[y]), int(a.right[y]) })
}

// judge turns a grown area into a candidate, when its shape is a card's.
func judge(im *photo.Linear, a *area) (Candidate, bool) {
	if float64(a.n) < 0.85*float64(a.full()) {
		return Candidate{}, false
	}
	h := a.outline()
	ha := shape.Area(h)
	if float64(a.n) < 0.82*ha {
		return Candidate{}, false
	}
	q, ok := fitQuad(h)
	if !ok {
		return Candidate{}, false
	}
	qa := q.Area()
	d := q.sides()
	short, long := min(d[0], d[1], d[2], d[3]), max(d[0], d[1], d[2], d[3])
	W := float64(im.W)
	if ha < 0.86*qa || short < 0.016*W || long > 0.42*W || long > 5*short || q.squareness() > 35 {
		return Candidate{}, false
	}
	p := Read(im, q, 0)
	if p.Pixels < 30 {
		return Candidate{}, false
	}
	side := min(d[0], d[2]) / max(d[0], d[2]) * min(d[1], d[3]) / max(d[1], d[3])
	lin := [3]float64{p.RGB[0], p.RGB[1], p.RGB[2]}
	// Each part is 1 for a perfect card; the shape's parts fall by half where
	// a hand-cut, slightly bent card still lies.
	score := bell((1-ha/qa)/0.09) * bell((1-float64(a.n)/ha)/0.12) * bell(q.squareness()/28) *
		bell((1-side)/0.45) * bell((long/short-1)/3.2) *
		greyness(lin) * bell(p.Noise/0.10) * edges(im, q, p)
	return Candidate{Quad: q, RGB: lin, Score: score}, true
}

// bell is 1 at 0 and falls to a half at ±1.2.
func bell(x float64) float64 { return math.Exp(-0.5 * x * x) }

// greyness says how well the colour can be a grey card in some daylight, seen
// by a camera that has balanced for it or not: 1 along the daylight locus.
func greyness(rgb [3]float64) float64 {
	xyz := cie.SRGB.XYZ(cie.RGB{R: rgb[0], G: rgb[1], B: rgb[2]})
	if xyz.Y < 0.006 || xyz.Y > 0.92 {
		return 0
	}
	t, duv := cie.DaylightDistance(xyz)
	s := bell(duv / 0.010)
	// Up to 15 000 K is full marks; bluer light is counted in reciprocal kelvin.
	// The locus ends at 3800 K, and warmer light is far from it.
	s *= bell(max(0, 67-1e6/t) / 60)
	// An 18 % card exposed within two stops either way.
	return s * bell(max(0, math.Abs(math.Log2(xyz.Y/0.18))-1.3)/1.6)
}

// edges is near 1 when the patch stands out on all four sides.
func edges(im *photo.Linear, q Quad, p Patch) float64 {
	in, out := q.Shrunk(0.85), q
	d := q.sides()
	size := (d[0] + d[1] + d[2] + d[3]) / 4
	grow := 1 + 2*max(3.5, 0.06*size)/size
	out = q.Shrunk(grow)
	worst := math.Inf(1)
	for s := range 4 {
		diff, n := 0.0, 0
		for k := 1; k < 12; k++ {
			f := float64(k) / 12
			at := func(q Quad) (v [3]float64, ok bool) {
				a, b := q[s], q[(s+1)%4]
				x, y := int(math.Round(a[0]+f*(b[0]-a[0]))), int(math.Round(a[1]+f*(b[1]-a[1])))
				if x < 0 || y < 0 || x >= im.W || y >= im.H {
					return v, false
				}
				i := 3 * (y*im.W + x)
				return [3]float64{float64(im.Pix[i]), float64(im.Pix[i+1]), float64(im.Pix[i+2])}, true
			}
			u, ok1 := at(in)
			v, ok2 := at(out)
			if !ok1 || !ok2 {
				continue
			}
			m := 0.0
			for c := range 3 {
				m = max(m, math.Abs(math.Sqrt(max(0, u[c]))-math.Sqrt(max(0, v[c])))/math.Sqrt(max(1e-3, p.RGB[c])))
			}
			diff += m
			n++
		}
		if n < 6 {
			worst = min(worst, 0.05)
			continue
		}
		worst = min(worst, diff/float64(n))
	}
	return 1 - math.Exp(-worst/0.04)
}

// distinct sorts by score and drops what lies over something better.
func distinct(c []Candidate) []Candidate {
	slices.SortStableFunc(c, func(a, b Candidate) int { return cmp.Compare(b.Score, a.Score) })
	var out []Candidate
	for _, x := range c {
		cx, cy := x.Quad.Center()
		if !slices.ContainsFunc(out, func(o Candidate) bool {
			ox, oy := o.Quad.Center()
			return o.Quad.Contains(cx, cy) || x.Quad.Contains(ox, oy)
		}) {
			out = append(out, x)
		}
	}
	return out
}

// middleOfStrip puts the grey patch of a white-grey-black strip first when the
// best candidate is one of the strip's patches: of three like patches in a
// row it is the one between a lighter and a darker neighbour.
func middleOfStrip(c []Candidate) []Candidate {
	if len(c) < 2 || c[0].Score < Accept/4 {
		return c
	}
	lum := func(x Candidate) float64 { return 0.2126*x.RGB[0] + 0.7152*x.RGB[1] + 0.0722*x.RGB[2] }
	for i := 0; i < min(len(c), 6); i++ {
		for a := range c {
			for b := range c {
				if a == i || b == i || a == b || !beside(c[i].Quad, c[a].Quad) || !beside(c[i].Quad, c[b].Quad) {
					continue
				}
				if lum(c[a]) > 1.5*lum(c[i]) && lum(c[i]) > 1.5*lum(c[b]) && opposite(c[a].Quad, c[i].Quad, c[b].Quad) {
					m := c[i]
					m.Score = max(m.Score, c[0].Score)
					rest := slices.DeleteFunc(slices.Clone(c), func(x Candidate) bool {
						return x.Quad == m.Quad || x.Quad == c[a].Quad || x.Quad == c[b].Quad
					})
					return append([]Candidate{m}, rest...)
				}
			}
		}
	}
	return c
}

// beside reports whether the two patches have like sizes and lie one patch
// width apart.
func beside(p, q Quad) bool {
	r := p.Area() / q.Area()
	px, py := p.Center()
	qx, qy := q.Center()
	d := math.Hypot(px-qx, py-qy)
	s := math.Sqrt(p.Area())
	return r > 0.6 && r < 1.7 && d > 0.6*s && d < 1.7*s
}

// opposite reports whether a and b lie on opposite sides of m.
func opposite(a, m, b Quad) bool {
	ax, ay := a.Center()
	mx, my := m.Center()
	bx, by := b.Center()
	ux, uy, vx, vy := ax-mx, ay-my, bx-mx, by-my
	return ux*vx+uy*vy < -0.85*math.Hypot(ux, uy)*math.Hypot(vx, vy)
}
