package petal

import (
	"math"
	"slices"
	"sync/atomic"

	"hueward/colorimg/cie"
	"hueward/colorimg/petal/net"
)

// unsure bounds the network's uncertain probabilities: between unsure and 1 - unsure, a
// pixel's own colour counts, too. Our own choice.
const unsure = 0.12

// colorWeight is the log odds that a pixel's colour adds to the network's, times [lean]: half of
// it where the colour is clearly that of one side of the outline. Our own choice.
const colorWeight = 5.0

// plainStep is the difference in colour across the outline, measured by apart2, from which colour
// counts in full. Our own choice.
const plainStep = 18.0

// someDisc is the probability of disc florets, relative to that of petals, from which a pixel is
// left out of the petals: the rim of the disc does not have the petals' colour. Our own choice.
const someDisc = 0.5

// draw fills in Mask, Head, Doubt and Pixels at working size. Where the network is sure, it
// decides; elsewhere, along the outline, each working pixel is also judged by its own
// colour, compared with the colours on the two sides nearby.
func (b *Bloom) draw(skip func(x, y int) bool) {
	s, p := b.scene, b.prob
	W, H := s.im.W, s.im.H
	b.Mask, b.Head = make([]uint8, W*H), make([]uint8, W*H)
	head := p.headField()
	cells := s.cellColors(p)
	b.Doubt = p.doubt(cells)
	own := p.belonging(head)
	x0, y0 := max(0, int(math.Floor(p.x0))), max(0, int(math.Floor(p.y0)))
	x1, y1 := min(W, int(math.Ceil(p.x0+float64(p.w)*p.scale))), min(H, int(math.Ceil(p.y0+float64(p.h)*p.scale)))
	b.box = [4]int{x0, y0, x1, y1}
	var pixels atomic.Int64
	parallel(p.h, func(j int) {
		wy0, wy1 := max(y0, int(math.Ceil(p.y0+float64(j)*p.scale-0.5))), min(y1, int(math.Ceil(p.y0+float64(j+1)*p.scale-0.5)))
		n := 0
		for i := range p.w {
			k := j*p.w + i
			if !own[k] {
				continue
			}
			lo, hi := p.around(head, i, j)
			edge := lo < 1-unsure && hi > unsure
			var in, out cie.Lab
			both := false
			if edge {
				in, out, both = sides(cells, head, p.w, p.h, i, j)
			}
			wx0, wx1 := max(x0, int(math.Ceil(p.x0+float64(i)*p.scale-0.5))), min(x1, int(math.Ceil(p.x0+float64(i+1)*p.scale-0.5)))
			for wy := wy0; wy < wy1; wy++ {
				for wx := wx0; wx < wx1; wx++ {
					x, y := p.toView(float64(wx), float64(wy))
					h := float64(p.at(head, x, y))
					at := wy*W + wx
					bloom := h > 0.5
					if both && h > unsure && h < 1-unsure || both && edge && p.scale > 2 {
						q := s.im.Pix[3*at : 3*at+3 : 3*at+3]
						bloom = logit(h)+colorWeight*lean(s.labOf(q[0], q[1], q[2]), in, out) > 0
					}
					if !bloom || skip != nil && skip(wx, wy) {
						continue
					}
					b.Head[at] = 255
					if p.at(p.p[net.Disc], x, y) < someDisc*p.at(p.p[net.Petal], x, y) {
						b.Mask[at] = 255
						n++
					}
				}
			}
		}
		pixels.Add(int64(n))
	})
	b.Pixels = int(pixels.Load())
}

// headField returns the probability of petals or disc, w × h.
func (p *chances) headField() []float32 {
	out := make([]float32, p.w*p.h)
	for i := range out {
		out[i] = p.p[net.Petal][i] + p.p[net.Disc][i]
	}
	return out
}

// belonging returns the pixels of the view in which the bloom may lie: connected parts of the head and
// the pixels next to them. Specks are left out.
func (p *chances) belonging(head []float32) []bool {
	piece := pieces(head, p.w, p.h)
	size := sizes(piece, func(int) float64 { return 1 })
	most := slices.Max(append(size[1:], 0))
	out := make([]bool, len(head))
	for i, k := range piece {
		if k == 0 || size[k]*100 < most {
			continue
		}
		x, y := i%p.w, i/p.w
		for yy := max(0, y-1); yy <= min(p.h-1, y+1); yy++ {
			for xx := max(0, x-1); xx <= min(p.w-1, x+1); xx++ {
				out[yy*p.w+xx] = true
			}
		}
	}
	return out
}

// around returns the smallest and the largest value of v in the pixel and its neighbours.
func (p *chances) around(v []float32, i, j int) (lo, hi float32) {
	lo, hi = 1, 0
	for y := max(0, j-1); y <= min(p.h-1, j+1); y++ {
		for x := max(0, i-1); x <= min(p.w-1, i+1); x++ {
			lo, hi = min(lo, v[y*p.w+x]), max(hi, v[y*p.w+x])
		}
	}
	return lo, hi
}

// at returns v at a position of the view, by bilinear interpolation.
func (p *chances) at(v []float32, x, y float64) float32 {
	x, y = min(max(x, 0), float64(p.w-1)), min(max(y, 0), float64(p.h-1))
	i, j := min(int(x), p.w-2), min(int(y), p.h-2)
	fx, fy := float32(x)-float32(i), float32(y)-float32(j)
	k := j*p.w + i
	return (v[k]*(1-fx)+v[k+1]*fx)*(1-fy) + (v[k+p.w]*(1-fx)+v[k+p.w+1]*fx)*fy
}

// cellColors returns the corrected colours of the view's pixels.
func (s *scene) cellColors(p *chances) []cie.Lab {
	out := make([]cie.Lab, p.w*p.h)
	parallel(p.h, func(j int) {
		for i := range p.w {
			if r, g, b, ok := s.patch(p.view, i, j); ok {
				out[j*p.w+i] = s.labOf(float32(r), float32(g), float32(b))
			}
		}
	})
	return out
}

// sides returns the mean colours of what is surely bloom and of what is surely not, near the
// view's pixel (i, j); ok is false where one of them is missing.
func sides(colors []cie.Lab, head []float32, w, h, i, j int) (in, out cie.Lab, ok bool) {
	for _, r := range [...]int{2, 4} {
		var m [2]cie.Lab
		var n [2]float64
		for y := max(0, j-r); y <= min(h-1, j+r); y++ {
			for x := max(0, i-r); x <= min(w-1, i+r); x++ {
				k := y*w + x
				side := 0
				switch {
				case head[k] > 1-unsure:
				case head[k] < unsure:
					side = 1
				default:
					continue
				}
				c := colors[k]
				m[side].L, m[side].A, m[side].B = m[side].L+c.L, m[side].A+c.A, m[side].B+c.B
				n[side]++
			}
		}
		if n[0] >= 2 && n[1] >= 2 {
			for k := range m {
				m[k] = cie.Lab{L: m[k].L / n[k], A: m[k].A / n[k], B: m[k].B / n[k]}
			}
			return m[0], m[1], true
		}
	}
	return in, out, false
}

// lean returns which of two colours c is nearer to: 0.5 where c is in, -0.5 where it is
// out, and less where the two are alike, or where c is unlike both.
func lean(c, in, out cie.Lab) float64 {
	d := cie.Lab{L: in.L - out.L, A: in.A - out.A, B: in.B - out.B}
	gap := apart2(in, out)
	if gap < 1 {
		return 0
	}
	t := (lightWeight*lightWeight*d.L*(c.L-out.L) + d.A*(c.A-out.A) + d.B*(c.B-out.B)) / gap
	// A third colour, such as a petal's white edge, does not count.
	third := math.Exp(-3 * min(apart2(c, in), apart2(c, out)) / gap)
	return (min(max(t, 0), 1) - 0.5) * min(1, math.Sqrt(gap)/plainStep) * third
}

// logit returns the log odds of a probability, between -4 and 4.
func logit(p float64) float64 {
	p = min(max(p, 0.018), 0.982)
	return math.Log(p / (1 - p))
}
