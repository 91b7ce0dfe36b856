package card

import (
	"cmp"
	"math"
	"slices"

	"hueward/colorimg/cie"
	"hueward/colorimg/photo"
	"hueward/colorimg/robust"
)

// Patch is the light as read off a card's face.
type Patch struct {
	RGB     [3]float64 // trimmed mean linear colour
	SE      [3]float64 // standard error of RGB, from the scatter between blocks
	Noise   float64    // robust standard deviation of the pixels' luminance, relative to its median
	Patchy  float64    // the same for blocks of 4 × 4 pixels: it hardly shows grain, but a shadow's edge
	Slope   float64    // change of luminance across the patch, relative to its mean
	Clipped float64    // share of the face that is too bright to read
	Pixels  int        // number of working pixels read
	Grad    [2]float64 // change of luminance for one working pixel to the right and down, relative to the mean
	GradSE  [2]float64 // standard error of Grad
	Y       float64    // the card's known reflectance: the luminance that RGB stands for
}

// DefaultY is the reflectance of the usual grey card of 18 %.
const DefaultY = 0.18

// Read reads the inner part of the patch q, 78 % of its width or less for a small one, so that border, blur and a
// slightly wrong corner stay out. y is the card's reflectance; 0: [DefaultY].
//
// RGB is the trimmed mean over blocks of 4 × 4 pixels, without the lowest and the highest fifth, so that
// a scratch, a thumb or a leaf's tip changes little.
func Read(im *photo.Linear, q Quad, y float64) Patch {
	p := face(im, q)
	p.Y = cmp.Or(y, DefaultY)
	if p.Pixels > 0 {
		p.Grad, p.GradSE = gradient(im, q)
	}
	return p
}

// face is [Read] without Y and the gradient, which takes half of the time and which a place that is only tried does not need.
func face(im *photo.Linear, q Quad) (p Patch) {
	in := q.Shrunk(q.inner())
	cx, cy := q.Center()
	ux, uy := q[1][0]-q[0][0], q[1][1]-q[0][1]
	vx, vy := q[3][0]-q[0][0], q[3][1]-q[0][1]
	un, vn := math.Hypot(ux, uy), math.Hypot(vx, vy)

	type block struct {
		rgb [3]float64
		n   float64
	}
	// Blocks lie on the picture's own grid; those that overlap the patch are stored row by row.
	bx0, by0, bx1, by1 := in.bounds()
	x0, y0 := max(0, int(bx0))/4, max(0, int(by0))/4
	across := max(0, min(im.W-1, int(bx1))/4-x0+1)
	blocks := make([]block, across*max(0, min(im.H-1, int(by1))/4-y0+1))
	lum := make([]float64, 0, 16*len(blocks))
	perU, perV := 1/(un*un+1e-9), 1/(vn*vn+1e-9)
	var su, sv, suu, svv, sl float64 // sums for the regression of luminance on u and v, the positions along the sides
	var slu, slv float64
	clipped := 0
	in.Each(im.W, im.H, func(x, yy int) {
		i := yy*im.W + x
		b := &blocks[(yy/4-y0)*across+x/4-x0]
		for c := range 3 {
			b.rgb[c] += float64(im.Pix[3*i+c])
		}
		b.n++
		if im.Clipped[i] > 127 {
			clipped++
		}
		l := luminance(im.Pix[3*i:])
		lum = append(lum, l)
		dx, dy := float64(x)-cx, float64(yy)-cy
		u, v := (dx*ux+dy*uy)*perU, (dx*vx+dy*vy)*perV
		su, sv, suu, svv = su+u, sv+v, suu+u*u, svv+v*v
		sl, slu, slv = sl+l, slu+l*u, slv+l*v
	})
	p.Pixels = len(lum)
	if p.Pixels == 0 {
		return p
	}
	n := float64(p.Pixels)
	p.Clipped = float64(clipped) / n
	mean := sl / n
	if mean > 0 {
		gu := (slu - su*mean) / max(1e-9, suu-su*su/n)
		gv := (slv - sv*mean) / max(1e-9, svv-sv*sv/n)
		p.Slope = math.Hypot(gu, gv) / mean
	}
	var light []float64
	for _, b := range blocks {
		if b.n >= 6 {
			light = append(light, luminance(b.rgb[:])/b.n)
		}
	}
	if p.Noise, p.Patchy = scatter(lum), 0; len(light) >= 12 {
		p.Patchy = scatter(light)
	} else { // a very small patch
		p.Patchy = p.Noise
	}

	for c := range 3 {
		var v []float64
		for _, b := range blocks {
			if b.n >= 6 {
				v = append(v, b.rgb[c]/b.n)
			}
		}
		if len(v) < 3 { // a very small patch: plain mean of all pixels
			v = v[:0]
			for _, b := range blocks {
				if b.n > 0 {
					v = append(v, b.rgb[c]/b.n)
				}
			}
		}
		p.RGB[c], p.SE[c] = trimmedMean(v, 0.2)
	}
	return p
}

// inner returns the share of the patch's width that is read: 78 %, or less, down to half, where that would come nearer
// than 5.5 pixels to the outline, as the outline of a small card includes its thin, blurred border.
func (q Quad) inner() float64 {
	d := q.sides()
	return max(0.5, min(0.78, 1-11/min(d[0], d[1], d[2], d[3])))
}

// luminance returns Y of a linear sRGB colour (IEC 61966-2-1).
func luminance[T robust.Number](p []T) float64 {
	return 0.2126*float64(p[0]) + 0.7152*float64(p[1]) + 0.0722*float64(p[2])
}

// Gains returns the factors on linear red, green and blue that turn the patch into
// a neutral grey of luminance p.Y.
func (p Patch) Gains() [3]float64 {
	var g [3]float64
	for c := range 3 {
		g[c] = p.Y / max(p.RGB[c], 1e-6)
	}
	return g
}

// EV returns the photo's exposure in stops: 0 where the patch has its true luminance, negative where it is darker.
func (p Patch) EV() float64 { return math.Log2(max(p.xyz().Y, 1e-9) / p.Y) }

// Light returns the correlated colour temperature of the illuminant as the photo shows it, in kelvin, and its distance
// from the daylight locus in u'v'. After a camera's white balance it is nearer to 6500 K than it was.
func (p Patch) Light() (kelvin, duv float64) { return cie.DaylightDistance(p.xyz()) }

func (p Patch) xyz() cie.XYZ { return cie.SRGB.XYZ(p.RGB) }

// trimmedMean returns the mean without the share f of the values at either end, and its standard error.
func trimmedMean(v []float64, f float64) (mean, se float64) {
	s := slices.Clone(v)
	slices.Sort(s)
	k := int(f * float64(len(s)))
	s = s[k : len(s)-k]
	for _, x := range s {
		mean += x / float64(len(s))
	}
	for _, x := range s {
		se += (x - mean) * (x - mean)
	}
	n := float64(len(s))
	if n < 2 {
		return mean, math.Abs(mean) * 0.02
	}
	return mean, math.Sqrt(se/(n-1)/n) / (1 - 2*f)
}

// scatter returns the robust standard deviation of v (by the median absolute deviation), relative to its median. It changes v.
func scatter(v []float64) float64 {
	mid := robust.Median(v)
	for i, l := range v {
		v[i] = math.Abs(l - mid)
	}
	return 1.4826 * robust.Median(v) / max(mid, 1e-6)
}
