package photo

import (
	"image"
	"image/color"
)

// fetcher reads the stored row y into buf, as values of 16 bits that are not
// multiplied by alpha.
type fetcher func(y int, buf []color.NRGBA64)

// fetcherFor returns the way to read rows of im; quick for the kinds that
// decoders make, by way of At for any other.
func fetcherFor(im image.Image, studio bool) fetcher {
	r := im.Bounds()
	switch p := im.(type) {
	case *wideYCbCr:
		return p.fetch
	case *image.NRGBA64:
		return func(y int, buf []color.NRGBA64) {
			row := p.Pix[y*p.Stride:]
			for x := range buf {
				s := row[8*x : 8*x+8 : 8*x+8]
				buf[x] = color.NRGBA64{R: be(s[0], s[1]), G: be(s[2], s[3]), B: be(s[4], s[5]), A: be(s[6], s[7])}
			}
		}
	case *image.RGBA64:
		return func(y int, buf []color.NRGBA64) {
			row := p.Pix[y*p.Stride:]
			for x := range buf {
				s := row[8*x : 8*x+8 : 8*x+8]
				c := color.RGBA64{R: be(s[0], s[1]), G: be(s[2], s[3]), B: be(s[4], s[5]), A: be(s[6], s[7])}
				buf[x] = unmultiply(c)
			}
		}
	case *image.NRGBA:
		return func(y int, buf []color.NRGBA64) {
			row := p.Pix[y*p.Stride:]
			for x := range buf {
				s := row[4*x : 4*x+4 : 4*x+4]
				buf[x] = color.NRGBA64{R: wide(s[0]), G: wide(s[1]), B: wide(s[2]), A: wide(s[3])}
			}
		}
	case *image.Gray16:
		return func(y int, buf []color.NRGBA64) {
			row := p.Pix[y*p.Stride:]
			for x := range buf {
				v := be(row[2*x], row[2*x+1])
				buf[x] = color.NRGBA64{R: v, G: v, B: v, A: 0xffff}
			}
		}
	case *image.Paletted:
		var pal [256]color.NRGBA64
		for i, c := range p.Palette[:min(256, len(p.Palette))] {
			pal[i] = color.NRGBA64Model.Convert(c).(color.NRGBA64)
			if n, ok := c.(color.NRGBA); ok { // keep what the multiplication by alpha loses
				pal[i] = color.NRGBA64{R: wide(n.R), G: wide(n.G), B: wide(n.B), A: wide(n.A)}
			}
		}
		return func(y int, buf []color.NRGBA64) {
			for x, v := range p.Pix[y*p.Stride : y*p.Stride+len(buf)] {
				buf[x] = pal[v]
			}
		}
	case *image.YCbCr:
		return ycbcrFetcher(p, nil, 0, studio)
	case *image.NYCbCrA:
		return ycbcrFetcher(&p.YCbCr, p.A, p.AStride, studio)
	}
	return func(y int, buf []color.NRGBA64) {
		for x := range buf {
			buf[x] = unmultiply(color.RGBA64Model.Convert(im.At(r.Min.X+x, r.Min.Y+y)).(color.RGBA64))
		}
	}
}

// ycbcrFetcher reads planes; alpha may be nil.
func ycbcrFetcher(p *image.YCbCr, alpha []uint8, stride int, studio bool) fetcher {
	convert := fullRGB
	if studio {
		convert = studioRGB
	}
	return func(y int, buf []color.NRGBA64) {
		x0, yy := p.Rect.Min.X, p.Rect.Min.Y+y
		row := p.Y[p.YOffset(x0, yy):]
		for x := range buf {
			k := p.COffset(x0+x, yy)
			r, g, b := convert(row[x], p.Cb[k], p.Cr[k])
			a := uint16(0xffff)
			if alpha != nil {
				a = wide(alpha[y*stride+x])
			}
			buf[x] = color.NRGBA64{R: r, G: g, B: b, A: a}
		}
	}
}

// fullRGB converts a colour of a JPEG without rounding to 8 bits.
//
// Source: ITU-T T.871 (JFIF) section 7.
func fullRGB(y, cb, cr uint8) (r, g, b uint16) {
	l, u, v := float64(y), float64(cb)-128, float64(cr)-128
	return code16(l + 1.402*v), code16(l - 0.344136*u - 0.714136*v), code16(l + 1.772*u)
}

// studioRGB converts a colour of a lossy WebP. Its luma runs from 16 to 235,
// unlike a JPEG's; the library's own At does not allow for that.
//
// Source: RFC 6386 section 9.2 and ITU-R BT.601; the reference decoder rounds
// to 8 bits where this does not.
func studioRGB(y, cb, cr uint8) (r, g, b uint16) {
	l := 255.0 / 219 * (float64(y) - 16)
	u, v := 255.0/224*(float64(cb)-128), 255.0/224*(float64(cr)-128)
	return code16(l + 1.402*v), code16(l - 0.344136*u - 0.714136*v), code16(l + 1.772*u)
}

func code16(v float64) uint16 { return uint16(min(max(v, 0), 255)*257 + 0.5) }

func wide(v uint8) uint16    { return uint16(v) * 257 }
func be(hi, lo uint8) uint16 { return uint16(hi)<<8 | uint16(lo) }

// unmultiply divides by alpha. A colour brighter than its alpha, which no
// sound file has, is held at the largest value.
func unmultiply(c color.RGBA64) color.NRGBA64 {
	if c.A == 0xffff || c.A == 0 {
		return color.NRGBA64(c)
	}
	div := func(v uint16) uint16 { return uint16(min(uint32(v)*0xffff/uint32(c.A), 0xffff)) }
	return color.NRGBA64{R: div(c.R), G: div(c.G), B: div(c.B), A: c.A}
}
