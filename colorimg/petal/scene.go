package petal

import (
	"math"

	"hueward/colorimg/cie"
	"hueward/colorimg/photo"
)

// The longest side of the two maps, in pixels: blooms are looked for on the
// coarse one, and the one chosen is drawn on the fine one.
const (
	coarseSide = 144
	fineSide   = 320
)

// scene is the small map of a corrected photo.
type scene struct {
	im    *photo.Linear
	gains [3]float64
	w, h  int
	scale float64 // working pixels per map pixel

	lab     []cie.Lab // w × h
	label   []uint8   // palette entry of each pixel
	skip    []bool    // card, tag: neither petal nor background
	clipped []uint8   // share of clipped area, 0 to 255
	palette []cie.Lab
	like    [][]float64 // how alike two palette entries are, 1 the same
	right   []float32   // how alike a pixel and its right neighbour are, 0 to 1
	down    []float32   // … and the one below
}

func newScene(im *photo.Linear, gains [3]float64, skip func(x, y int) bool, side float64) *scene {
	s := &scene{im: im, gains: gains, scale: max(1, float64(max(im.W, im.H))/side)}
	s.w = max(1, int(float64(im.W)/s.scale))
	s.h = max(1, int(float64(im.H)/s.scale))
	n := s.w * s.h
	s.lab, s.skip, s.clipped = make([]cie.Lab, n), make([]bool, n), make([]uint8, n)
	var sum = make([][5]float32, n)
	xs := make([]int, im.W)
	for x := range xs {
		xs[x] = min(s.w-1, x*s.w/im.W)
	}
	for y := range im.H {
		row := sum[min(s.h-1, y*s.h/im.H)*s.w:]
		p, c := im.Pix[3*y*im.W:], im.Clipped[y*im.W:]
		for x, k := range xs {
			t := &row[k]
			t[0] += p[3*x]
			t[1] += p[3*x+1]
			t[2] += p[3*x+2]
			t[3] += float32(c[x])
			t[4]++
		}
	}
	for i, t := range sum {
		k := 1 / t[4]
		s.lab[i] = s.labOf(t[0]*k, t[1]*k, t[2]*k)
		s.clipped[i] = uint8(t[3] * k)
		if skip != nil {
			x, y := s.toWork(float64(i%s.w), float64(i/s.w))
			s.skip[i] = skip(int(x+0.5), int(y+0.5))
		}
	}
	s.links()
	return s
}

// toWork and toMap turn map positions into working positions and back.
func (s *scene) toWork(x, y float64) (float64, float64) {
	fx, fy := float64(s.im.W)/float64(s.w), float64(s.im.H)/float64(s.h)
	return (x+0.5)*fx - 0.5, (y+0.5)*fy - 0.5
}

func (s *scene) toMap(x, y float64) (float64, float64) {
	fx, fy := float64(s.im.W)/float64(s.w), float64(s.im.H)/float64(s.h)
	return (x+0.5)/fx - 0.5, (y+0.5)/fy - 0.5
}

// labOf is the corrected colour of a linear pixel. L* is kept in 0 to 130: a
// petal brighter than white is a wrong light, and is flagged elsewhere.
func (s *scene) labOf(r, g, b float32) cie.Lab {
	x := cie.SRGB.XYZ(cie.RGB{R: float64(r) * s.gains[0], G: float64(g) * s.gains[1], B: float64(b) * s.gains[2]})
	c := x.Lab()
	c.L = min(max(c.L, 0), 130)
	return c
}

// linkSigma is the colour step over which neighbours stop being thought of as
// the same thing.
const linkSigma = 5.0

func (s *scene) links() {
	n := s.w * s.h
	s.right, s.down = make([]float32, n), make([]float32, n)
	for y := range s.h {
		for x := range s.w {
			i := y*s.w + x
			if x+1 < s.w {
				s.right[i] = s.link(i, i+1)
			}
			if y+1 < s.h {
				s.down[i] = s.link(i, i+s.w)
			}
		}
	}
}

func (s *scene) link(i, j int) float32 {
	if s.skip[i] || s.skip[j] {
		return 0
	}
	d := apart(s.lab[i], s.lab[j]) / linkSigma
	return float32(1 / (1 + d*d))
}

// lightWeight is how much a step in L* counts beside one in a* or b*: shading
// changes lightness most.
const lightWeight = 0.6

// apart is a plain colour distance with lightness at half weight.
func apart(p, q cie.Lab) float64 {
	dl, da, db := lightWeight*(p.L-q.L), p.A-q.A, p.B-q.B
	return math.Sqrt(dl*dl + da*da + db*db)
}
