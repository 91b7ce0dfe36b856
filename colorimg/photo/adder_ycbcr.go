package photo

import "image"

// column adds up one column over the rows of a working row, before the columns
// of each working pixel are put together: a photo's rows are long, its working
// pixels only a few columns wide.
type column struct{ r, g, b, clip uint32 }

// mostRows is how many rows a column can hold without running over.
const mostRows = 1<<32/one - 1

// ycbcrTables are the curves in fixed point, index = stored value + bias8.
// Below and above the ends they repeat them, because a YCbCr colour may lie
// outside 0 to 255; the bias is such that bit 9 of the index tells a value that
// counts as clipped. One array, because it needs one register.
type ycbcrTables struct{ r, g, b [1024]uint32 }

const (
	bias8   = 512 - clip8
	clipBit = 512
	// half rounds to the nearest 8-bit value, as a printed formula and other
	// decoders do. Package color rounds dark pixels down and bright ones up,
	// which would shift a dark petal by a tenth of an L* step.
	half = bias8<<16 + 1<<15
)

func (e *encoding) ycbcrTables() *ycbcrTables {
	var w ycbcrTables
	t := e.tables8()
	for i := range w.r {
		v := min(max(i-bias8, 0), 255)
		w.r[i], w.g[i], w.b[i] = t[0][v]&^clipped, t[1][v]&^clipped, t[2][v]&^clipped
	}
	return &w
}

// ycbcrAdder reads the planes of a JPEG directly. The conversion to RGB is
// that of JFIF, in fixed point.
//
// Source: ITU-T T.871 (JFIF) section 7.
func ycbcrAdder(p *image.YCbCr, t *ycbcrTables) binAdder {
	shift := chromaShift(p.SubsampleRatio)
	left, width := p.Rect.Min.X, p.Rect.Dx()
	cols := make([]column, width)
	return func(y0, y1 int, xs []int, acc []sums) {
		for y0 < y1 {
			clear(cols)
			end := min(y1, y0+mostRows)
			for ; y0 < end; y0++ {
				luma := p.Y[y0*p.YStride:][:width]
				c := p.COffset(left, p.Rect.Min.Y+y0)
				if shift == 1 && left&1 == 0 {
					t.addPairs(cols, luma, p.Cb[c:], p.Cr[c:])
				} else {
					t.addRow(cols, luma, p.Cb[c:], p.Cr[c:], uint(left)&(1<<shift-1), shift)
				}
			}
			for i := range acc {
				s := &acc[i]
				for _, c := range cols[xs[i]:xs[i+1]] {
					s.r += int64(c.r)
					s.g += int64(c.g)
					s.b += int64(c.b)
					s.clip += int64(c.clip)
				}
			}
		}
	}
}

// chromaShift tells how many columns share a chroma sample, as a power of two.
func chromaShift(r image.YCbCrSubsampleRatio) uint {
	switch r {
	case image.YCbCrSubsampleRatio422, image.YCbCrSubsampleRatio420:
		return 1
	case image.YCbCrSubsampleRatio411, image.YCbCrSubsampleRatio410:
		return 2
	}
	return 0
}

// addPairs adds a row of which each two columns share a chroma sample.
func (t *ycbcrTables) addPairs(cols []column, luma, cbs, crs []uint8) {
	pairs := len(luma) / 2
	last, lastCb, lastCr := luma[2*pairs:], cbs[pairs:], crs[pairs:]
	cbs = cbs[:pairs]
	crs = crs[:len(cbs)]
	for i, u := range cbs {
		if len(luma) < 2 || len(cols) < 2 {
			break // never; tells the compiler that the indices are good
		}
		cb, cr := int32(u)-128, int32(crs[i])-128
		r, g, b := half+91881*cr, half-22554*cb-46802*cr, half+116130*cb

		c, l := &cols[0], int32(luma[0])<<16
		ir, ig, ib := uint32(l+r)>>16&1023, uint32(l+g)>>16&1023, uint32(l+b)>>16&1023
		c.r += t.r[ir]
		c.g += t.g[ig]
		c.b += t.b[ib]
		if (ir|ig|ib)&clipBit != 0 {
			c.clip++
		}

		c, l = &cols[1], int32(luma[1])<<16
		ir, ig, ib = uint32(l+r)>>16&1023, uint32(l+g)>>16&1023, uint32(l+b)>>16&1023
		c.r += t.r[ir]
		c.g += t.g[ig]
		c.b += t.b[ib]
		if (ir|ig|ib)&clipBit != 0 {
			c.clip++
		}
		luma, cols = luma[2:], cols[2:]
	}
	if len(last) > 0 { // the odd column
		t.addRow(cols, last, lastCb, lastCr, 0, 0)
	}
}

// addRow adds a row of which each 1<<shift columns share a chroma sample; phase
// is how many columns before the first one share its sample.
func (t *ycbcrTables) addRow(cols []column, luma, cbs, crs []uint8, phase, shift uint) {
	cols = cols[:len(luma)]
	for x, v := range luma {
		k := (uint(x) + phase) >> shift
		cb, cr := int32(cbs[k])-128, int32(crs[k])-128
		l := int32(v)<<16 + half
		ir, ig, ib := uint32(l+91881*cr)>>16&1023, uint32(l-22554*cb-46802*cr)>>16&1023, uint32(l+116130*cb)>>16&1023
		c := &cols[x]
		c.r += t.r[ir]
		c.g += t.g[ig]
		c.b += t.b[ib]
		if (ir|ig|ib)&clipBit != 0 {
			c.clip++
		}
	}
}
