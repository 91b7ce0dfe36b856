package photo

import (
	"context"
	"image"
	"math"

	"hueward/colorimg/rows"
)

// sums are the sums for one working pixel, in fixed point.
type sums struct {
	r, g, b int64
	clip    int64
	n       int64 // stored pixels read
}

// binAdder adds the stored rows from y0 up to y1, y1 excluded, to the working pixels of
// a row: the columns from xs[i] up to xs[i+1], excluded, to acc[i].
type binAdder func(y0, y1 int, xs []int, acc []sums)

// rowAdder does the same for the single row y.
type rowAdder func(y int, xs []int, acc []sums)

// reduce makes the working picture: the mean of the linear light of the stored pixels that fall into each working
// pixel; in a large JPEG, of some of them. studio says that a YCbCr picture uses the range 16 to 235.
//
// The bins are laid out on the displayed picture, so that a photo and the same
// photo stored turned or mirrored fall into the same bins.
func reduce(ctx context.Context, im image.Image, e *encoding, turn orientation, work int, studio bool) (*Linear, error) {
	sw, sh := im.Bounds().Dx(), im.Bounds().Dy()
	dw, dh := turn.size(sw, sh)
	if work == defaultWork && sw*sh >= thinFrom {
		work = largeWork
	}
	w, h := workSize(dw, dh, work)
	lin := &Linear{
		W: w, H: h,
		ScaleX: float64(dw) / float64(w),
		ScaleY: float64(dh) / float64(h),
	}
	lin.Pix, lin.Clipped = buffers(w * h)
	xs, ys := edges(dw, w), edges(dh, h)
	if turn.swaps() {
		xs, ys = ys, xs
	}
	if turn.flipX() {
		xs = mirror(xs)
	}
	if turn.flipY() {
		ys = mirror(ys)
	}
	nx, ny := len(xs)-1, len(ys)-1

	add := thinnedAdder(im, e, studio, lin.ScaleX)
	if add != nil {
		// The edges of the bins move to those of the blocks: by one stored pixel, of
		// four or more. No bin is left without a block to be read.
		for _, e := range [][]int{xs, ys} {
			for i := range e {
				e[i] &^= 1
			}
		}
	} else {
		_, jpeg := im.(*image.YCbCr)
		add = byRow(adderFor(im, e, studio), jpeg && sw*sh >= thinFrom)
	}
	plain := closeTo(e.matrix, identity, 1e-9)
	rows.Split(ny, func(j0, j1 int) {
		acc := make([]sums, nx)
		for j := j0; j < j1 && ctx.Err() == nil; j++ {
			clear(acc)
			add(ys[j], ys[j+1], xs, acc)
			// Along a stored row the displayed place moves by the same step.
			at := func(i int) int { x, y := turn.at(i, j, nx, ny); return y*w + x }
			k, step := at(0), at(1)-at(0)
			var last int64
			var by float64 // one over what last so many values add up to
			for i := range acc {
				s := &acc[i]
				n := s.n
				if n != last {
					last, by = n, 1/(float64(n)*one)
				}
				r, g, b := float64(s.r)*by, float64(s.g)*by, float64(s.b)*by
				if !plain {
					r, g, b = e.matrix.Apply(r, g, b)
				}
				p := lin.Pix[3*k : 3*k+3 : 3*k+3]
				p[0], p[1], p[2] = float32(r), float32(g), float32(b)
				if s.clip > 0 {
					lin.Clipped[k] = uint8((255*s.clip + n/2) / n)
				}
				k += step
			}
		}
	})
	return lin, ctx.Err()
}

// spares are working pictures that are no longer used, for the next photos: new
// memory costs more time than writing into it. It is not a sync.Pool, as the garbage
// collector would have emptied that by the next photo.
var spares = make(chan *Linear, 4)

// buffers returns Pix and Clipped for a picture of n pixels; Pix may hold any values.
func buffers(n int) ([]float32, []uint8) {
	select {
	case l := <-spares:
		if cap(l.Pix) >= 3*n && cap(l.Clipped) >= n {
			clear(l.Clipped[:n])
			return l.Pix[:3*n], l.Clipped[:n]
		}
	default:
	}
	return make([]float32, 3*n), make([]uint8, n)
}

// Done gives the photo's working picture back for reuse; neither it nor anything that shares its pixels
// may be used afterwards. Calling Done is optional, but saves the next photo time, and frees the memory that
// large photos wait for.
func (p *Photo) Done() {
	if p.giveBack != nil {
		p.stored, p.file = nil, nil
		p.giveBack()
	}
	if p.Image == nil {
		return
	}
	select {
	case spares <- p.Image:
	default:
	}
	p.Image = nil
}

// rowsRead returns how many of n rows are read: about half of four and more, in whole pairs. The others would only
// reduce noise, which eight and more pixels have averaged out by then, and take half the time of the
// reduction.
func rowsRead(n int) int {
	if n < 4 {
		return n
	}
	return (n + 3) / 4 * 2
}

// largeWork is the default of [Options].Work for photos of thinFrom pixels and more. Each of its pixels is the mean of
// enough stored ones to have little noise, and it halves the time of all later steps: over 16 drawn photos of 12
// megapixels, and 180 smaller real ones, the readings are as near to the known answers as with 1024 pixels.
const largeWork = 768

// workSize returns the size of the working picture of a w × h photo.
func workSize(w, h, work int) (int, int) {
	long := max(w, h)
	if long <= work {
		return w, h
	}
	by := float64(long) / float64(work)
	// A whole even number of stored pixels a working pixel fits the blocks of two
	// by two that share their colour in most JPEGs, and is read in less time.
	if even := 2 * math.Ceil(by/2); even < 1.2*by {
		by = even
	}
	scale := func(v int) int { return max(1, int(math.Round(float64(v)/by))) }
	return scale(w), scale(h)
}

// edges divides n pixels among m bins as evenly as whole pixels allow; bin i
// has the pixels from edges[i] to before edges[i+1].
func edges(n, m int) []int {
	e := make([]int, m+1)
	for i := range e {
		e[i] = (2*i*n + m) / (2 * m)
	}
	return e
}

// mirror returns the edges of the same bins counted from the other end.
func mirror(e []int) []int {
	n := len(e) - 1
	m := make([]int, len(e))
	for i := range m {
		m[i] = e[n] - e[n-i]
	}
	return m
}
