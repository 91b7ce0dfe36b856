package render

import (
	"image"
	"math"
	"math/rand/v2"

	"hueward/colorimg/shape"
)

// quad is four corners, clockwise as seen.
type quad [4][2]float64

// plane leads from the unit square, (0,0) (1,0) (1,1) (0,1), to q as a camera sees it.
func (q quad) plane() shape.Homography {
	h, _ := shape.SquareTo(q, 1)
	return h
}

// part is the quad of the plane's rectangle from u0, v0 to u1, v1.
func part(on shape.Homography, u0, v0, u1, v1 float64) quad {
	return quad{on.At([2]float64{u0, v0}), on.At([2]float64{u1, v0}), on.At([2]float64{u1, v1}), on.At([2]float64{u0, v1})}
}

// cardQuad is the outline of a card with its middle at x, y.
func cardQuad(x, y, w, aspect, degrees, tilt float64) quad {
	sin, cos := math.Sincos(degrees * math.Pi / 180)
	h := w * aspect
	var q quad
	for i, uv := range [4][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
		u, v := uv[0]*w/2, uv[1]*h/2
		if uv[1] < 0 {
			u *= 1 - tilt
		}
		q[i] = [2]float64{x + u*cos - v*sin, y + u*sin + v*cos}
	}
	return q
}

// inset is q with its edges moved inward by d.
func (q quad) inset(d float64) quad {
	mid := q.middle()
	var r quad
	for i, p := range q {
		a, b := q[(i+3)%4], q[(i+1)%4]
		n := [2]float64{a[0] - p[0], a[1] - p[1]}
		m := [2]float64{b[0] - p[0], b[1] - p[1]}
		ln, lm := math.Hypot(n[0], n[1]), math.Hypot(m[0], m[1])
		sin := math.Abs(n[0]*m[1]-n[1]*m[0]) / (ln * lm)
		r[i] = [2]float64{p[0] + d/sin*(n[0]/ln+m[0]/lm), p[1] + d/sin*(n[1]/ln+m[1]/lm)}
		if math.Hypot(r[i][0]-mid[0], r[i][1]-mid[1]) > math.Hypot(p[0]-mid[0], p[1]-mid[1]) {
			r[i] = p
		}
	}
	return r
}

func (q quad) middle() [2]float64 {
	var m [2]float64
	for _, p := range q {
		m[0] += p[0] / 4
		m[1] += p[1] / 4
	}
	return m
}

// within reports whether q lies in the frame with a margin.
func (q quad) within(w, h int, margin float64) bool {
	for _, p := range q {
		if p[0] < margin || p[1] < margin || p[0] > float64(w-1)-margin || p[1] > float64(h-1)-margin {
			return false
		}
	}
	return true
}

// clear is the distance from x, y to q, negative inside.
func (q quad) clear(x, y float64) float64 {
	inside, best := true, math.Inf(1)
	for i, a := range q {
		b := q[(i+1)%4]
		bx, by, px, py := b[0]-a[0], b[1]-a[1], x-a[0], y-a[1]
		t := min(max((px*bx+py*by)/(bx*bx+by*by), 0), 1)
		best = min(best, math.Hypot(px-t*bx, py-t*by))
		inside = inside && bx*py-by*px >= 0
	}
	if inside {
		return -best
	}
	return best
}

// PlaceCard returns the card's outline: where the scene says, or where it is clear of the bloom and its shadow. A card
// that finds no room is made smaller, down to a tenth; ok is false when even that finds none. The bloom has its middle
// at x, y; the corners are those of [Truth.Edge].
func PlaceCard(s Scene, r *rand.Rand, x, y, radius float64) (corners [4][2]float64, ok bool) {
	var q quad
	w, h := float64(s.Width), float64(s.Height)
	if at := s.Card.At; at != nil {
		return cardQuad(at[0]*w, at[1]*h, s.Card.Width*w, s.Card.Aspect, s.Card.Angle, s.Card.Tilt), true
	}
	if s.NoBloom { // alone in the frame, in its middle
		for width := s.Card.Width * w; ; width *= 0.94 {
			q = cardQuad(w/2, h/2, width, s.Card.Aspect, s.Card.Angle, s.Card.Tilt)
			if q.within(s.Width, s.Height, 0.012*w) || width < 2 {
				return q, true
			}
		}
	}
	for width := s.Card.Width * w; width > s.Card.Width*w/10; width *= 0.94 {
		best := -1.0
		for range 300 {
			c := cardQuad(r.Float64()*w, r.Float64()*h, width, s.Card.Aspect, s.Card.Angle, s.Card.Tilt)
			d := c.clear(x, y) - radius
			if d < 0.07*radius || !c.within(s.Width, s.Height, 0.012*w) {
				continue
			}
			// Beside the bloom, neither touching nor far away.
			if v := r.Float64() + 1/(1+d/radius); v > best {
				best, q = v, c
			}
		}
		if best >= 0 {
			return q, true
		}
	}
	return q, false
}

// card is a grey card lying on the ground.
type card struct {
	edge, grey quad    // grey: all that lies within the border
	col        rgb     // of the grey, or of the strip's white
	border     float32 // reflectance of the border, or of the chart's frame
	off        float32
	strip      []patch // of a strip: white, grey, black
	seams      []seam  // between them
	chart      []patch
	corners    quad // of the chart's patches
}

func newCard(s Scene, r *rand.Rand, edge quad) *card {
	y := float32(s.Card.Y)
	c := &card{edge: edge, grey: edge, col: rgb{y, y, y}, off: float32(r.Float64() * 200)}
	if s.Card.Border != NoBorder {
		width := math.Hypot(edge[2][0]-edge[3][0], edge[2][1]-edge[3][1])
		c.grey = edge.inset(max(1.6, 0.05*width))
		c.border = 0.045
		if s.Card.Border == LightBorder {
			c.border = 0.72
		}
	}
	switch {
	case s.Card.Chart != nil:
		if c.border == 0 {
			c.border = 0.045
		}
		c.grey = edge
		c.col = rgb{c.border, c.border, c.border}
		c.chart, c.corners = s.Card.Chart.cells(edge)
	case s.Card.Strip:
		if w, h := math.Hypot(edge[1][0]-edge[0][0], edge[1][1]-edge[0][1]), math.Hypot(edge[2][0]-edge[1][0],
			edge[2][1]-edge[1][1]); min(w, h) < 8 {
			c.grey = edge // of a few pixels: the border would leave nothing
		}
		c.strip = strip(c.grey, s.Card.StripY)
		c.col, c.seams = c.strip[0].col, seams(c.strip)
	}
	return c
}

// patch is the one whose grey is known: of a strip the middle.
func (k *card) patch() quad {
	switch {
	case k.chart != nil:
		return quad{}
	case k.strip != nil:
		return k.strip[1].quad
	}
	return k.grey
}

// line is one edge as a half plane: a·x + b·y + c is the distance inside.
type line [3]float32

func (q quad) lines() (l [4]line) {
	for i, a := range q {
		b := q[(i+1)%4]
		dx, dy := b[0]-a[0], b[1]-a[1]
		n := math.Hypot(dx, dy)
		l[i] = line{float32(-dy / n), float32(dx / n), float32((dy*a[0] - dx*a[1]) / n)}
	}
	return l
}

// depth is how far x, y is inside, negative outside.
func depth(l [4]line, x, y float32) float32 {
	d := float32(1e9)
	for _, e := range l {
		d = min(d, e[0]*x+e[1]*y+e[2])
	}
	return d
}

func (k *card) paint(c *canvas, y0, y1 int) {
	soft := 9 * c.unit
	outer, inner := k.edge.lines(), k.grey.lines()
	c.each(y0, y1, k.edge.box(float64(soft)+2), func(i int, x, y float32) {
		// The shadow of its thickness: the outline moved away from the light.
		if t := depth(outer, x+c.light[0]*soft*0.5, y+c.light[1]*soft*0.5)/soft + 1; t > 0 {
			c.shade[i] *= 1 - 0.45*min(t, 1)*min(t, 1)
		}
		d := depth(outer, x, y) + 0.5
		if d <= 0 {
			return
		}
		v := rgb{k.border, k.border, k.border}
		if g := clamp(depth(inner, x, y) + 0.5); g > 0 {
			n := c.grain(x, y, k.off)
			col := k.col
			for _, e := range k.seams {
				col = col.mix(e.col, clamp(e.line[0]*x+e.line[1]*y+e.line[2]+0.5))
			}
			v = v.mix(col.times(n), g)
			if k.border == 0 {
				v = col.times(n)
			}
		}
		c.put(i, clamp(d), v, 1, 0)
	})
	for i := range k.chart {
		k.chart[i].paint(c, k.off, y0, y1)
	}
}

// box is the pixels that q covers, with a margin.
func (q quad) box(m float64) image.Rectangle {
	lo, hi := q[0], q[0]
	for _, p := range q {
		lo[0], lo[1] = min(lo[0], p[0]), min(lo[1], p[1])
		hi[0], hi[1] = max(hi[0], p[0]), max(hi[1], p[1])
	}
	return image.Rect(int(lo[0]-m), int(lo[1]-m), int(hi[0]+m)+1, int(hi[1]+m)+1)
}
