package petal

import (
	"math"

	"hueward/colorimg/cie"
	"hueward/colorimg/photo"
)

// brightest is the linear value from which a channel of a working pixel counts
// as cut off (clipped). It is below 1 because a working pixel is the mean of
// several, some of which may not be cut off, and because JPEG's chroma
// quantisation lowers cut-off channels. Our own choice, from real photos.
const brightest = 0.93

// cut returns which channels of a native pixel are cut off: bit c for channel c.
func cut(v [3]float64) (bits uint8) {
	for c, x := range v {
		if x >= brightest {
			bits |= 1 << c
		}
	}
	return bits
}

// CutOff returns [Options.CutOff] for a picture whose values are still those of
// its file: before a tone curve, a camera model or uneven light is undone.
func CutOff(im *photo.Linear) []uint8 {
	out := make([]uint8, im.W*im.H)
	s := &scene{im: im}
	for i := range out {
		out[i] = cut(s.native(im.Pix[3*i:]))
	}
	return out
}

// cutAt returns which channels of working pixel i, whose native value is v, are cut off.
func (s *scene) cutAt(i int, v [3]float64) uint8 {
	if s.cutOff != nil {
		return s.cutOff[i]
	}
	return cut(v)
}

// restorer estimates channels that were cut off from those that were not. In
// petals of one colour, the logarithms of the channels lie near a plane: shading
// changes all three alike, and depth of colour changes them together. A
// plane is fitted for each kind of cut pixel, with the greatest weight on pixels
// like it, since a bloom may have several colours.
//
// Among pixels as bright as a cut one, those whose channel stayed below the cut
// are the weakest in it; a plane through them alone would be too low. So
// the cut ones count too, with a lower bound (censored regression).
type restorer struct {
	px    []partly
	mix   [3]float64 // sums of the channels over uncut pixels, bright ones with the greatest weight
	often [3]int     // number of pixels in which the channel is cut off
	most  [3]float64 // logarithms of a white that reflects all light
	fits  map[[3]int]plane
}

// partly is a native pixel, some channels of which may be cut off.
type partly struct {
	log  [3]float64
	bits uint8 // the channels that are cut off: see cut
}

// plane predicts log v = a + p·log u + q·log w, with standard deviation sd.
type plane struct{ a, p, q, sd float64 }

// newRestorer prepares a restorer from native pixels. ok is false where fewer than 60
// pixels have no channel cut off.
func newRestorer(px [][3]float64, bits []uint8, white [3]float64) (r *restorer, ok bool) {
	r = &restorer{most: [3]float64{math.Log(white[0]), math.Log(white[1]), math.Log(white[2])}, px: make([]partly, len(px)),
		fits: map[[3]int]plane{}}
	whole := 0
	for i, p := range px {
		r.px[i].bits = bits[i]
		for c := range 3 {
			r.px[i].log[c] = math.Log(max(p[c], 1e-4))
			if bits[i] == 0 {
				r.mix[c] += p[c] * p[c] / (p[0] + p[1] + p[2] + 1e-4)
			}
			r.often[c] += int(bits[i] >> c & 1)
		}
		if bits[i] == 0 {
			whole++
		}
	}
	return r, whole >= 60
}

// near is the standard deviation, in log light, of the weights of other pixels
// by their difference from a cut pixel in its known channels.
const near = 0.2

// fit returns the plane of channel c over the known channels u and w (the same
// twice: only one is known) for cut pixels with about the logarithms x and y in them.
func (r *restorer) fit(c, u, w int, x, y float64) plane {
	const step = 0.2
	level, tint := math.Floor((x+y)/2/step), math.Floor((x-y)/step)
	key := [3]int{c*9 + u*3 + w, int(level), int(tint)}
	if p, ok := r.fits[key]; ok {
		return p
	}
	level, tint = (level+0.5)*step, (tint+0.5)*step
	p := plane{}
	for s := near; s < 3; s *= 2 {
		var n float64
		if p, n = r.fitPlane(c, u, w, level, tint, s); n > 100 {
			break
		}
	}
	r.fits[key] = p
	return p
}

// weighed is a pixel in a fit: y over x1 and x2, with its weight.
type weighed struct {
	k, y, x1, x2 float64
	cut          bool
}

// Priors of a fit, our own choice.
const (
	ridge       = 0.3  // variance of the known channels, in log units, at which data and prior weigh the same
	usualError  = 0.06 // prior standard deviation about the plane
	usualWeight = 20.0 // number of pixels that usualError counts for
)

// fitPlane fits channel c to channels u and w (the same twice: to one) by ridge
// regression, shrunk towards pure shading, in which all channels change by
// one factor: p + q = 1. Pixels of about the given level and tint of u and w
// have the greatest weight. n is the sum of the weights of pixels in which c is not cut off.
//
// Pixels in which c is cut off enter with their expected value, given
// that they are above the cut; expectation and fit alternate.
//
// Source: the EM algorithm for censored normal regression, from memory.
func (r *restorer) fitPlane(c, u, w int, level, tint, sigma float64) (pl plane, n float64) {
	// y = log c - (log u + log w)/2 = a + d·(log u - log w)/2 + e·(log u + log w)/2,
	// with d and e shrunk towards 0.
	var in []weighed
	for _, q := range r.px {
		if q.bits>>u&1 != 0 || q.bits>>w&1 != 0 {
			continue
		}
		l := q.log
		o := weighed{y: l[c] - (l[u]+l[w])/2, x1: (l[u] - l[w]) / 2, x2: (l[u] + l[w]) / 2, cut: q.bits>>c&1 != 0}
		dl, dt := (o.x2-level)/sigma, (2*o.x1-tint)/sigma
		if u == w {
			dt = 0
		}
		if o.k = math.Exp(-(dl*dl + dt*dt) / 2); o.k < 0.01 {
			continue
		}
		if !o.cut {
			n += o.k
		}
		in = append(in, o)
	}
	if n < 1e-9 {
		return plane{0, 0.5, 0.5, 0}, 0
	}
	var a, d, e float64
	sd := usualError
	for round := range 12 { // more change nothing
		var s0, sy, s1, s2, s11, s12, s22, s1y, s2y float64
		sum, cnt := usualWeight*usualError*usualError, usualWeight
		for _, o := range in {
			y := o.y
			if round > 0 {
				m := a + d*o.x1 + e*o.x2
				more := 0.0
				if o.cut {
					y, more = nearCut(m+o.x2, sd, o.y+o.x2, r.most[c])
					y -= o.x2
				}
				sum += o.k * ((y-m)*(y-m) + more)
				cnt += o.k
			} else if o.cut {
				continue
			}
			s0 += o.k
			sy += o.k * y
			s1 += o.k * o.x1
			s2 += o.k * o.x2
			s11 += o.k * o.x1 * o.x1
			s12 += o.k * o.x1 * o.x2
			s22 += o.k * o.x2 * o.x2
			s1y += o.k * o.x1 * y
			s2y += o.k * o.x2 * y
		}
		if round > 0 {
			sd = math.Sqrt(sum / cnt)
		}
		my, m1, m2 := sy/s0, s1/s0, s2/s0
		c11, c12, c22 := s11/s0-m1*m1, s12/s0-m1*m2, s22/s0-m2*m2
		b1, b2 := s1y/s0-m1*my, s2y/s0-m2*my
		c11 += ridge
		c22 += ridge
		det := c11*c22 - c12*c12
		d, e = (b1*c22-b2*c12)/det, (b2*c11-b1*c12)/det
		if u == w {
			d, e = 0, b2/c22
		}
		d, e = min(max(d, -1.5), 1.5), min(max(e, -0.6), 0.6)
		a = my - d*m1 - e*m2
	}
	return plane{a, 0.5 + d/2 + e/2, 0.5 - d/2 + e/2, sd}, n
}

// at returns the estimated channel of a pixel where it was read as v. The arguments are
// logarithms; the result is not.
func (p plane) at(lu, lw, v, most float64) float64 {
	m, _ := nearCut(p.a+p.p*lu+p.q*lw, p.sd, v, most)
	return math.Exp(m)
}

// restore returns the native pixel with its cut-off channels estimated; false
// when all three are cut off, so that only a lower bound is known.
func (r *restorer) restore(v [3]float64, bits uint8) ([3]float64, bool) {
	out := v
	if bits == 7 { // the usual mix, as bright as it must be for all three to be cut off
		k := 0.0
		for c := range 3 {
			k = max(k, 1/max(r.mix[c], 1e-4))
		}
		for c := range 3 {
			out[c] = max(1, min(k*r.mix[c], math.Exp(r.most[c])))
		}
		return out, false
	}
	// Of two channels the one that is cut off less often is estimated first, from
	// the third, then the other from both.
	for bits != 0 {
		c := -1
		for i := range 3 {
			if bits>>i&1 != 0 && (c < 0 || r.often[i] < r.often[c]) {
				c = i
			}
		}
		u, w := (c+1)%3, (c+2)%3
		if bits>>u&1 != 0 {
			u = w
		}
		if bits>>w&1 != 0 {
			w = u
		}
		lu, lw := math.Log(max(out[u], 1e-4)), math.Log(max(out[w], 1e-4))
		x := r.fit(c, u, w, lu, lw).at(lu, lw, math.Log(v[c]), r.most[c])
		out[c] = x
		bits &^= 1 << c
	}
	return out, true
}

// native returns a pixel in the photo's own channels.
func (s *scene) native(p []float32) [3]float64 {
	x, y, z := s.im.Native.Apply(float64(p[0]), float64(p[1]), float64(p[2]))
	return [3]float64{x, y, z}
}

// labOfNative returns the corrected colour of a native pixel.
func labOfNative(v [3]float64, back cie.Matrix, gains [3]float64) cie.Lab {
	r, g, b := back.Apply(v[0], v[1], v[2])
	c := cie.SRGB.XYZ(cie.RGB{r * gains[0], g * gains[1], b * gains[2]}).Lab()
	c.L = max(c.L, 0)
	return c
}
