package photo

import (
	"image"
	"image/color"
)

// adderFor chooses the fastest way to add up the rows of im. Each worker
// calls the function it returns for an adder of its own.
func adderFor(im image.Image, e *encoding, studio bool) func() binAdder {
	if e.grid == nil {
		switch p := im.(type) {
		case *image.YCbCr:
			if !studio {
				t := e.ycbcrTables()
				return func() binAdder { return ycbcrAdder(p, t) }
			}
		case *image.Gray:
			t := e.tables8()
			return func() binAdder { return byRow(grayAdder(p, t)) }
		case *image.RGBA:
			if p.Opaque() {
				t := e.tables8()
				return func() binAdder { return byRow(rgbAdder(p.Pix, p.Stride, t)) }
			}
		case *image.NRGBA:
			if p.Opaque() {
				t := e.tables8()
				return func() binAdder { return byRow(rgbAdder(p.Pix, p.Stride, t)) }
			}
		}
	}
	fetch := fetcherFor(im, studio)
	width := im.Bounds().Dx()
	if e.grid != nil {
		return func() binAdder { return byRow(gridAdder(fetch, make([]color.NRGBA64, width), e.grid)) }
	}
	t := e.tables16()
	return func() binAdder { return byRow(fetchAdder(fetch, make([]color.NRGBA64, width), t)) }
}

// byRow adds the rows of a working row one after the other.
func byRow(add rowAdder) binAdder {
	return func(y0, y1 int, xs []int, acc []sums) {
		for y := y0; y < y1; y++ {
			add(y, xs, acc)
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

func grayAdder(p *image.Gray, t [3]*table8) rowAdder {
	return func(y int, xs []int, acc []sums) {
		row := p.Pix[y*p.Stride:]
		for i := range acc {
			s := &acc[i]
			for _, v := range row[xs[i]:xs[i+1]] {
				s.add(t[0][v], t[1][v], t[2][v])
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
				s.add(tr[p[0]], tg[p[1]], tb[p[2]])
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
