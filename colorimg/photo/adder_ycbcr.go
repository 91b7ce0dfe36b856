package photo

import "image"

// column adds up one column over the rows of a working row, before the columns
// of each working pixel are put together: a photo's rows are long, its working
// pixels only a few columns wide.
type column struct{ r, g, b, clip uint32 }

// maxRows is how many rows a column can hold without running over.
const maxRows = 1<<32/one - 1

// ycbcrTables are the curves in fixed point, index = stored value + bias8.
// Below and above the ends they repeat them, because a YCbCr colour may lie
// outside 0 to 255.
type ycbcrTables struct{ r, g, b [1024]uint32 }

const bias8 = 256

func (e *encoding) ycbcrTables() *ycbcrTables {
	var w ycbcrTables
	t := e.tables8()
	for i := range w.r {
		v := min(max(i-bias8, 0), 255)
		w.r[i], w.g[i], w.b[i] = t[0][v]&^clipped, t[1][v]&^clipped, t[2][v]&^clipped
	}
	return &w
}

// chroma is what one chroma sample adds to red, green and blue, with the bias,
// and the luma from which on a channel counts as clipped. The tables from r on,
// 256 entries, are then indexed by luma alone.
type chroma struct{ r, g, b, clip uint32 }

// chromaOf works out one sample. Luma being whole, to round the sum of both is
// to round what chroma adds; half rounds to the nearest, as the printed formula
// and other decoders do. Package color rounds dark pixels down and bright ones
// up, which would shift a dark petal by a tenth of an L* step.
//
// Source: ITU-T T.871 (JFIF) section 7.
func chromaOf(cb, cr uint8) chroma {
	const half = 1 << 15
	u, v := int32(cb)-128, int32(cr)-128
	r, g, b := (91881*v+half)>>16, (-22554*u-46802*v+half)>>16, (116130*u+half)>>16
	return chroma{uint32(bias8 + r), uint32(bias8 + g), uint32(bias8 + b), uint32(clip8 - max(r, g, b))}
}

// chromaRow fills row from the samples.
func chromaRow(row []chroma, cbs, crs []uint8) {
	cbs, crs = cbs[:len(row)], crs[:len(row)]
	for i := range row {
		row[i] = chromaOf(cbs[i], crs[i])
	}
}

// ycbcrAdder reads the planes of a JPEG directly. The chroma samples of a row
// are worked out once for all rows that share them.
func ycbcrAdder(p *image.YCbCr, t *ycbcrTables) binAdder {
	shift := chromaShift(p.SubsampleRatio)
	left, width := p.Rect.Min.X, p.Rect.Dx()
	phase := uint(left) & (1<<shift - 1)
	cols := make([]column, width)
	row := make([]chroma, (uint(width)+phase-1)>>shift+1)
	have := -1
	offset := func(y int) int { return p.COffset(left, p.Rect.Min.Y+y) }
	return func(y0, y1 int, xs []int, acc []sums) {
		for y0 < y1 {
			clear(cols)
			for end := min(y1, y0+maxRows); y0 < end; y0++ {
				luma := p.Y[y0*p.YStride:][:width]
				if c := offset(y0); c != have {
					chromaRow(row, p.Cb[c:], p.Cr[c:])
					have = c
				}
				switch {
				case shift != 1 || phase != 0:
					t.addRow(cols, luma, row, phase, shift)
				case y0+1 < end && offset(y0+1) == have:
					y0++
					t.addQuads(cols, luma, p.Y[y0*p.YStride:][:width], row)
				default:
					t.addPairs(cols, luma, row)
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

// window is the part of the tables that c's pixels can reach.
func (t *ycbcrTables) window(c *chroma) (r, g, b *[256]uint32) {
	// &511 changes nothing; it tells the compiler that 256 entries follow.
	return (*[256]uint32)(t.r[c.r&511:]), (*[256]uint32)(t.g[c.g&511:]), (*[256]uint32)(t.b[c.b&511:])
}

// addQuads adds two rows of which each two columns share a chroma sample: the
// case of nearly every photo, and two thirds of the work of a pair of addPairs.
func (t *ycbcrTables) addQuads(cols []column, upper, lower []uint8, row []chroma) {
	lower = lower[:len(upper)]
	for i := range row {
		if len(upper) < 2 || len(lower) < 2 || len(cols) < 2 {
			t.addPairs(cols, upper, row[i:]) // the odd column
			t.addPairs(cols, lower, row[i:])
			return
		}
		c := &row[i]
		r, g, b := t.window(c)
		d, y0, y1 := &cols[0], upper[0], lower[0]
		d.r += r[y0] + r[y1]
		d.g += g[y0] + g[y1]
		d.b += b[y0] + b[y1]
		if uint32(max(y0, y1)) >= c.clip {
			d.clip += 1 + b2u(uint32(min(y0, y1)) >= c.clip)
		}
		d, y0, y1 = &cols[1], upper[1], lower[1]
		d.r += r[y0] + r[y1]
		d.g += g[y0] + g[y1]
		d.b += b[y0] + b[y1]
		if uint32(max(y0, y1)) >= c.clip {
			d.clip += 1 + b2u(uint32(min(y0, y1)) >= c.clip)
		}
		upper, lower, cols = upper[2:], lower[2:], cols[2:]
	}
}

// addPairs adds one such row.
func (t *ycbcrTables) addPairs(cols []column, luma []uint8, row []chroma) {
	for i := range row {
		if len(luma) < 2 || len(cols) < 2 {
			t.addRow(cols, luma, row[i:], 0, 1)
			return
		}
		c := &row[i]
		r, g, b := t.window(c)
		cols[0].add(r, g, b, luma[0], c.clip)
		cols[1].add(r, g, b, luma[1], c.clip)
		luma, cols = luma[2:], cols[2:]
	}
}

// addRow adds a row of which each 1<<shift columns share a chroma sample; phase
// is how many columns before the first one share its sample.
func (t *ycbcrTables) addRow(cols []column, luma []uint8, row []chroma, phase, shift uint) {
	cols = cols[:len(luma)]
	for x, v := range luma {
		c := &row[(uint(x)+phase)>>(shift&63)]
		r, g, b := t.window(c)
		cols[x].add(r, g, b, v, c.clip)
	}
}

func (d *column) add(r, g, b *[256]uint32, luma uint8, clip uint32) {
	d.r += r[luma]
	d.g += g[luma]
	d.b += b[luma]
	d.clip += b2u(uint32(luma) >= clip)
}

func b2u(b bool) uint32 {
	if b {
		return 1
	}
	return 0
}
