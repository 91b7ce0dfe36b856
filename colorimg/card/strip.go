package card

import (
	"cmp"
	"math"
	"slices"
	"sync"

	"hueward/colorimg/photo"
	"hueward/colorimg/robust"
)

// Strip is the three patches of a white-grey-black strip, as read: see [ReadStrip] and [Strip.Curve].
type Strip struct {
	White, Grey, Black Patch // with Y the known reflectance of each
}

// UsualStrip is the reflectance of white, grey and black where it is not known: typical of matt printed
// strips, no source. What the maker or an instrument says is better, above all for black.
var UsualStrip = [3]float64{0.90, 0.18, 0.035}

// StripQuad is where the three patches lie.
type StripQuad struct{ White, Grey, Black Quad }

// Outline returns the four corners of the whole strip, in order around it.
func (s StripQuad) Outline() Quad {
	q := Quad{}
	// At each end, take the two corners farthest from the other end.
	for k, p := range [2][2]Quad{{s.White, s.Black}, {s.Black, s.White}} {
		x, y := p[1].Center()
		far := func(c [2]float64) float64 { return math.Hypot(c[0]-x, c[1]-y) }
		slices.SortStableFunc(p[0][:], func(a, b [2]float64) int { return cmp.Compare(far(b), far(a)) })
		a, b := p[0][0], p[0][1]
		// For corners in order around the strip, sort each end as seen from the strip's middle.
		gx, gy := s.Grey.Center()
		if (a[0]-gx)*(b[1]-gy)-(a[1]-gy)*(b[0]-gx) < 0 {
			a, b = b, a
		}
		q[2*k], q[2*k+1] = a, b
	}
	return q
}

// FindStrip returns where the three patches of a white-grey-black strip are, if one of the best candidates of [Find] is
// a patch of a strip; it examines what lies beside them.
func FindStrip(im *photo.Linear, found []Candidate) (StripQuad, bool) {
	for i, c := range found {
		if i == 6 || c.Score < Accept/4 {
			break
		}
		var beside [4]func() (Quad, bool) // each is looked for once
		for side := range beside {
			beside[side] = sync.OnceValues(func() (Quad, bool) { return next(im, found, c.Quad, side) })
		}
		for side := range 4 {
			if s, ok := along(im, found, c.Quad, side, beside); ok {
				return s, true
			}
		}
	}
	return StripQuad{}, false
}

// along tries strips in the direction of the given side of patch q: q as the grey, with the white beside
// that side and the black opposite; then q as the white or the black, with the two others beside that side.
// beside are the even patches beside the sides of q.
func along(im *photo.Linear, found []Candidate, q Quad, side int, beside [4]func() (Quad, bool)) (StripQuad, bool) {
	if w, ok := beside[side](); ok {
		if b, ok := beside[(side+2)%4](); ok {
			if s := (StripQuad{w, q, b}); s.likely(im) {
				return s, true
			}
		}
		if b, ok := next(im, found, w, side); ok {
			if s := (StripQuad{q, w, b}); s.likely(im) {
				return s, true
			}
			if s := (StripQuad{b, w, q}); s.likely(im) {
				return s, true
			}
		}
	}
	return StripQuad{}, false
}

// next returns the even patch beside a side of q: a candidate, or the place
// where one of the same size would lie, with or without a thin border between them.
func next(im *photo.Linear, found []Candidate, q Quad, side int) (best Quad, ok bool) {
	a, b := q[side], q[(side+1)%4]
	c, d := q[(side+3)%4], q[(side+2)%4] // the side across
	least := 0.12
	for _, step := range []float64{1, 1.06, 1.14} {
		var p Quad
		for i := range 2 {
			u, v := a[i]-c[i], b[i]-d[i]
			// The corners are in the same order as those of q.
			p[side][i], p[(side+1)%4][i] = a[i]+step*u, b[i]+step*v
			p[(side+3)%4][i], p[(side+2)%4][i] = a[i]+(step-1)*u, b[i]+(step-1)*v
		}
		x, y := p.Center()
		for _, f := range found {
			if r := f.Quad.Area() / p.Area(); r > 0.7 && r < 1.4 && f.Quad.Contains(x, y) {
				return f.Quad, true
			}
		}
		x0, y0, x1, y1 := p.Shrunk(0.8).bounds()
		if !(x0 >= 0 && y0 >= 0 && x1 <= float64(im.W-1) && y1 <= float64(im.H-1)) || uneven(im, p, least) {
			continue
		}
		// The noise of a black patch is large relative to its own luminance: it is taken relative to that of a grey.
		r := face(im, p)
		if r.Pixels < 12 {
			continue
		}
		if n := r.Noise * min(1, luminance(r.RGB[:])/0.05); n < least {
			best, least, ok = p, n, true
		}
	}
	return best, ok
}

// uneven reports, from a few of its pixels, whether the area's noise is clearly above
// most. It saves the time of reading leaves and soil beside a card.
func uneven(im *photo.Linear, q Quad, most float64) bool {
	const n = 9
	in := q.Shrunk(q.inner())
	var lum [n * n]float64
	for i := range n {
		for j := range n {
			u, v := (float64(i)+0.5)/n, (float64(j)+0.5)/n
			x := (1-u)*(1-v)*in[0][0] + u*(1-v)*in[1][0] + u*v*in[2][0] + (1-u)*v*in[3][0]
			y := (1-u)*(1-v)*in[0][1] + u*(1-v)*in[1][1] + u*v*in[2][1] + (1-u)*v*in[3][1]
			lum[n*i+j] = luminance(im.Pix[3*(int(y+0.5)*im.W+int(x+0.5)):])
		}
	}
	mid := robust.Median(lum[:])
	return scatter(lum[:])*min(1, mid/0.05) > 2*most
}

// likely reports whether the three patches can be white, grey and black in one light, and end where a strip ends.
func (s StripQuad) likely(im *photo.Linear) bool {
	w, g, b := face(im, s.White), face(im, s.Grey), face(im, s.Black)
	if min(w.Pixels, g.Pixels, b.Pixels) < 12 {
		return false
	}
	lw, lg, lb := luminance(w.RGB[:]), luminance(g.RGB[:]), luminance(b.RGB[:])
	if !(lg > 0.004 && lw > 1.9*lg && lw < 14*lg && lb < 0.5*lg && lb > 0.01*lg) {
		return false
	}
	// In one light they have about the same chromaticity; a tone curve changes it a little, and a clipped white loses it.
	for c := range 3 {
		if w.Clipped < 0.1 && math.Abs(math.Log(w.RGB[c]/lw*lg/g.RGB[c])) > 0.25 {
			return false
		}
		if math.Abs(b.RGB[c]/lb-g.RGB[c]/lg) > 0.45 {
			return false
		}
	}
	if greyness(g.RGB) < 0.2 || w.Noise > 0.09 || g.Noise > 0.12 {
		return false
	}
	// At least one end must stand out from its surroundings: a white end may lie on a board, or a black one on soil. If
	// neither stands out, this is a grey card between a board and soil.
	return bounded(im, s.White, s.Grey, w) || bounded(im, s.Black, s.Grey, b)
}

// bounded reports whether the patch at a strip's end stands out on its three sides away from the grey.
func bounded(im *photo.Linear, q, grey Quad, p Patch) bool {
	gx, gy := grey.Center()
	nearest, at := math.Inf(1), 0
	for s := range 4 {
		a, b := q[s], q[(s+1)%4]
		if d := math.Hypot((a[0]+b[0])/2-gx, (a[1]+b[1])/2-gy); d < nearest {
			nearest, at = d, s
		}
	}
	d := q.sides()
	grow := 1 + 2*max(3.5, 0.08*(d[0]+d[1]+d[2]+d[3])/4)/min(d[0], d[1], d[2], d[3])
	in, out := q.Shrunk(0.7), q.Shrunk(grow)
	for s := range 4 {
		if s == at {
			continue
		}
		diff, n := 0.0, 0.0
		for k := 2; k < 9; k++ {
			if u, v := in.on(im, s, float64(k)/10), out.on(im, s, float64(k)/10); u != nil && v != nil {
				diff += math.Sqrt(max(luminance(v), 0)) - math.Sqrt(max(luminance(u), 0))
				n++
			}
		}
		if n < 4 || math.Abs(diff/n) < 0.06*math.Sqrt(max(luminance(p.RGB[:]), 0.05)) {
			return false
		}
	}
	return true
}

// on returns the pixel at the share f of the length of a side; nil: it lies outside the picture.
func (q Quad) on(im *photo.Linear, side int, f float64) []float32 {
	a, b := q[side], q[(side+1)%4]
	x, y := int(math.Round(a[0]+f*(b[0]-a[0]))), int(math.Round(a[1]+f*(b[1]-a[1])))
	if x < 0 || y < 0 || x >= im.W || y >= im.H {
		return nil
	}
	return im.Pix[3*(y*im.W+x):]
}

// SplitStrip splits the outline of a strip, its four corners in order around it, into three patches along its longer
// sides, with white at the lighter end. ok is false where luminance does not fall from one end to the other.
func SplitStrip(im *photo.Linear, q Quad) (s StripQuad, ok bool) {
	d := q.sides()
	if d[1]+d[3] > d[0]+d[2] {
		q = Quad{q[1], q[2], q[3], q[0]}
	}
	on := func(a, b [2]float64, f float64) [2]float64 {
		return [2]float64{a[0] + f*(b[0]-a[0]), a[1] + f*(b[1]-a[1])}
	}
	var part [3]Quad
	var lum [3]float64
	for k := range 3 {
		f, g := float64(k)/3, float64(k+1)/3
		part[k] = Quad{on(q[0], q[1], f), on(q[0], q[1], g), on(q[3], q[2], g), on(q[3], q[2], f)}
		p := face(im, part[k])
		if p.Pixels < 12 {
			return s, false
		}
		lum[k] = luminance(p.RGB[:])
	}
	if lum[0] < lum[2] {
		part[0], part[2] = part[2], part[0]
		lum[0], lum[2] = lum[2], lum[0]
	}
	s = StripQuad{part[0], part[1], part[2]}
	return s, lum[0] > 1.3*lum[1] && lum[1] > 1.3*lum[2]
}

// ReadStrip reads the three patches. y is the reflectance of white, grey and black; 0: that of [UsualStrip].
func ReadStrip(im *photo.Linear, s StripQuad, y [3]float64) Strip {
	for i := range y {
		y[i] = cmp.Or(y[i], UsualStrip[i])
	}
	return Strip{Read(im, s.White, y[0]), Read(im, s.Grey, y[1]), Read(im, s.Black, y[2])}
}
