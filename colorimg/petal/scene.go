package petal

import (
	"image"
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"hueward/colorimg/cie"
	"hueward/colorimg/photo"
)

// The longest side of the two maps, in pixels: blooms are looked for on the
// coarse one, and the one chosen is drawn on the fine one.
const (
	coarseSide = 100
	fineSide   = 200
)

// scene is the small map of a corrected photo.
type scene struct {
	im     *photo.Linear
	gains  [3]float64
	cutOff []uint8    // see Options
	toXYZ  cie.Matrix // linear pixels to XYZ over that of white, gains applied
	w, h   int
	scale  float64 // working pixels per map pixel

	lab   []cie.Lab // w × h
	label []uint8   // palette entry of each pixel
	skip  []bool    // card, tag: neither petal nor background
	// Largest step between neighbouring working pixels, as a share of the light: small where out of focus; nil on the fine map.
	detail  []float32
	palette []cie.Lab
	like    [][]float64 // how alike two palette entries are, 1 the same
	right   []float32   // how alike a pixel and its right neighbour are, 0 to 1
	left    []float32   // … and the left one
	down    []float32   // … and the one below
	up      []float32   // … and the one above
}

// newScene makes the map of the part of the photo that lies within the
// working rectangle; the rest of the map is left out as if it were skipped.
func newScene(im *photo.Linear, gains [3]float64, skip func(x, y int) bool, side float64, part image.Rectangle) *scene {
	s := &scene{im: im, gains: gains, toXYZ: corrected(gains), scale: max(1, float64(max(im.W, im.H))/side)}
	s.w = max(1, int(float64(im.W)/s.scale))
	s.h = max(1, int(float64(im.H)/s.scale))
	n := s.w * s.h
	s.lab, s.skip = make([]cie.Lab, n), make([]bool, n)
	if side == coarseSide {
		s.detail = make([]float32, n)
	}
	xs, ys := starts(im.W, s.w), starts(im.H, s.h)
	parallel(s.h, func(y int) {
		for x := range s.w {
			i := y*s.w + x
			x0, x1, y0, y1 := xs[x], xs[x+1], ys[y], ys[y+1]
			if s.skip[i] = x1 <= part.Min.X || x0 >= part.Max.X || y1 <= part.Min.Y || y0 >= part.Max.Y || skip != nil &&
				skip((x0+x1)/2, (y0+y1)/2); s.skip[i] {
				continue
			}
			k := 1 / float32((x1-x0)*(y1-y0))
			r, g, b := sum(im, x0, x1, y0, y1)
			s.lab[i] = s.labOf(r*k, g*k, b*k)
			if s.detail != nil {
				s.detail[i] = largestStep(im, x0, x1, y0, y1) / (g*k + 0.02)
			}
		}
	})
	s.links()
	return s
}

// sum adds up the pixels of a rectangle.
func sum(im *photo.Linear, x0, x1, y0, y1 int) (r, g, b float32) {
	for y := y0; y < y1; y++ {
		row := im.Pix[3*(y*im.W+x0) : 3*(y*im.W+x1)]
		for k := 0; k+2 < len(row); k += 3 {
			r += row[k]
			g += row[k+1]
			b += row[k+2]
		}
	}
	return r, g, b
}

// largestStep is the largest change of green from a pixel of a rectangle to the
// next in its row.
func largestStep(im *photo.Linear, x0, x1, y0, y1 int) float32 {
	d := uint32(0) // its bits, which order as the steps do
	for y := y0; y < y1; y++ {
		row := im.Pix[3*(y*im.W+x0) : 3*(y*im.W+x1)]
		last := row[1]
		for k := 4; k < len(row); k += 3 {
			d = max(d, math.Float32bits(row[k]-last)&^(1<<31)) // no branch, of which half would be guessed wrong
			last = row[k]
		}
	}
	return math.Float32frombits(d)
}

// starts are the first working pixel of each map pixel, and the end.
func starts(size, n int) []int {
	v := make([]int, n+1)
	for i := range v {
		v[i] = (i*size + n - 1) / n
	}
	return v
}

// parallel calls f for 0 to n-1, on all processors.
func parallel(n int, f func(i int)) {
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), n) {
		wg.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				f(i)
			}
		})
	}
	wg.Wait()
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

// corrected is the matrix from a linear pixel to its corrected XYZ, as shares
// of the white.
func corrected(gains [3]float64) cie.Matrix {
	m := cie.SRGB.ToXYZ
	for i, white := range [3]float64{cie.D65.X, cie.D65.Y, cie.D65.Z} {
		for c := range 3 {
			m[i][c] *= gains[c] / white
		}
	}
	return m
}

// labOf is the corrected colour of a linear pixel. L* is kept in 0 to 130: a
// petal brighter than white is a wrong light, and is flagged elsewhere.
func (s *scene) labOf(r, g, b float32) cie.Lab {
	x, y, z := s.toXYZ.Apply(float64(r), float64(g), float64(b))
	fx, fy, fz := rootOf(x), rootOf(y), rootOf(z)
	return cie.Lab{L: min(max(116*fy-16, 0), 130), A: 500 * (fx - fy), B: 200 * (fy - fz)}
}

// roots holds the cube roots of CIELAB, rootSteps to each whole number, up to 2.
const rootSteps = 2048

var roots = func() (t [2*rootSteps + 1]float32) {
	for i := range t {
		t[i] = float32(math.Cbrt(float64(i) / rootSteps))
	}
	return t
}()

// rootOf is the f of CIELAB, read off a table between 0.01 and 2: there by
// less than 0.01 in a* and 0.002 in L* from the exact one, in a third of the
// time.
//
// Source: ISO/CIE 11664-4; TestRootOf compares it with package cie.
func rootOf(t float64) float64 {
	if !(t > 0.01 && t < 2) {
		if t <= 216./24389 {
			return (24389./27*t + 16) / 116
		}
		return math.Cbrt(t)
	}
	at := t * rootSteps
	i := int(at)
	f := float32(at - float64(i))
	return float64(roots[i] + f*(roots[i+1]-roots[i]))
}

// linkSigma is the colour step over which neighbours stop being thought of as
// the same thing.
const linkSigma = 5.0

func (s *scene) links() {
	n := s.w * s.h
	across, along := make([]float32, n+1), make([]float32, n+s.w)
	s.left, s.right, s.up, s.down = across[:n], across[1:], along[:n], along[s.w:]
	parallel(s.h, func(y int) {
		for x := range s.w {
			i := y*s.w + x
			if x+1 < s.w {
				s.right[i] = s.link(i, i+1)
			}
			if y+1 < s.h {
				s.down[i] = s.link(i, i+s.w)
			}
		}
	})
}

func (s *scene) link(i, j int) float32 {
	if s.skip[i] || s.skip[j] {
		return 0
	}
	return float32(1 / (1 + apart2(s.lab[i], s.lab[j])/(linkSigma*linkSigma)))
}

// lightWeight is how much a step in L* counts beside one in a* or b*: shading
// changes lightness most.
const lightWeight = 0.6

// apart is a plain colour distance in which lightness counts less.
func apart(p, q cie.Lab) float64 { return math.Sqrt(apart2(p, q)) }

// apart2 is its square.
func apart2(p, q cie.Lab) float64 {
	dl, da, db := lightWeight*(p.L-q.L), p.A-q.A, p.B-q.B
	return dl*dl + da*da + db*db
}
