package petal

import (
	"math"

	"hueward/colorimg/cie"
	"hueward/colorimg/photo"
)

// brightest is the linear value from which a channel of a working pixel counts
// as cut off. Below 1, since a pixel that is the mean of some that were cut
// off and some that were not is already too low, and since a JPEG's rounding
// of colour pulls cut-off channels down. Our own choice, from real photos.
const brightest = 0.93

// cut says which channels of a native pixel are cut off, a bit each.
func cut(v [3]float64) (bits uint8) {
	for c, x := range v {
		if x >= brightest {
			bits |= 1 << c
		}
	}
	return bits
}

// CutOff is [Options.CutOff] of a picture before anything has been taken out of
// it, by the channels' own values.
func CutOff(im *photo.Linear) []uint8 {
	out := make([]uint8, im.W*im.H)
	s := &scene{im: im}
	for i := range out {
		out[i] = cut(s.native(im.Pix[3*i:]))
	}
	return out
}

func (s *scene) cutAt(i int, v [3]float64) uint8 {
	if s.cutOff != nil {
		return s.cutOff[i]
	}
	return cut(v)
}

// restorer estimates channels that were cut off from those that were not. In
// petals of one colour the logarithms of the channels lie near a plane: light
// and shade move all three alike, and depth of colour moves them together. The
// plane is fitted anew for each kind of cut pixel, to the sound pixels nearest
// to it, since a bloom may have several colours.
type restorer struct {
	logs [][3]float64 // of the sound pixels, native
	mix  [3]float64   // channels of the bright pixels, in proportion
	fits map[[3]int]plane
}

// plane is log v = a + p·x + q·y with x = log u, y = log w.
type plane struct{ a, p, q float64 }

// newRestorer learns from native pixels of which no channel is cut off. ok is
// false when there are too few.
func newRestorer(px [][3]float64) (r *restorer, ok bool) {
	if len(px) < 60 {
		return nil, false
	}
	r = &restorer{logs: make([][3]float64, len(px)), fits: map[[3]int]plane{}}
	for i, p := range px {
		for c := range 3 {
			r.logs[i][c] = math.Log(max(p[c], 1e-4))
			r.mix[c] += p[c] * p[c] / (p[0] + p[1] + p[2] + 1e-4)
		}
	}
	return r, true
}

// near is how far from a cut pixel's known channels, in log light, a sound
// pixel counts most.
const near = 1.0

// fit is the plane of channel c over the known channels u and w (the same
// twice: only one is known) for cut pixels of about the levels x and y in them.
func (r *restorer) fit(c, u, w int, x, y float64) plane {
	const step = 0.4
	level, tint := math.Floor((x+y)/2/step), math.Floor((x-y)/step)
	key := [3]int{c*9 + u*3 + w, int(level), int(tint)}
	if p, ok := r.fits[key]; ok {
		return p
	}
	level, tint = (level+0.5)*step, (tint+0.5)*step
	p := plane{}
	for s := near; s < 3; s *= 2 {
		var n float64
		if p, n = fitPlane(r.logs, c, u, w, level, tint, s); n > 25 {
			break
		}
	}
	r.fits[key] = p
	return p
}

// fitPlane fits channel c from channels u and w (the same twice: from one) by
// least squares, drawn towards pure shading, in which all channels change by
// one factor: p + q = 1. Pixels of about the given level and tint of u and w
// count most. n is how many whole pixels that comes to.
func fitPlane(logs [][3]float64, c, u, w int, level, tint, sigma float64) (pl plane, n float64) {
	// y = log c - (log u + log w)/2 = a + d·(log u - log w)/2 + e·(log u + log w)/2,
	// with d and e drawn to 0.
	var sy, s1, s2, s11, s12, s22, s1y, s2y float64
	for _, l := range logs {
		y, x1, x2 := l[c]-(l[u]+l[w])/2, (l[u]-l[w])/2, (l[u]+l[w])/2
		dl, dt := (x2-level)/sigma, (2*x1-tint)/sigma
		if u == w {
			dt = 0
		}
		k := math.Exp(-(dl*dl + dt*dt) / 2)
		n += k
		sy += k * y
		s1 += k * x1
		s2 += k * x2
		s11 += k * x1 * x1
		s12 += k * x1 * x2
		s22 += k * x2 * x2
		s1y += k * x1 * y
		s2y += k * x2 * y
	}
	if n < 1e-9 {
		return plane{0, 0.5, 0.5}, 0
	}
	my, m1, m2 := sy/n, s1/n, s2/n
	c11, c12, c22 := s11/n-m1*m1, s12/n-m1*m2, s22/n-m2*m2
	b1, b2 := s1y/n-m1*my, s2y/n-m2*my
	const ridge = 0.05 // squared log units: what a spread of about 10 % says counts half
	c11 += ridge
	c22 += ridge
	det := c11*c22 - c12*c12
	d, e := (b1*c22-b2*c12)/det, (b2*c11-b1*c12)/det
	if u == w {
		d, e = 0, b2/c22
	}
	d, e = min(max(d, -1.5), 1.5), min(max(e, -0.6), 0.6)
	a := my - d*m1 - e*m2
	return plane{a, 0.5 + d/2 + e/2, 0.5 - d/2 + e/2}, n
}

func (p plane) at(u, w float64) float64 {
	return math.Exp(p.a + p.p*math.Log(max(u, 1e-4)) + p.q*math.Log(max(w, 1e-4)))
}

// most is how much brighter than the cut a restored channel may become.
const most = 3.0

// restore returns the native pixel with its cut-off channels estimated; false
// when all three are cut off, so that only a lower bound is known.
func (r *restorer) restore(v [3]float64, bits uint8) ([3]float64, bool) {
	out := v
	switch bits {
	case 0:
		return v, true
	case 7: // the usual mix, as bright as it must be for all three to be cut off
		k := 0.0
		for c := range 3 {
			k = max(k, 1/max(r.mix[c], 1e-4))
		}
		for c := range 3 {
			out[c] = min(k*r.mix[c], most)
		}
		return out, false
	}
	for c := range 3 {
		if bits&(1<<c) == 0 {
			continue
		}
		u, w := (c+1)%3, (c+2)%3
		k := u // what is known
		if bits&(1<<u) != 0 {
			k = w
		}
		if bits&(1<<u) == 0 && bits&(1<<w) == 0 {
			k = -1
		}
		lu, lw := math.Log(max(v[u], 1e-4)), math.Log(max(v[w], 1e-4))
		if k >= 0 {
			lu = math.Log(max(v[k], 1e-4))
			lw, u, w = lu, k, k
		}
		x := r.fit(c, u, w, lu, lw).at(v[u], v[w])
		out[c] = min(max(x, v[c]), most)
	}
	return out, true
}

// native and working take a pixel to the photo's own channels and back.
func (s *scene) native(p []float32) [3]float64 {
	x, y, z := s.im.Native.Apply(float64(p[0]), float64(p[1]), float64(p[2]))
	return [3]float64{x, y, z}
}

// labOfNative is the corrected colour of a native pixel.
func labOfNative(v [3]float64, back cie.Matrix, gains [3]float64) cie.Lab {
	r, g, b := back.Apply(v[0], v[1], v[2])
	c := cie.SRGB.XYZ(cie.RGB{R: r * gains[0], G: g * gains[1], B: b * gains[2]}).Lab()
	c.L = max(c.L, 0)
	return c
}
