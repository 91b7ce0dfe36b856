package photo

import "image"

// thinnedAdder reads a large 4:2:0 JPEG, the kind that nearly every phone
// writes: blocks of two by two pixels share a chroma sample. Of the k by k
// blocks of a working pixel it reads those of one diagonal, and of each of these
// the two pixels of its diagonal: every column and every row once. Fine rows of
// petals or leaves so neither fall through nor count twice, and the noise is
// that of 2k pixels, far below what the steps after look for.
type thinnedAdder struct {
	p *image.YCbCr
	t *ycbcrTables
	k int // of each k blocks in a row one is read
}

// thinFrom is the size, in pixels, from which not all of a JPEG is read.
const thinFrom = 8_000_000

// thinned returns nil when im is none of those.
func thinned(im image.Image, e *encoding, studio bool, by float64) *thinnedAdder {
	p, ok := im.(*image.YCbCr)
	if !ok || studio || e.grid != nil || p.SubsampleRatio != image.YCbCrSubsampleRatio420 ||
		p.Rect.Min != (image.Point{}) || p.Rect.Dx()*p.Rect.Dy() < thinFrom || by < 3 {
		return nil
	}
	return &thinnedAdder{p: p, t: e.ycbcrTables()}
}

// wholeBlocks moves the edges of the bins to those of the blocks: by one stored
// pixel, of four or more. No bin is left without a block to be read.
func (a *thinnedAdder) wholeBlocks(xs, ys []int) {
	least := [2]int{}
	for i, edges := range [...][]int{xs, ys} {
		for j := range edges {
			edges[j] &^= 1
			if j > 0 && (j == 1 || edges[j]-edges[j-1] < least[i]) {
				least[i] = edges[j] - edges[j-1]
			}
		}
	}
	a.k = max(1, least[0]/2, least[1]/2)
}

// add adds the rows y0 to y1, even numbers like all of xs, to acc.
func (a *thinnedAdder) add(y0, y1 int, xs []int, acc []sums) {
	p, t, k := a.p, a.t, a.k
	blocks := xs[len(xs)-1] >> 1
	for y := y0; y < y1; y += 2 {
		upper := p.Y[y*p.YStride:][:2*blocks]
		lower := p.Y[(y+1)*p.YStride:][:2*blocks]
		cbs := p.Cb[(y>>1)*p.CStride:][:blocks]
		crs := p.Cr[(y>>1)*p.CStride:][:blocks]
		q := y >> 1 % k
		for i := range acc {
			var r, g, b uint64
			var clip, n uint32
			for end := xs[i+1] >> 1; q < end; q += k {
				c := chromaOf(cbs[q], crs[q])
				tr, tg, tb := t.window(&c)
				ya, yb := upper[2*q], lower[2*q+1]
				r += uint64(tr[ya] + tr[yb])
				g += uint64(tg[ya] + tg[yb])
				b += uint64(tb[ya] + tb[yb])
				if uint32(max(ya, yb)) >= c.clip {
					clip += 1 + b2u(uint32(min(ya, yb)) >= c.clip)
				}
				n += 2
			}
			s := &acc[i]
			s.r += int64(r)
			s.g += int64(g)
			s.b += int64(b)
			s.clip += int64(clip)
			s.n += int64(n)
		}
	}
}
