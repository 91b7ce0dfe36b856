package net

import (
	"fmt"
	"math"
	"sync"

	"gonum.org/v1/gonum/blas/blas32"

	"hueward/colorimg/rows"
)

// What goes in and comes out, by plane.
const (
	Inputs  = 5 // red, green and blue, sRGB-encoded, less 0.5; marks of the bloom; marks of what is not the bloom
	Classes = 4 // the four classes below
)

// The classes of a pixel.
const (
	Petal = iota // of the meant bloom
	Disc         // its disc florets
	Other        // another bloom
	None         // none of these
)

// Multiple is the number that width and height of a picture must be multiples of.
const Multiple = 16

// level is one resolution of the network.
type level struct {
	channels, down, up int // number of channels; of blocks on the way down and on the way up
	kernel, wide       int // side of the depthwise kernels; expansion factor of the blocks
}

// levels are those of learn/nets.py, beginning at half of the picture's size.
var levels = []level{{20, 1, 1, 3, 2}, {40, 2, 1, 5, 3}, {80, 3, 1, 5, 3}, {160, 4, 0, 5, 3}}

// conv is a convolution with bias. Weights are out × in × kernel × kernel; out × kernel × kernel for a depthwise one.
type conv struct {
	in, out, kernel int
	w, b            []float32
}

// block is the residual block x + narrow(relu(wide(depth(x)))).
type block struct{ depth, wide, narrow conv }

// Net is the network with its weights. It may be used by several goroutines at once.
type Net struct {
	stem     conv
	into, up []conv // between levels
	down     [][]block
	after    [][]block
	head     conv
	work     sync.Pool // of *buffers
}

// buffers are memory that is reused from one picture to the next.
type buffers struct{ a, b, c, padded, taps []float32 }

// Run gives the probabilities of each pixel's classes, Classes × h × w, of the
// picture in, Inputs × h × w. It panics unless h and w are multiples of
// [Multiple] and in is as long as they say.
func (n *Net) Run(in []float32, h, w int) []float32 {
	if h <= 0 || w <= 0 || h%Multiple != 0 || w%Multiple != 0 || len(in) != Inputs*h*w {
		panic(fmt.Sprintf("net: %d numbers for a picture of %d × %d", len(in), w, h))
	}
	buf, _ := n.work.Get().(*buffers)
	if buf == nil {
		buf = new(buffers)
	}
	defer n.work.Put(buf)

	x := unshuffled(in, Inputs, h, w)
	h, w = h/2, w/2
	x = n.stem.around(x, h, w, buf)
	relu(x)
	skips := make([][]float32, len(levels))
	for i := range levels {
		if i > 0 {
			x = n.into[i-1].point(unshuffled(x, levels[i-1].channels, h, w), h/2*w/2, nil)
			h, w = h/2, w/2
		}
		for k := range n.down[i] {
			n.down[i][k].run(x, h, w, buf)
		}
		skips[i] = x
	}
	for i := len(levels) - 2; i >= 0; i-- {
		small := n.up[i].point(x, h*w, nil)
		x = skips[i]
		addDoubled(x, small, levels[i].channels, h, w)
		h, w = 2*h, 2*w
		for k := range n.after[i] {
			n.after[i][k].run(x, h, w, buf)
		}
	}
	return softmax(shuffled(n.head.point(x, h*w, nil), Classes, h, w))
}

// resized returns v with n elements of any value, and a larger v where it was too short.
func resized(v *[]float32, n int) []float32 {
	if cap(*v) < n {
		*v = make([]float32, n)
	}
	return (*v)[:n]
}

// run adds the block's change to x, channels × h × w.
func (b *block) run(x []float32, h, w int, buf *buffers) {
	n := h * w
	y := b.depth.alone(x, h, w, buf)
	z := b.wide.point(y, n, resized(&buf.b, b.wide.out*n))
	relu(z)
	for c, bias := range b.narrow.b {
		row := x[c*n : (c+1)*n]
		for i := range row {
			row[i] += bias
		}
	}
	multiply(&b.narrow, z, x, n)
}

// point returns the pointwise convolution of x, in × n, in out, out × n; nil: in new memory.
func (c *conv) point(x []float32, n int, out []float32) []float32 {
	if out == nil {
		out = make([]float32, c.out*n)
	}
	for k, bias := range c.b {
		row := out[k*n : (k+1)*n]
		for i := range row {
			row[i] = bias
		}
	}
	multiply(c, x, out, n)
	return out
}

// band is the number of pixels that are worked on at a time, so that their planes stay in the processor's cache.
const band = 512

// multiply adds the weights times x to out.
func multiply(c *conv, x, out []float32, n int) {
	in := len(c.w) / c.out
	rows.Split((n+band-1)/band, func(from, to int) {
		for at := from * band; at < min(to*band, n); at += band {
			wide := min(band, n-at)
			for k := multiplyTiles(c, x, out, n, at, wide); k < c.out; k++ {
				sum := blas32.Vector{N: wide, Inc: 1, Data: out[k*n+at:]}
				for i, weight := range c.w[k*in : (k+1)*in] {
					blas32.Axpy(weight, blas32.Vector{N: wide, Inc: 1, Data: x[i*n+at:]}, sum)
				}
			}
		}
	})
}

// around returns the convolution of x, in × h × w, with zero padding, as the product of
// the weights and the shifted planes (im2col).
func (c *conv) around(x []float32, h, w int, buf *buffers) []float32 {
	n, k := h*w, c.kernel
	taps := resized(&buf.taps, c.in*k*k*n)
	clear(taps)
	for i := range c.in {
		plane := x[i*n : (i+1)*n]
		for dy := range k {
			for dx := range k {
				to := taps[((i*k+dy)*k+dx)*n:][:n]
				sy, sx := dy-k/2, dx-k/2
				x0, x1 := max(0, -sx), min(w, w-sx)
				for y := max(0, -sy); y < min(h, h-sy); y++ {
					copy(to[y*w+x0:y*w+x1], plane[(y+sy)*w+x0+sx:(y+sy)*w+x1+sx])
				}
			}
		}
	}
	return c.point(taps, n, nil)
}

// alone returns the depthwise convolution of x, channels × h × w, with zero padding.
// Each tap is one long vector operation over the padded plane; results within the padding
// are discarded.
func (c *conv) alone(x []float32, h, w int, buf *buffers) []float32 {
	p, n := c.kernel/2, h*w
	stride := w + 2*p
	from := p*stride + p
	length := (h-1)*stride + w
	padded := resized(&buf.padded, stride*(h+2*p))
	clear(padded)
	sum := resized(&buf.c, length)
	out := resized(&buf.a, c.out*n)
	for k := range c.out {
		for y := range h {
			copy(padded[from+y*stride:][:w], x[k*n+y*w:])
		}
		for i := range sum {
			sum[i] = c.b[k]
		}
		at := blas32.Vector{N: length, Inc: 1, Data: sum}
		for t, weight := range c.w[k*c.kernel*c.kernel : (k+1)*c.kernel*c.kernel] {
			shift := from + (t/c.kernel-p)*stride + t%c.kernel - p
			blas32.Axpy(weight, blas32.Vector{N: length, Inc: 1, Data: padded[shift:]}, at)
		}
		for y := range h {
			copy(out[k*n+y*w:][:w], sum[y*stride:])
		}
	}
	return out
}

func relu(x []float32) {
	for i, v := range x {
		x[i] = max(v, 0)
	}
}

// unshuffled turns each of x's c planes into four of half the size (pixel unshuffle).
func unshuffled(x []float32, c, h, w int) []float32 {
	out := make([]float32, len(x))
	hh, hw := h/2, w/2
	for k := range 4 * c {
		dy, dx := k%4/2, k%2
		for y := range hh {
			row := x[(k/4*h+2*y+dy)*w+dx:]
			to := out[(k*hh+y)*hw:][:hw]
			for i := range to {
				to[i] = row[2*i]
			}
		}
	}
	return out
}

// shuffled turns each four of x's 4c planes into one of double the size (pixel shuffle).
func shuffled(x []float32, c, h, w int) []float32 {
	out := make([]float32, len(x))
	for k := range 4 * c {
		dy, dx := k%4/2, k%2
		for y := range h {
			row := x[(k*h+y)*w:][:w]
			to := out[(k/4*2*h+2*y+dy)*2*w+dx:]
			for i, v := range row {
				to[2*i] = v
			}
		}
	}
	return out
}

// addDoubled adds small, c × h × w, doubled in size by bilinear interpolation, to x.
func addDoubled(x, small []float32, c, h, w int) {
	wide := make([]float32, 2*w)
	near := make([]float32, w)
	for k := range c {
		plane := small[k*h*w : (k+1)*h*w]
		for y := range 2 * h {
			a, b := y/2, y/2-1+2*(y%2)
			b = min(max(b, 0), h-1)
			ra, rb := plane[a*w:][:w], plane[b*w:][:w]
			for i := range near {
				near[i] = 0.75*ra[i] + 0.25*rb[i]
			}
			for i, v := range near {
				wide[2*i] = 0.75*v + 0.25*near[max(i-1, 0)]
				wide[2*i+1] = 0.75*v + 0.25*near[min(i+1, w-1)]
			}
			to := x[(k*2*h+y)*2*w:][:2*w]
			for i, v := range wide {
				to[i] += v
			}
		}
	}
}

// softmax turns the logits, Classes × pixels, into probabilities.
func softmax(x []float32) []float32 {
	n := len(x) / Classes
	for i := range n {
		most := x[i]
		for c := 1; c < Classes; c++ {
			most = max(most, x[c*n+i])
		}
		var sum float32
		for c := range Classes {
			v := float32(math.Exp(float64(x[c*n+i] - most)))
			x[c*n+i] = v
			sum += v
		}
		for c := range Classes {
			x[c*n+i] /= sum
		}
	}
	return x
}
