package tag

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/colorimg/photo"
	"hueward/colorimg/shape"

	"gonum.org/v1/gonum/floats"
)

// lightness is a picture as [read] sees it.
func lightness(g *image.Gray) *photo.Lightness {
	return &photo.Lightness{W: g.Rect.Dx(), H: g.Rect.Dy(), Pix: g.Pix, DX: 1, DY: g.Stride}
}

// pose is how a tag is held and seen.
type pose struct {
	text    string
	width   float64 // of the code, pixels, seen straight on
	turn    float64 // radians
	tilt    float64 // radians, about an axis turned by lean
	lean    float64
	light   float64    // of white paper, linear, 1 for the brightest code
	slope   float64    // fall-off across the code, as a share
	shadow  bool       // half the code in a shadow with an edge
	blur    float64    // standard deviation, pixels
	motion  float64    // blur along one way, pixels
	noise   float64    // standard deviation of the codes
	quality int        // JPEG
	cover   [3]float64 // a disc laid over it: place in code widths, radius; radius 0 none
	cx, cy  float64
}

// draw lays the tag over a picture; what is near it is blurred with it. Returned
// are the code's true corners.
//
// The camera is a pinhole with a focal length of four fifths of the picture's
// longer side, a phone's main camera (about 28 mm on film; common practice, no source).
func (p pose) draw(t testing.TB, im *image.Gray) (corners [4][2]float64) {
	t.Helper()
	rows := must.Have(Matrix(p.text))(t)
	focal := 0.8 * float64(max(im.Rect.Dx(), im.Rect.Dy()))
	distance := focal / p.width // the code is 1 wide
	sinT, cosT := math.Sincos(p.turn)
	sinL, cosL := math.Sincos(p.lean)
	sin, cos := math.Sincos(p.tilt)
	see := func(u, v float64) [2]float64 {
		u, v = u-0.5, v-0.5
		u, v = u*cosT-v*sinT, u*sinT+v*cosT
		a, b := u*cosL+v*sinL, -u*sinL+v*cosL // b is across the axis
		z := distance + b*sin
		b *= cos
		u, v = a*cosL-b*sinL, a*sinL+b*cosL
		return [2]float64{p.cx + focal*u/z, p.cy + focal*v/z}
	}
	for i, c := range [4][2]float64{{0, 0}, {1, 0}, {1, 1}, {0, 1}} {
		corners[i] = see(c[0], c[1])
	}
	h, ok := shape.SquareTo(corners, 1)
	if !ok {
		t.Fatalf("pose %+v is seen from behind", p)
	}
	inv, _ := h.Inverse()
	n := float64(len(rows))
	margin := Quiet / n
	reach := int(p.width*1.2) + 8
	x0, y0 := max(0, int(p.cx)-reach), max(0, int(p.cy)-reach)
	x1, y1 := min(im.Rect.Dx(), int(p.cx)+reach), min(im.Rect.Dy(), int(p.cy)+reach)
	const fine = 3 // samples a pixel and way
	lin := make([]float64, (x1-x0)*(y1-y0))
	for y := y0; y < y1; y++ {
		for x := x0; x < x1; x++ {
			if u, v := inv.Apply(float64(x), float64(y)); max(math.Abs(u-0.5), math.Abs(v-0.5)) > 0.5+margin+3/p.width { // all beside it
				lin[(y-y0)*(x1-x0)+x-x0] = decoded[im.GrayAt(x, y).Y]
				continue
			}
			sum := 0.0
			for k := range fine * fine {
				px := float64(x) + (float64(k%fine)+0.5)/fine - 0.5
				py := float64(y) + (float64(k/fine)+0.5)/fine - 0.5
				u, v := inv.Apply(px, py)
				if !(u > -margin && v > -margin && u < 1+margin && v < 1+margin) {
					sum += decoded[im.GrayAt(x, y).Y]
					continue
				}
				if r := p.cover[2]; r > 0 && math.Hypot(u-p.cover[0], v-p.cover[1]) < r {
					sum += 0.25 * p.light
					continue
				}
				level := 0.85
				if dark(rows, int(math.Floor(u*n)), int(math.Floor(v*n))) {
					level = 0.05
				}
				level *= p.light * (1 + p.slope*(u-0.5))
				if p.shadow && u+0.3*v < 0.6 {
					level *= 0.35
				}
				sum += level
			}
			lin[(y-y0)*(x1-x0)+x-x0] = sum / fine / fine
		}
	}
	w, hh := x1-x0, y1-y0
	lin = smooth(lin, w, hh, p.blur, 1, 0)
	lin = smooth(lin, w, hh, p.blur, 0, 1)
	if p.motion > 0 {
		lin = smear(lin, w, hh, p.motion, 0.8, 0.6)
	}
	rnd := rand.New(rand.NewPCG(uint64(p.cx*1000), uint64(p.turn*1e6)))
	for y := y0; y < y1; y++ {
		for x := x0; x < x1; x++ {
			v := 255*cie.Encode(lin[(y-y0)*w+x-x0]) + p.noise*rnd.NormFloat64()
			im.SetGray(x, y, color.Gray{Y: uint8(math.Max(0, math.Min(255, math.Round(v))))})
		}
	}
	return corners
}

// decoded is the sRGB curve.
var decoded = func() (d [256]float64) {
	for i := range d {
		d[i] = cie.Linear(float64(i) / 255)
	}
	return d
}()

// smooth blurs by a normal curve along dx, dy.
func smooth(v []float64, w, h int, sd float64, dx, dy int) []float64 {
	if sd == 0 {
		return v
	}
	r := int(math.Ceil(3 * sd))
	k := make([]float64, 2*r+1)
	for i := range k {
		d := float64(i - r)
		k[i] = math.Exp(-d * d / 2 / sd / sd)
	}
	return along(v, w, h, k, func(i int) (x, y int) { return dx * (i - r), dy * (i - r) })
}

// smear moves the camera by so much along dx, dy.
func smear(v []float64, w, h int, length, dx, dy float64) []float64 {
	k := slices.Repeat([]float64{1}, 15)
	return along(v, w, h, k, func(i int) (x, y int) {
		d := length * (float64(i)/14 - 0.5)
		return int(math.Round(d * dx)), int(math.Round(d * dy))
	})
}

// along is the mean of places beside each, of such weights.
func along(v []float64, w, h int, weights []float64, at func(i int) (x, y int)) []float64 {
	out, total := make([]float64, len(v)), floats.Sum(weights)
	for i, k := range weights {
		dx, dy := at(i)
		for y := range h {
			from, to := v[min(max(y+dy, 0), h-1)*w:], out[y*w:]
			for x := range w {
				to[x] += k * from[min(max(x+dx, 0), w-1)] / total
			}
		}
	}
	return out
}

// ground is a picture of one of a garden's textures.
func ground(kind string, w, h int, seed uint64) *image.Gray {
	rnd := rand.New(rand.NewPCG(seed, 11))
	im := image.NewGray(image.Rect(0, 0, w, h))
	switch kind {
	case "noise":
		for i := range im.Pix {
			im.Pix[i] = uint8(rnd.IntN(256))
		}
	case "leaves", "soil":
		dark, light, long := 30.0, 140.0, 0.06
		if kind == "soil" {
			dark, light, long = 40, 90, 0.006
		}
		for i := range im.Pix {
			im.Pix[i] = uint8(dark)
		}
		n := int(6 / long)
		if kind == "soil" {
			n = 9000
		}
		for range n {
			// A blade: an ellipse with a bright rib and a light of its own.
			cx, cy := rnd.Float64()*float64(w), rnd.Float64()*float64(h)
			a := long * float64(w) * (0.4 + rnd.Float64())
			b := a * (0.2 + 0.4*rnd.Float64())
			sin, cos := math.Sincos(rnd.Float64() * 2 * math.Pi)
			base, grad := dark+rnd.Float64()*(light-dark), (rnd.Float64()-0.5)*40
			for y := max(0, int(cy-a)); y < min(h, int(cy+a)+1); y++ {
				for x := max(0, int(cx-a)); x < min(w, int(cx+a)+1); x++ {
					u := ((float64(x)-cx)*cos + (float64(y)-cy)*sin) / a
					v := (-(float64(x)-cx)*sin + (float64(y)-cy)*cos) / b
					if u*u+v*v > 1 {
						continue
					}
					g := base + grad*v + 6*rnd.NormFloat64()
					if math.Abs(v) < 0.06 {
						g += 25
					}
					im.Pix[y*im.Stride+x] = uint8(math.Max(0, math.Min(255, g)))
				}
			}
		}
	default: // an even board
		for i := range im.Pix {
			im.Pix[i] = uint8(118 + 2*rnd.NormFloat64())
		}
	}
	return im
}

// compressed is the picture after JPEG.
func compressed(t testing.TB, im *image.Gray, quality int) *image.Gray {
	t.Helper()
	var b bytes.Buffer
	must.OK(t, jpeg.Encode(&b, im, &jpeg.Options{Quality: quality}))
	return must.Have(jpeg.Decode(&b))(t).(*image.Gray)
}
