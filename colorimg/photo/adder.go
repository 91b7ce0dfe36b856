package photo

import (
	"image"
	"image/color"
)

// adderFor chooses the fastest way to add up the rows of im. Each worker
// calls the function it returns for an adder of its own.
func adderFor(im image.Image, e *encoding, studio bool) func() rowAdder {
	if e.grid == nil {
		switch p := im.(type) {
		case *image.YCbCr:
			if !studio {
				t := e.tables8()
				return func() rowAdder { return ycbcrAdder(p, t) }
			}
		case *image.Gray:
			t := e.tables8()
			return func() rowAdder { return grayAdder(p, t) }
		case *image.RGBA:
			if p.Opaque() {
				t := e.tables8()
				return func() rowAdder { return rgbAdder(p.Pix, p.Stride, t) }
			}
		case *image.NRGBA:
			if p.Opaque() {
				t := e.tables8()
				return func() rowAdder { return rgbAdder(p.Pix, p.Stride, t) }
			}
		}
	}
	fetch := fetcherFor(im, studio)
	width := im.Bounds().Dx()
	if e.grid != nil {
		return func() rowAdder { return gridAdder(fetch, make([]color.NRGBA64, width), e.grid) }
	}
	t := e.tables16()
	return func() rowAdder { return fetchAdder(fetch, make([]color.NRGBA64, width), t) }
}

// ycbcrAdder reads the planes of a JPEG directly. The conversion to RGB is
// that of JFIF in fixed point, digit for digit that of package color; the
// clamp to 0…255 is in the tables.
func ycbcrAdder(p *image.YCbCr, t [3]*table8) rowAdder {
	tr, tg, tb := t[0], t[1], t[2]
	const bias = 256 << 16 // tables begin at -256
	shift, _ := chromaShift(p)
	x0 := p.Rect.Min.X
	return func(y int, xs []int, acc []sums) {
		y += p.Rect.Min.Y
		row := p.Y[(y-p.Rect.Min.Y)*p.YStride:]
		c := p.COffset(x0, y)
		cbs, crs := p.Cb[c:], p.Cr[c:]
		if shift < 0 { // never written by the decoders here, but a picture may begin anywhere
			for i := range acc {
				for x := xs[i]; x < xs[i+1]; x++ {
					k := p.COffset(x0+x, y)
					addYCbCr(&acc[i], row[x], p.Cb[k], p.Cr[k], tr, tg, tb)
				}
			}
			return
		}
		for i := range acc {
			a, b := xs[i], xs[i+1]
			var r, g, bl, cl uint64
			for x := a; x < b; x++ {
				yy := int32(row[x])*0x10101 + bias
				cb := int32(cbs[x>>shift]) - 128
				cr := int32(crs[x>>shift]) - 128
				er := tr[uint32(yy+91881*cr)>>16&1023]
				eg := tg[uint32(yy-22554*cb-46802*cr)>>16&1023]
				eb := tb[uint32(yy+116130*cb)>>16&1023]
				cl += uint64((er | eg | eb) >> 31)
				r += uint64(er &^ clipped)
				g += uint64(eg &^ clipped)
				bl += uint64(eb &^ clipped)
			}
			acc[i].r += int64(r)
			acc[i].g += int64(g)
			acc[i].b += int64(bl)
			acc[i].clip += int64(cl)
		}
	}
}

func addYCbCr(s *sums, y, cb, cr uint8, tr, tg, tb *table8) {
	r, g, b := color.YCbCrToRGB(y, cb, cr)
	s.add(tr[int(r)+256], tg[int(g)+256], tb[int(b)+256])
}

// add adds one pixel's table entries.
func (s *sums) add(r, g, b uint32) {
	s.clip += int64((r | g | b) >> 31)
	s.r += int64(r &^ clipped)
	s.g += int64(g &^ clipped)
	s.b += int64(b &^ clipped)
}

// chromaShift tells how many columns share a chroma sample, as a power of
// two; -1 where a column's sample cannot be found by a shift.
func chromaShift(p *image.YCbCr) (int, bool) {
	shift := 0
	switch p.SubsampleRatio {
	case image.YCbCrSubsampleRatio422, image.YCbCrSubsampleRatio420:
		shift = 1
	case image.YCbCrSubsampleRatio411, image.YCbCrSubsampleRatio410:
		shift = 2
	}
	if p.Rect.Min.X&(1<<shift-1) != 0 {
		return -1, false
	}
	return shift, true
}

func grayAdder(p *image.Gray, t [3]*table8) rowAdder {
	return func(y int, xs []int, acc []sums) {
		row := p.Pix[y*p.Stride:]
		for i := range acc {
			s := &acc[i]
			for _, v := range row[xs[i]:xs[i+1]] {
				k := int(v) + 256
				s.add(t[0][k], t[1][k], t[2][k])
			}
		}
	}
}

// rgbAdder reads opaque pixels of four bytes.
func rgbAdder(pix []uint8, stride int, t [3]*table8) rowAdder {
	tr, tg, tb := t[0], t[1], t[2]
	return func(y int, xs []int, acc []sums) {
		row := pix[y*stride:]
		for i := range acc {
			s := acc[i]
			for p := row[4*xs[i] : 4*xs[i+1]]; len(p) >= 4; p = p[4:] {
				s.add(tr[int(p[0])+256], tg[int(p[1])+256], tb[int(p[2])+256])
			}
			acc[i] = s
		}
	}
}

// midGray is what lies behind a transparent pixel, in stored values: a grey
// near the middle, so that a cut-out flower keeps its edges.
const midGray = 128 * 257

// fetchAdder adds rows of any picture, by way of 16-bit values.
func fetchAdder(fetch fetcher, buf []color.NRGBA64, t [3]*table16) rowAdder {
	var mid [3]int64
	for i := range mid {
		mid[i] = int64(t[i][midGray])
	}
	tr, tg, tb := t[0], t[1], t[2]
	return func(y int, xs []int, acc []sums) {
		fetch(y, buf)
		for i := range acc {
			s := &acc[i]
			for _, p := range buf[xs[i]:xs[i+1]] {
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
