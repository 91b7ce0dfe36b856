package card

import (
	"math"

	"hueward/colorimg/photo"
	"hueward/colorimg/robust"
)

// facet is a block of 4 × 4 pixels of a card's face, or the part of it that lies on the card:
// the mean position and luminance of its pixels, and their number.
type facet struct{ x, y, light, n float64 }

// The gradient is read over more of the card's face than its colour, as the error of a slope
// falls with the square of the width: up to slopeEdge pixels from the outline, and at most
// slopeShare of the width. The robust fit ignores what a border or a thumb darkens there.
const (
	slopeEdge  = 2.0
	slopeShare = 0.95
)

// gradient fits a plane to the luminance of the patch q and returns its slope along x and y per working pixel, relative to
// the mean, with standard errors, which are infinite where there is too little of a face to tell.
//
// Blocks far from the plane have less weight or none, by Tukey's biweight; the scale is
// that of the inner blocks, which are surely on the card.
//
// Source: Beaton and Tukey 1974, doi:10.1080/00401706.1974.10489171; the constant, for
// an efficiency of 95 % on normal errors, from Holland and Welsch 1977, doi:10.1080/03610927708827533.
func gradient(im *photo.Linear, q Quad) (g, se [2]float64) {
	se = [2]float64{math.Inf(1), math.Inf(1)}
	d := q.sides()
	side := min(d[0], d[1], d[2], d[3])
	at := q.Shrunk(max(q.inner(), min(slopeShare, 1-2*slopeEdge/side))).facets(im)
	inner := q.Shrunk(q.inner())
	w := make([]float64, len(at))
	var sure []int // on the card, by their places in at
	for i, f := range at {
		if inner.Contains(f.x, f.y) {
			w[i] = f.n
			sure = append(sure, i)
		}
	}
	if len(sure) < 8 {
		return g, se
	}
	const tukey = 4.685
	off := make([]float64, 0, len(sure))
	for range 4 {
		p, ok := fitFacets(at, w)
		if !ok {
			return g, se
		}
		g = [2]float64{p.gx, p.gy}
		off = off[:0]
		for _, i := range sure {
			off = append(off, math.Abs(p.rest(at[i])))
		}
		scale := 1.4826*robust.Median(off) + 1e-9
		var rest, n float64
		for i, f := range at {
			r := p.rest(f)
			u := r / (tukey * scale)
			k := max(0, 1-u*u)
			w[i] = k * k * f.n
			rest += k * k * r * r
			n += k * k
		}
		// 1.3: neighbouring blocks are not independent. Our own choice.
		s := 1.3 * math.Sqrt(rest/max(1, n-3))
		se = [2]float64{s * p.sx, s * p.sy}
	}
	return g, se
}

// plane is a card's luminance: mean at (x, y), with relative slopes gx and gy; sx and sy are the standard errors of
// these where a whole block's error is 1.
type plane struct{ x, y, mean, gx, gy, sx, sy float64 }

// rest returns the relative residual of a facet, scaled to the error of a whole block.
func (p plane) rest(f facet) float64 {
	return (f.light/p.mean - 1 - p.gx*(f.x-p.x) - p.gy*(f.y-p.y)) * math.Sqrt(f.n/16)
}

// fitFacets returns the plane of weighted least squares; ok is false where it is not determined.
func fitFacets(at []facet, w []float64) (p plane, ok bool) {
	var n float64
	for i, f := range at {
		n += w[i]
		p.x, p.y, p.mean = p.x+w[i]*f.x, p.y+w[i]*f.y, p.mean+w[i]*f.light
	}
	p.x, p.y, p.mean = p.x/n, p.y/n, p.mean/n
	if !(p.mean > 0) { // also without weight
		return p, false
	}
	var xx, xy, yy, xl, yl float64
	for i, f := range at {
		x, y, l := f.x-p.x, f.y-p.y, f.light/p.mean-1
		xx, xy, yy, xl, yl = xx+w[i]*x*x, xy+w[i]*x*y, yy+w[i]*y*y, xl+w[i]*x*l, yl+w[i]*y*l
	}
	det := xx*yy - xy*xy
	if det < 1e-6*(xx+yy)*(xx+yy) {
		return p, false
	}
	p.gx, p.gy = (xl*yy-yl*xy)/det, (yl*xx-xl*xy)/det
	p.sx, p.sy = 4*math.Sqrt(yy/det), 4*math.Sqrt(xx/det)
	return p, true
}

// facets returns the quad's pixels as blocks on the picture's own grid, row by row.
func (q Quad) facets(im *photo.Linear) []facet {
	bx0, by0, bx1, by1 := q.bounds()
	x0, y0 := max(0, int(bx0))/4, max(0, int(by0))/4
	across := max(0, min(im.W-1, int(bx1))/4-x0+1)
	all := make([]facet, across*max(0, min(im.H-1, int(by1))/4-y0+1))
	q.Each(im.W, im.H, func(x, y int) {
		f := &all[(y/4-y0)*across+x/4-x0]
		f.x, f.y, f.n = f.x+float64(x), f.y+float64(y), f.n+1
		f.light += luminance(im.Pix[3*(y*im.W+x):])
	})
	out := all[:0]
	for _, f := range all {
		if f.n >= 4 {
			out = append(out, facet{f.x / f.n, f.y / f.n, f.light / f.n, f.n})
		}
	}
	return out
}
