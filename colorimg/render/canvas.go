package render

import (
	"image"

	"hueward/colorimg/cie"
)

// rgb is a linear sRGB colour, not cut to 0..1.
type rgb [3]float32

func linear(c cie.Lab) rgb {
	v := cie.SRGB.RGB(c.XYZ())
	return rgb{float32(v[0]), float32(v[1]), float32(v[2])}
}

func (c rgb) lab() cie.Lab {
	return cie.SRGB.XYZ(cie.RGB{float64(c[0]), float64(c[1]), float64(c[2])}).Lab()
}

func (c rgb) luminance() float32 {
	m := &cie.SRGB.ToXYZ[1]
	return c[0]*float32(m[0]) + c[1]*float32(m[1]) + c[2]*float32(m[2])
}

func (c rgb) times(k float32) rgb { return rgb{c[0] * k, c[1] * k, c[2] * k} }

func (c rgb) by(d rgb) rgb { return rgb{c[0] * d[0], c[1] * d[1], c[2] * d[2]} }

func (c rgb) over(d rgb) rgb { return rgb{c[0] / d[0], c[1] / d[1], c[2] / d[2]} }

func (c rgb) mix(d rgb, k float32) rgb {
	return rgb{c[0] + (d[0]-c[0])*k, c[1] + (d[1]-c[1])*k, c[2] + (d[2]-c[2])*k}
}

// canvas holds the surfaces that the camera sees. Shapes are painted from the ground up, each over what is there.
type canvas struct {
	w, h  int
	unit  float32    // size of one pixel of a picture 1600 wide: strokes and grain scale with it
	light [2]float32 // unit vector in the picture, toward the light
	refl  []rgb      // reflectance
	shade []float32  // light that reaches the surface, 1 for a flat open one
	petal []float32  // how much of the pixel is petal of the main bloom
	top   []int16    // level of the topmost blade that hides all below it; 0: none

	brown, fade []float32 // how far the petals there have withered; nil: all are fresh
}

func newCanvas(w, h int) *canvas {
	n := w * h
	return &canvas{w: w, h: h, unit: float32(w) / 1600,
		refl: make([]rgb, n), shade: make([]float32, n), petal: make([]float32, n), top: make([]int16, n)}
}

// painter is anything that can be painted into rows y0 to y1-1 alone.
type painter interface {
	paint(c *canvas, y0, y1 int)
}

// around is the pixels within m of x, y.
func around(x, y, m float32) image.Rectangle {
	return image.Rect(int(x-m), int(y-m), int(x+m)+2, int(y+m)+2)
}

// each calls f for the pixels of the box in rows y0 to y1-1, with their places.
func (c *canvas) each(y0, y1 int, box image.Rectangle, f func(i int, x, y float32)) {
	box = box.Intersect(image.Rect(0, y0, c.w, y1))
	for y := box.Min.Y; y < box.Max.Y; y++ {
		for x := box.Min.X; x < box.Max.X; x++ {
			f(y*c.w+x, float32(x), float32(y))
		}
	}
}

// put lays a surface over pixel i, covering the share k of it.
func (c *canvas) put(i int, k float32, col rgb, shade, petal float32) {
	if k >= 1 {
		c.refl[i], c.shade[i], c.petal[i] = col, shade, petal
		return
	}
	c.refl[i] = c.refl[i].mix(col, k)
	c.shade[i] += (shade - c.shade[i]) * k
	c.petal[i] += (petal - c.petal[i]) * k
}

// clamp is v cut to 0..1: written out, as min and max of floats take three times as long.
func clamp(v float32) float32 {
	if v <= 0 {
		return 0
	}
	if v >= 1 {
		return 1
	}
	return v
}

// ease is 0 below a, 1 above b, and smooth between.
func ease(a, b, v float32) float32 {
	t := clamp((v - a) / (b - a))
	return t * t * (3 - 2*t)
}
