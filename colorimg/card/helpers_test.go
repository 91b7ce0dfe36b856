package card_test

import (
	"image"
	"image/color"
	"math"
	"testing"

	"hueward/colorimg/card"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
	"hueward/colorimg/render/scenes"
)

// picture draws the scene and opens it as a phone's JPEG would be.
func picture(t testing.TB, s render.Scene) (*photo.Linear, render.Truth) {
	t.Helper()
	p, truth := scenes.Shoot(t, s)
	return p.Image, truth
}

// field is a picture of one linear colour.
func field(w, h int, rgb [3]float32) *photo.Linear {
	im := &photo.Linear{W: w, H: h, ScaleX: 1, ScaleY: 1, Pix: make([]float32, 3*w*h), Clipped: make([]uint8, w*h)}
	for i := range w * h {
		copy(im.Pix[3*i:], rgb[:])
	}
	return im
}

// cover lays the colour over the quad, pixels on its edge in part, by counting
// 5 × 5 points of each.
func cover(im *photo.Linear, q card.Quad, rgb [3]float32) {
	grown := q.Shrunk(1.3)
	grown.Each(im.W, im.H, func(x, y int) {
		n := 0
		for j := range 25 {
			if q.Contains(float64(x)+float64(j%5-2)/5, float64(y)+float64(j/5-2)/5) {
				n++
			}
		}
		k := float32(n) / 25
		p := im.Pix[3*(y*im.W+x):]
		for c := range 3 {
			p[c] += k * (rgb[c] - p[c])
		}
	})
}

// turned is the quad of a w × h rectangle around (x, y), turned clockwise.
func turned(x, y, w, h, degrees float64) card.Quad {
	sin, cos := math.Sincos(degrees * math.Pi / 180)
	var q card.Quad
	for i, uv := range [4][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
		u, v := uv[0]*w/2, uv[1]*h/2
		q[i] = [2]float64{x + u*cos - v*sin, y + u*sin + v*cos}
	}
	return q
}

// quarter is the picture turned clockwise by a quarter.
func quarter(im *photo.Linear) *photo.Linear {
	out := &photo.Linear{W: im.H, H: im.W, ScaleX: im.ScaleY, ScaleY: im.ScaleX, Pix: make([]float32, len(im.Pix)),
		Clipped: make([]uint8, len(im.Clipped))}
	for y := range im.H {
		for x := range im.W {
			i, j := y*im.W+x, x*out.W+im.H-1-y
			copy(out.Pix[3*j:3*j+3], im.Pix[3*i:])
			out.Clipped[j] = im.Clipped[i]
		}
	}
	return out
}

// corner is the largest distance of a corner of q from the nearest of want's.
func corner(q, want card.Quad) float64 {
	worst := 0.0
	for _, p := range want {
		best := math.Inf(1)
		for _, c := range q {
			best = min(best, math.Hypot(p[0]-c[0], p[1]-c[1]))
		}
		worst = max(worst, best)
	}
	return worst
}

// rectangle paints a rectangle of the picture.
func rectangle(im *image.NRGBA, r image.Rectangle, c color.NRGBA) {
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			im.SetNRGBA(x, y, c)
		}
	}
}
