package photo

import (
	"image"
	"image/color"
)

// adderFor returns the fastest adder for the rows of im.
func adderFor(im image.Image, e *encoding, studio bool) rowAdder {
	if p, ok := im.(*image.YCbCr); ok && e.grid == nil && !studio {
		return ycbcrAdder(p, e.ycbcrTables())
	}
	at := pixelsOf(im, studio)
	if e.grid != nil {
		return gridAdder(at, e.grid)
	}
	return tableAdder(at, e.tables16())
}

// byRow returns a binAdder that adds the rows of a working row one after the other; only some of them where fewer is set.
func byRow(add rowAdder, fewer bool) binAdder {
	return func(y0, y1 int, xs []int, acc []sums) {
		if fewer {
			y1 = y0 + rowsRead(y1-y0)
		}
		for y := y0; y < y1; y++ {
			add(y, xs, acc)
		}
		for i := range acc {
			acc[i].n = int64((xs[i+1] - xs[i]) * (y1 - y0))
		}
	}
}

// add adds one pixel's table entries.
func (s *sums) add(r, g, b uint32) {
	s.clip += int64((r | g | b) >> 31)
	s.r += int64(r &^ clipped)
	s.g += int64(g &^ clipped)
	s.b += int64(b &^ clipped)
}

// midGray is what lies behind a transparent pixel, in stored values: a grey
// near the middle, so that a cut-out flower keeps its edges.
const midGray = 128 * 257

// tableAdder adds rows of any picture, by way of 16-bit values.
func tableAdder(at pixels, t [3]*[65536]uint32) rowAdder {
	tr, tg, tb := t[0], t[1], t[2]
	mid := [3]int64{int64(tr[midGray]), int64(tg[midGray]), int64(tb[midGray])}
	return func(y int, xs []int, acc []sums) {
		for i := range acc {
			s := &acc[i]
			for x := xs[i]; x < xs[i+1]; x++ {
				p := at(x, y)
				r, g, b := tr[p.R], tg[p.G], tb[p.B]
				if p.A == 0xffff {
					s.add(r, g, b)
					continue
				}
				a := int64(p.A)
				if a > 0 {
					s.clip += int64((r | g | b) >> 31)
				}
				s.r += (int64(r&^clipped)*a + mid[0]*(0xffff-a)) / 0xffff
				s.g += (int64(g&^clipped)*a + mid[1]*(0xffff-a)) / 0xffff
				s.b += (int64(b&^clipped)*a + mid[2]*(0xffff-a)) / 0xffff
			}
		}
	}
}

// gridAdder adds rows of any picture through a look-up-table profile.
func gridAdder(at pixels, g *grid) rowAdder {
	mx, my, mz := g.at(color.NRGBA64{R: midGray, G: midGray, B: midGray, A: 0xffff})
	return func(y int, xs []int, acc []sums) {
		for i := range acc {
			s := &acc[i]
			for x := xs[i]; x < xs[i+1]; x++ {
				p := at(x, y)
				X, Y, Z := g.at(p)
				if a := float64(p.A) / 0xffff; a < 1 {
					X, Y, Z = X*a+mx*(1-a), Y*a+my*(1-a), Z*a+mz*(1-a)
				}
				if p.A > 0 && max(p.R, p.G, p.B) >= clip16 {
					s.clip++
				}
				s.r += int64(X*one + 0.5)
				s.g += int64(Y*one + 0.5)
				s.b += int64(Z*one + 0.5)
			}
		}
	}
}

// ycbcrTables are the curves in fixed point with their clipping marks; the index is the stored value + bias8. Beyond
// both ends they repeat the last value, as a YCbCr colour may be outside 0 to 255.
type ycbcrTables [3][1024]uint32

const bias8 = 256

func (e *encoding) ycbcrTables() *ycbcrTables {
	var w ycbcrTables
	for k, f := range e.curve {
		t := newTable(f, 256)
		for i := range w[k] {
			w[k][i] = t[min(max(i-bias8, 0), 255)]
		}
	}
	return &w
}

// of returns the part of the tables that pixels with one chroma sample can reach, to be indexed by luma alone. As luma is
// an integer, rounding the sum means rounding what chroma adds; half rounds to the nearest, like the source's formula and
// other decoders. Package color rounds dark pixels down and bright ones up, which would shift a dark petal by 0.1 in L*.
//
// Source: ITU-T T.871 (JFIF) section 7.
func (t *ycbcrTables) of(cb, cr uint8) (r, g, b *[256]uint32) {
	// &511 changes nothing; it tells the compiler that 256 entries follow.
	const half = bias8<<16 + 1<<15
	u, v := int(cb)-128, int(cr)-128
	return (*[256]uint32)(t[0][(91881*v+half)>>16&511:]), (*[256]uint32)(t[1][(-22554*u-46802*v+half)>>16&511:]),
		(*[256]uint32)(t[2][(116130*u+half)>>16&511:])
}

// ycbcrAdder reads the planes of a JPEG directly.
func ycbcrAdder(p *image.YCbCr, t *ycbcrTables) rowAdder {
	shift := uint(0) // how many columns share a chroma sample, as a power of two
	switch p.SubsampleRatio {
	case image.YCbCrSubsampleRatio422, image.YCbCrSubsampleRatio420:
		shift = 1
	case image.YCbCrSubsampleRatio411, image.YCbCrSubsampleRatio410:
		shift = 2
	}
	phase := p.Rect.Min.X & (1<<shift - 1) // columns before the first that share its sample
	return func(y int, xs []int, acc []sums) {
		luma := p.Y[y*p.YStride:]
		at := p.COffset(p.Rect.Min.X, p.Rect.Min.Y+y)
		cbs, crs := p.Cb[at:], p.Cr[at:]
		for i := range acc {
			var r, g, b, clip int64
			for x := xs[i]; x < xs[i+1]; {
				k := (x + phase) >> shift
				tr, tg, tb := t.of(cbs[k], crs[k])
				for _, v := range luma[x:min((k+1)<<shift-phase, xs[i+1])] {
					vr, vg, vb := tr[v], tg[v], tb[v]
					r, g, b = r+int64(vr&^clipped), g+int64(vg&^clipped), b+int64(vb&^clipped)
					clip += int64((vr | vg | vb) >> 31)
					x++
				}
			}
			s := &acc[i]
			s.r, s.g, s.b, s.clip = s.r+r, s.g+g, s.b+b, s.clip+clip
		}
	}
}

// thinFrom is the size, in pixels, from which only a part of a JPEG's pixels is read.
const thinFrom = 8_000_000

// thinnedAdder returns an adder for a large 4:2:0 JPEG, as nearly every phone writes: blocks of two by two pixels share a
// chroma sample. Of the k by k blocks of a working pixel, it reads only the middle row, every other block of it where k
// is more than two, and of each block the two pixels of its diagonal. The noise is that of about k pixels, at least four
// for a phone's photo: low enough for the later steps. All rows and columns it is asked for must be even. It is nil for
// any other picture.
func thinnedAdder(im image.Image, e *encoding, studio bool, by float64) binAdder {
	p, ok := im.(*image.YCbCr)
	if !ok || studio || e.grid != nil || p.SubsampleRatio != image.YCbCrSubsampleRatio420 ||
		// above, the sums could reach the mark
		p.Rect.Min != (image.Point{}) || p.Rect.Dx()*p.Rect.Dy() < thinFrom || by < 3 || by > 120 {
		return nil
	}
	t := e.ycbcrTables()
	return func(y0, y1 int, xs []int, acc []sums) {
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
				tr, tg, tb := t.of(cbs[q], crs[q])
				ya, yb := upper[2*q], lower[2*q+1]
				r += uint64(tr[ya]) + uint64(tr[yb])
				g += uint64(tg[ya]) + uint64(tg[yb])
				b += uint64(tb[ya]) + uint64(tb[yb])
				n += 2
			}
			// From the mark's bit on the sums count what is cut off in each channel; what
			// is so in one at least is taken to be the most of them.
			acc[i] = sums{int64(r % clipped), int64(g % clipped), int64(b % clipped), int64(max(r, g, b) / clipped), int64(n)}
		}
	}
}
