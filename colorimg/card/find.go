package card

import (
	"cmp"
	"math"
	"slices"
	"sync"

	"hueward/colorimg/cie"
	"hueward/colorimg/photo"
	"hueward/colorimg/rows"
	"hueward/colorimg/shape"
)

// Candidate is a place that may be the card.
type Candidate struct {
	Quad  Quad
	RGB   [3]float64 // mean linear colour of the patch
	Score float64    // 0 to 1: how much it looks like a card in daylight
}

// Find returns the even, four-sided patches of the picture that can be grey in some daylight, best first, none of them
// twice. It finds patches of about 3 to 35 % of the picture's width. An empty list means that no card was found; patches
// below [Accept] are listed so that a near miss can be reported.
//
// Areas are grown from a grid of seeds, of pixels close to the seed's colour; an area is a patch if it fills the
// quadrilateral around its convex hull. No source: our own method, judged by the figures of TestMeasureRendered and
// .ci/real.
//
// Find searches the picture at half its size first, which is enough for all but the smallest cards.
func Find(im *photo.Linear) []Candidate {
	if max(im.W, im.H) >= 2*minSide {
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
	minSide   = 320  // least longer side of the halved picture, working pixels
	sureScore = 0.45 // score from which the full size is not searched
)

// find is Find at one size.
func find(im *photo.Linear) []Candidate {
	f := lightness(im)
	found := make([][]Candidate, len(growSteps))
	var wg sync.WaitGroup
	for i, t := range growSteps {
		wg.Go(func() {
			g := newGrower(im.W, im.H, f)
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

// halved returns the picture at half its size, without an odd last row or column.
func halved(im *photo.Linear) *photo.Linear {
	h := &photo.Linear{W: im.W / 2, H: im.H / 2, ScaleX: 2 * im.ScaleX, ScaleY: 2 * im.ScaleY}
	h.Pix, h.Clipped = make([]float32, 3*h.W*h.H), make([]uint8, h.W*h.H)
	rows.Split(h.H, func(y0, y1 int) {
		for y := y0; y < y1; y++ {
			a, b := im.Pix[6*y*im.W:], im.Pix[3*(2*y+1)*im.W:]
			ca, cb := im.Clipped[2*y*im.W:], im.Clipped[(2*y+1)*im.W:]
			out, cl := h.Pix[3*y*h.W:3*(y+1)*h.W], h.Clipped[y*h.W:(y+1)*h.W]
			for x := range cl {
				p, q, o := a[6*x:6*x+6], b[6*x:6*x+6], out[3*x:3*x+3]
				o[0] = (p[0] + p[3] + q[0] + q[3]) / 4
				o[1] = (p[1] + p[4] + q[1] + q[4]) / 4
				o[2] = (p[2] + p[5] + q[2] + q[5]) / 4
				cl[x] = uint8((int(ca[2*x]) + int(ca[2*x+1]) + int(cb[2*x]) + int(cb[2*x+1])) / 4)
			}
		}
	})
	return h
}

// Accept is the score from which a candidate is taken for the card; Sure is the
// score from which that needs no flag. Cards laid into real photos score
// 0.57 and more, other things in photos without a card up to 0.43.
const (
	Accept = 0.28
	Sure   = 0.5
)

// seedStep is the distance between seeds, in working pixels.
const seedStep = 5

// growSteps are the largest differences from the seed's colour, in units of 100 times the square root of linear light.
// All are tried: a card on a board of nearly its own lightness needs the smallest, a noisy one the largest.
var growSteps = []float32{2.2, 4, 7}

// judge turns a grown area into a candidate if it has the shape of a card.
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
	p := face(im, q)
	if p.Pixels < 30 {
		return Candidate{}, false
	}
	side := min(d[0], d[2]) / max(d[0], d[2]) * min(d[1], d[3]) / max(d[1], d[3])
	// Each factor is 1 for a perfect card; those of the shape fall to a half for
	// a hand-cut, slightly bent card.
	score := bell((1-ha/qa)/0.09) * bell((1-float64(a.n)/ha)/0.12) * bell(q.squareness()/28) *
		bell((1-side)/0.45) * bell((long/short-1)/3.2) *
		greyness(p.RGB) * bell(p.Noise/0.10) * edges(im, q, p)
	return Candidate{Quad: q, RGB: p.RGB, Score: score}, true
}

// bell is 1 at 0 and falls to a half at ±1.2.
func bell(x float64) float64 { return math.Exp(-0.5 * x * x) }

// greyness returns how well a linear colour fits a grey card in some daylight, white-balanced
// by the camera or not: 0 to 1, and 1 along the daylight locus.
func greyness(rgb [3]float64) float64 {
	xyz := cie.SRGB.XYZ(rgb)
	if xyz.Y < 0.006 || xyz.Y > 0.92 {
		return 0
	}
	t, duv := cie.DaylightDistance(xyz)
	s := bell(duv / 0.010)
	// Full marks up to 15 000 K; bluer light loses by its distance in mired (reciprocal megakelvin).
	// The locus ends at 3800 K, and warmer light is far from it.
	s *= bell(max(0, 67-1e6/t) / 60)
	// An 18 % card exposed within two stops either way.
	return s * bell(max(0, math.Abs(math.Log2(xyz.Y/0.18))-1.3)/1.6)
}

// edges returns how well the patch stands out on its weakest side: near 1 where it stands out on all four.
func edges(im *photo.Linear, q Quad, p Patch) float64 {
	d := q.sides()
	size := (d[0] + d[1] + d[2] + d[3]) / 4
	in, out := q.Shrunk(0.85), q.Shrunk(1+2*max(3.5, 0.06*size)/size)
	worst := math.Inf(1)
	for s := range 4 {
		diff, n := 0.0, 0
		for k := 1; k < 12; k++ {
			u, v := in.on(im, s, float64(k)/12), out.on(im, s, float64(k)/12)
			if u == nil || v == nil {
				continue
			}
			m := 0.0
			for c := range 3 {
				m = max(m, math.Abs(math.Sqrt(float64(max(0, u[c])))-math.Sqrt(float64(max(0, v[c]))))/math.Sqrt(max(1e-3, p.RGB[c])))
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

// distinct sorts candidates by score and drops those that overlap a better one.
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

// middleOfStrip moves the grey patch of a white-grey-black strip to the front, where there is one: of three similar
// patches in a row, it is the one between a lighter and a darker neighbour.
func middleOfStrip(c []Candidate) []Candidate {
	if len(c) < 2 || c[0].Score < Accept/4 {
		return c
	}
	lum := func(x Candidate) float64 { return luminance(x.RGB[:]) }
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

// beside reports whether two patches have similar sizes and their centres are about one patch width apart.
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
