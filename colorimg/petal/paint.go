package petal

import (
	"sync/atomic"

	"hueward/colorimg/cie"
)

// paint draws head and petals at working size. Inside and far outside the map
// decides; near the outline each working pixel is judged by its own colour
// against the map's two sides there.
func (b *Bloom) paint(h *head, disc []bool) {
	s := b.scene
	W, H := s.im.W, s.im.H
	b.Mask, b.Head = make([]uint8, W*H), make([]uint8, W*H)
	fx, fy := float64(W)/float64(s.w), float64(H)/float64(s.h)
	x0, y0, x1, y1 := reached(h.mask, s.w, s.h)
	x0, y0, x1, y1 = max(0, x0-1), max(0, y0-1), min(s.w, x1+1), min(s.h, y1+1)
	b.box = [4]int{ceil(float64(x0) * fx), ceil(float64(y0) * fy), min(W, ceil(float64(x1)*fx)), min(H, ceil(float64(y1)*fy))}
	// near tells whether some neighbour of the map pixel differs from it.
	near := func(i, x, y int) bool {
		m := h.mask[i]
		return x > 0 && h.mask[i-1] != m || x+1 < s.w && h.mask[i+1] != m ||
			y > 0 && h.mask[i-s.w] != m || y+1 < s.h && h.mask[i+s.w] != m
	}
	var pixels atomic.Int64
	parallel(y1-y0, func(y int) {
		y += y0
		n := 0
		wy0, wy1 := ceil(float64(y)*fy), ceil(float64(y+1)*fy)
		for x := x0; x < x1; x++ {
			i := y*s.w + x
			rim := near(i, x, y)
			if !h.mask[i] && !rim || s.skip[i] {
				continue
			}
			isDisc := disc != nil && disc[i]
			wx0, wx1 := ceil(float64(x)*fx), ceil(float64(x+1)*fx)
			var in, out cie.Lab
			var haveIn, haveOut bool
			if rim && s.scale > 1.05 {
				in, haveIn = s.side(h, x, y, true)
				out, haveOut = s.side(h, x, y, false)
			}
			for wy := wy0; wy < min(wy1, H); wy++ {
				for wx := wx0; wx < min(wx1, W); wx++ {
					j := wy*W + wx
					petal := h.mask[i]
					if haveIn && haveOut {
						p := s.im.Pix[3*j : 3*j+3 : 3*j+3]
						c := s.labOf(p[0], p[1], p[2])
						petal = apart2(c, in) < apart2(c, out)
					}
					if !petal {
						continue
					}
					b.Head[j] = 255
					if !isDisc {
						b.Mask[j] = 255
						n++
					}
				}
			}
		}
		pixels.Add(int64(n))
	})
	b.Pixels = int(pixels.Load())
}

// side is the mean colour of the map pixels within two of (x, y) that are, or
// are not, bloom.
func (s *scene) side(h *head, x, y int, bloom bool) (cie.Lab, bool) {
	var m cie.Lab
	n := 0.0
	for yy := y - 2; yy <= y+2; yy++ {
		for xx := x - 2; xx <= x+2; xx++ {
			if i, ok := s.at(xx, yy); ok && h.mask[i] == bloom && !s.skip[i] {
				m.L += s.lab[i].L
				m.A += s.lab[i].A
				m.B += s.lab[i].B
				n++
			}
		}
	}
	if n == 0 {
		return m, false
	}
	return cie.Lab{L: m.L / n, A: m.A / n, B: m.B / n}, true
}

// reached are the bounds within which mask, w × h, is set.
func reached(mask []bool, w, h int) (x0, y0, x1, y1 int) {
	x0, y0 = w, h
	for y := range h {
		for x, on := range mask[y*w : (y+1)*w] {
			if on {
				x0, y0, x1, y1 = min(x0, x), min(y0, y), max(x1, x+1), y+1
			}
		}
	}
	return x0, y0, x1, y1
}

func ceil(v float64) int {
	i := int(v)
	if float64(i) < v {
		i++
	}
	return i
}
