package photo

import "image"

// thinnedAdder reads a large 4:2:0 JPEG, the kind that nearly every phone
// writes: blocks of two by two pixels share a chroma sample. Of the k by k
// blocks of a working pixel it reads the middle row, of more than two every
// other one, and of each of these the two pixels of its diagonal. The noise is
// that of about k pixels, four and more of a phone's photo: below what the steps
// after look for.
type thinnedAdder struct {
	p      *image.YCbCr
	marked *ycbcrTables
}

// thinFrom is the size, in pixels, from which not all of a JPEG is read.
const thinFrom = 8_000_000

// thinned returns nil when im is none of those.
func thinned(im image.Image, e *encoding, studio bool, by float64) *thinnedAdder {
	p, ok := im.(*image.YCbCr)
	if !ok || studio || e.grid != nil || p.SubsampleRatio != image.YCbCrSubsampleRatio420 ||
		// above, the sums could reach the mark
		p.Rect.Min != (image.Point{}) || p.Rect.Dx()*p.Rect.Dy() < thinFrom || by < 3 || by > 120 {
		return nil
	}
	return &thinnedAdder{p: p, marked: e.markedTables()}
}

// wholeBlocks moves the edges of the bins to those of the blocks: by one stored
// pixel, of four or more. No bin is left without a block to be read.
func (a *thinnedAdder) wholeBlocks(edges ...[]int) {
	for _, e := range edges {
		for i := range e {
			e[i] &^= 1
		}
	}
}

// markedTables are ycbcrTables that keep the mark of what is cut off. Sums of
// fewer than 128 values do not reach it: no JPEG is so large.
func (e *encoding) markedTables() *ycbcrTables {
	var w ycbcrTables
	t := e.tables8()
	for i := range w.r {
		v := min(max(i-bias8, 0), 255)
		w.r[i], w.g[i], w.b[i] = t[0][v], t[1][v], t[2][v]
	}
	return &w
}

// add adds the middle row of blocks of the rows y0 to y1, even numbers like all
// of xs, to acc.
func (a *thinnedAdder) add(y0, y1 int, xs []int, acc []sums) {
	p, t := a.p, a.marked
	blocks := xs[len(xs)-1] >> 1
	y := y0 + (y1-y0)/4*2
	upper := p.Y[y*p.YStride:][:2*blocks]
	lower := p.Y[(y+1)*p.YStride:][:2*blocks]
	cbs := p.Cb[(y>>1)*p.CStride:][:blocks]
	crs := p.Cr[(y>>1)*p.CStride:][:blocks]
	for i := range acc {
		var r, g, b, n uint64
		first, end := xs[i]>>1, xs[i+1]>>1
		step := 1
		if end-first > 2 {
			step = 2
		}
		for q := first; q < end; q += step {
			// As in chromaOf; &1023 changes nothing, but tells the compiler where it ends.
			const half = bias8<<16 + 1<<15
			u, v := int(cbs[q])-128, int(crs[q])-128
			tr := (*[256]uint32)(t.r[(91881*v+half)>>16&511:])
			tg := (*[256]uint32)(t.g[(-22554*u-46802*v+half)>>16&511:])
			tb := (*[256]uint32)(t.b[(116130*u+half)>>16&511:])
			ya, yb := upper[2*q], lower[2*q+1]
			r += uint64(tr[ya]) + uint64(tr[yb])
			g += uint64(tg[ya]) + uint64(tg[yb])
			b += uint64(tb[ya]) + uint64(tb[yb])
			n += 2
		}
		// From the mark's bit on the sums count what is cut off in each channel; what
		// is so in one at least is taken to be the most of them.
		clip := max(r/clipped, g/clipped, b/clipped)
		r, g, b = r%clipped, g%clipped, b%clipped
		s := &acc[i]
		s.r += int64(r)
		s.g += int64(g)
		s.b += int64(b)
		s.clip += int64(clip)
		s.n += int64(n)
	}
}
