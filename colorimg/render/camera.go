package render

import (
	"hueward/colorimg/rows"
	"image"
	"math"
)

// codes is the sRGB transfer function as a table over 0..1, in 255ths.
var codes [1<<14 + 2]float32

// encode is the sRGB code of a linear value, cut to 0..255.
func encode(v float32) uint8 { return uint8(code(v) + 0.5) }

// code is encode before it is rounded.
func code(v float32) float32 {
	if !(v > 0) {
		return 0
	}
	if v >= 1 {
		return 255
	}
	if v < 0.0031308 { // the table is too coarse near black; linear there
		return v * (12.92 * 255)
	}
	p := v * (1 << 14)
	i := int(p)
	a := codes[i]
	return a + (codes[i+1]-a)*(p-float32(i))
}

// blur spreads every pixel by a normal curve of the standard deviation, in place, the frame's edges repeated.
func blur(pix []rgb, w, h int, sigma float64) {
	n := int(math.Ceil(2.5 * sigma))
	if sigma <= 0.05 || n == 0 {
		return
	}
	kernel := make([]float32, n+1)
	sum := 0.0
	for i := range kernel {
		v := math.Exp(-float64(i*i) / (2 * sigma * sigma))
		kernel[i] = float32(v)
		sum += 2 * v
	}
	for i := range kernel {
		kernel[i] /= float32(sum - 1)
	}
	weigh := func(out, mid []rgb, beside func(i int) (before, after []rgb)) {
		for x, v := range mid {
			out[x] = v.times(kernel[0])
		}
		for i := 1; i <= n; i++ {
			a, b := beside(i)
			addPair(out, a, b, kernel[i])
		}
	}
	tmp := make([]rgb, len(pix))
	rows.Split(h, func(y0, y1 int) {
		wide := make([]rgb, w+2*n) // a row with its ends repeated
		for y := y0; y < y1; y++ {
			row := pix[y*w : (y+1)*w]
			copy(wide[n:], row)
			for i := range n {
				wide[i], wide[w+n+i] = row[0], row[w-1]
			}
			weigh(tmp[y*w:(y+1)*w], row, func(i int) (a, b []rgb) { return wide[n-i:][:w], wide[n+i:][:w] })
		}
	})
	rows.Split(h, func(y0, y1 int) {
		for y := y0; y < y1; y++ {
			weigh(pix[y*w:(y+1)*w], tmp[y*w:(y+1)*w], func(i int) (a, b []rgb) {
				return tmp[max(y-i, 0)*w:][:w], tmp[min(y+i, h-1)*w:][:w]
			})
		}
	})
}

// addPair adds k (a + b) to out.
func addPair(out, a, b []rgb, k float32) {
	a, b = a[:len(out)], b[:len(out)]
	for x := range out {
		o, p, q := &out[x], &a[x], &b[x]
		o[0] += k * (p[0] + q[0])
		o[1] += k * (p[1] + q[1])
		o[2] += k * (p[2] + q[2])
	}
}

// expose adds the sensor's noise, lets the phone at it if there is one, and encodes. Noise has the variance
// 1.2e-4 v + 3e-6 at the linear value v, for level 1: shot and read noise as
// of a phone in daylight (a guess, from common practice).
func expose(pix []rgb, w, h int, level float64, seed int64, phone *developer) *image.NRGBA {
	im := image.NewNRGBA(image.Rect(0, 0, w, h))
	k := float32(level * level)
	rows.Split(h, func(y0, y1 int) {
		for y := y0; y < y1; y++ {
			r := scatter(uint64(seed)*0x9e3779b97f4a7c15 + uint64(y)*0xd1342543de82ef95)
			r.next()
			out := im.Pix[y*im.Stride:]
			for x, c := range pix[y*w : (y+1)*w] {
				if k > 0 {
					bits := r.next()
					for i, v := range c {
						g := normals[bits>>(14*i)&(1<<14-1)]
						c[i] += g * sqrt(k*(max(v, 0)*1.2e-4+3e-6))
					}
				}
				o := out[4*x : 4*x+4]
				if phone != nil {
					v := phone.codes(c)
					o[0], o[1], o[2], o[3] = v[0], v[1], v[2], 255
					continue
				}
				o[0], o[1], o[2], o[3] = encode(c[0]), encode(c[1]), encode(c[2]), 255
			}
		}
	})
	return im
}
