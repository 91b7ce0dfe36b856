package patches

import (
	"math"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"hueward/colorimg/card"
	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/colorimg/photo"
)

// shot is a made-up photo of a set of patches.
type shot struct {
	w, h       int // 0: 800 × 600
	quad       card.Quad
	light      [3]float64 // of linear red, green, blue; zero: 1
	gradient   float64    // light lost from the left edge to the right
	contrast   float64    // share of an S-shaped curve mixed into the codes
	saturation float64    // chroma added, as a share
	noise      float64    // standard deviation of a code, in 255ths
	busy       bool       // the set lies on gravel and leaves, not on a board
	seed       uint64
}

// garden is the set of testdata.
func garden(t testing.TB) *Set {
	t.Helper()
	s := must.Have(Open(filepath.Join("testdata", "garden24.txt")))(t)
	return s
}

// turned is the quad of a w × h rectangle around (x, y), turned clockwise, its
// first side shorter by the share tilt.
func turned(x, y, w, h, degrees, tilt float64) card.Quad {
	sin, cos := math.Sincos(degrees * math.Pi / 180)
	var q card.Quad
	for i, uv := range [4][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
		u, v := uv[0]*w/2, uv[1]*h/2
		if i < 2 {
			u *= 1 - tilt
		}
		q[i] = [2]float64{x + u*cos - v*sin, y + u*sin + v*cos}
	}
	return q
}

// The sRGB transfer function and its inverse, as tables.
var codes, linear = func() (c [1 << 16]float64, l [256]float32) {
	for i := range c {
		c[i] = cie.Encode(float64(i) / (1<<16 - 1))
	}
	for i := range l {
		l[i] = float32(cie.Linear(float64(i) / 255))
	}
	return c, l
}()

// draw makes the photo: patches on a black card on a ground, each pixel the mean
// of 2 × 2 points, then light, curve, saturation, noise and eight bits.
func draw(t testing.TB, s *Set, o shot) *photo.Linear {
	t.Helper()
	if o.w == 0 {
		o.w, o.h = 800, 600
	}
	if o.light == ([3]float64{}) {
		o.light = [3]float64{1, 1, 1}
	}
	// From the picture to the grid.
	back, ok := fitPlane(o.quad[:], s.corners())
	if !ok {
		t.Fatal("no plane for the quad")
	}
	known := s.known()
	cells := map[[2]int]int{}
	for i, p := range s.Patches {
		cells[[2]int{p.Col, p.Row}] = i
	}
	r := rand.New(rand.NewPCG(o.seed, 1))
	ground := make([][3]float64, o.w*o.h)
	for i := range ground {
		ground[i] = [3]float64{0.42, 0.36, 0.27}
	}
	if o.busy {
		for range 700 {
			l := cie.SRGB.RGB(cie.Lab{L: 15 + 60*r.Float64(), A: -25 + 35*r.Float64(), B: 35 * r.Float64()}.XYZ())
			x, y, radius := r.IntN(o.w), r.IntN(o.h), 6+r.IntN(22)
			for j := max(0, y-radius); j < min(o.h, y+radius); j++ {
				for i := max(0, x-radius); i < min(o.w, x+radius); i++ {
					if (i-x)*(i-x)+(j-y)*(j-y) < radius*radius {
						ground[j*o.w+i] = l
					}
				}
			}
		}
	}
	h := s.half()
	point := func(x, y float64, ground [3]float64) [3]float64 {
		u, v := back.Apply(x, y)
		if u < -h-0.2 || v < -h-0.2 || u > float64(s.Cols-1)+h+0.2 || v > float64(s.Rows-1)+h+0.2 {
			return ground
		}
		c, w := math.Round(u), math.Round(v)
		if i, ok := cells[[2]int{int(c), int(w)}]; ok && math.Abs(u-c) < h && math.Abs(v-w) < h {
			return known[i]
		}
		return [3]float64{0.03, 0.03, 0.03}
	}
	im := &photo.Linear{W: o.w, H: o.h, ScaleX: 1, ScaleY: 1, Pix: make([]float32, 3*o.w*o.h), Clipped: make([]uint8, o.w*o.h)}
	for y := range o.h {
		for x := range o.w {
			var c [3]float64
			for k := range 4 {
				p := point(float64(x)+float64(k%2)/2-0.25, float64(y)+float64(k/2)/2-0.25, ground[y*o.w+x])
				for i := range c {
					c[i] += p[i] / 4
				}
			}
			k := 1 - o.gradient*float64(x)/float64(o.w)
			lum := 0.0
			for i := range c {
				e := codes[int(min(max(c[i]*k*o.light[i], 0), 1)*(1<<16-1)+0.5)]
				c[i] = e + o.contrast*(e*e*(3-2*e)-e)
				lum += c[i] / 3
			}
			for i := range c {
				e := lum + (1+o.saturation)*(c[i]-lum) + o.noise/255*r.NormFloat64()
				code := math.Round(255 * min(max(e, 0), 1))
				if code == 255 {
					im.Clipped[y*o.w+x] = 255
				}
				im.Pix[3*(y*o.w+x)+i] = linear[int(code)]
			}
		}
	}
	return im
}

// off is the largest distance between the corners, in their order.
func off(a, b card.Quad) float64 {
	worst := 0.0
	for i := range a {
		worst = max(worst, math.Hypot(a[i][0]-b[i][0], a[i][1]-b[i][1]))
	}
	return worst
}
