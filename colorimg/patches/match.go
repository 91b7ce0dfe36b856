package patches

import (
	"math"

	"hueward/colorimg/card"
	"hueward/colorimg/cie"
	"hueward/colorimg/photo"
	"hueward/colorimg/robust"
)

// Scores from which a set is taken to be what the picture shows. A chart that a phone has given contrast and saturation
// scores 0.9 and more, the same chart laid another way round below 0.5; see TestFindRendered.
const (
	accept = 0.75 // found without being pointed out
	agrees = 0.6  // where the user has pointed
	margin = 0.08 // by which it must beat the other ways round
)

// match returns how well the light that was read agrees with the known colours (both linear sRGB), 0 to 1: the share of the
// variance of its logarithms that theirs explain. It is independent of the light's colour and strength, and of a contrast
// that all channels share.
func match(read, known [][3]float64) float64 {
	n := len(read)
	if n < 2 {
		return 0
	}
	const floor = 0.02 // of the middle patch's light: keeps black ones from ruling
	x, y := make([]float64, n), make([]float64, n)
	var xx, xy, yy float64
	for c := range 3 {
		for i := range read {
			x[i], y[i] = known[i][c], read[i][c]
		}
		for _, v := range [][]float64{x, y} {
			mid := robust.Median(append([]float64(nil), v...))
			if !(mid > 1e-6) {
				return 0
			}
			mean := 0.0
			for i := range v {
				v[i] = math.Log(max(v[i], 0)/mid + floor)
				mean += v[i] / float64(n)
			}
			for i := range v {
				v[i] -= mean
			}
		}
		for i := range x {
			xx, xy, yy = xx+x[i]*x[i], xy+x[i]*y[i], yy+y[i]*y[i]
		}
	}
	if !(xx > 1e-9 && yy > 1e-3*float64(n) && xy > 0) {
		return 0
	}
	contrast := min(max(xy/xx, 0.4), 2.5)
	return max(0, 1-(yy-2*contrast*xy+contrast*contrast*xx)/yy)
}

// known are the patches' colours as linear sRGB.
func (s *Set) known() [][3]float64 {
	out := make([][3]float64, len(s.Patches))
	for i, p := range s.Patches {
		out[i] = cie.SRGB.RGB(p.Ref)
	}
	return out
}

// mean returns the mean colour within q; where q contains no pixel's centre, the colour of the nearest pixel.
func mean(im *photo.Linear, q card.Quad) (rgb [3]float64, ok bool) {
	cx, cy := q.Center()
	x, y := int(math.Round(cx)), int(math.Round(cy))
	if !(cx >= 0 && cy >= 0) || x >= im.W || y >= im.H {
		return rgb, false
	}
	n := 0.0
	q.Each(im.W, im.H, func(x, y int) {
		i := 3 * (y*im.W + x)
		for c := range 3 {
			rgb[c] += float64(im.Pix[i+c])
		}
		n++
	})
	if n == 0 {
		i := 3 * (y*im.W + x)
		return [3]float64{float64(im.Pix[i]), float64(im.Pix[i+1]), float64(im.Pix[i+2])}, true
	}
	for c := range 3 {
		rgb[c] /= n
	}
	return rgb, true
}

// score returns how well the picture's colours agree with the set laid on q.
func (s *Set) score(im *photo.Linear, q card.Quad) float64 {
	h, ok := fitPlane(s.corners(), q[:])
	rgb := make([][3]float64, len(s.Patches))
	for i, p := range s.Patches {
		if ok { // all patches lie in the picture
			rgb[i], ok = mean(im, h.patch(float64(p.Col), float64(p.Row), 0.5*s.half()))
		}
	}
	if !ok {
		return 0
	}
	return match(rgb, s.known())
}
