package photo

import (
	"image"
	"image/color"
)

// pixels returns the stored pixel in column x of row y, from 0 on, as values of
// 16 bits that are not multiplied by alpha.
type pixels func(x, y int) color.NRGBA64

// pixelsOf returns the way to read im, exactly also where it is transparent.
func pixelsOf(im image.Image, studio bool) pixels {
	o := im.Bounds().Min
	switch p := im.(type) {
	case *image.NRGBA64:
		return func(x, y int) color.NRGBA64 { return p.NRGBA64At(o.X+x, o.Y+y) }
	case *image.NRGBA:
		return func(x, y int) color.NRGBA64 {
			c := p.NRGBAAt(o.X+x, o.Y+y)
			return color.NRGBA64{R: wide(c.R), G: wide(c.G), B: wide(c.B), A: wide(c.A)}
		}
	case *image.Paletted:
		var pal [256]color.NRGBA64 // a hostile file's pixels reach beyond its palette
		for i, c := range p.Palette[:min(256, len(p.Palette))] {
			pal[i] = pixelsOf(image.NewUniform(c), false)(0, 0)
		}
		return func(x, y int) color.NRGBA64 { return pal[p.ColorIndexAt(o.X+x, o.Y+y)] }
	case *image.YCbCr:
		return ycbcrPixels(p, studio)
	case *image.NYCbCrA:
		at := ycbcrPixels(&p.YCbCr, studio)
		return func(x, y int) color.NRGBA64 {
			c := at(x, y)
			c.A = wide(p.A[p.AOffset(o.X+x, o.Y+y)])
			return c
		}
	}
	at := func(x, y int) color.RGBA64 { return color.RGBA64Model.Convert(im.At(x, y)).(color.RGBA64) }
	if p, ok := im.(image.RGBA64Image); ok { // as all kinds are that the decoders make
		at = p.RGBA64At
	}
	return func(x, y int) color.NRGBA64 { return unmultiply(at(o.X+x, o.Y+y)) }
}

// ycbcrPixels converts colours without rounding to 8 bits. The luma of a lossy WebP (studio) runs from 16 to 235,
// unlike a JPEG's; the library's own At does not allow for that.
//
// Source: ITU-T T.871 (JFIF) section 7; RFC 6386 section 9.2 and ITU-R BT.601,
// whose reference decoder rounds to 8 bits where this does not.
func ycbcrPixels(p *image.YCbCr, studio bool) pixels {
	black, luma, chroma := 0.0, 1.0, 1.0
	if studio {
		black, luma, chroma = 16, 255.0/219, 255.0/224
	}
	return func(x, y int) color.NRGBA64 {
		x, y = p.Rect.Min.X+x, p.Rect.Min.Y+y
		k := p.COffset(x, y)
		l, u, v := luma*(float64(p.Y[p.YOffset(x, y)])-black), chroma*(float64(p.Cb[k])-128), chroma*(float64(p.Cr[k])-128)
		return color.NRGBA64{R: code16(l + 1.402*v), G: code16(l - 0.344136*u - 0.714136*v), B: code16(l + 1.772*u), A: 0xffff}
	}
}

func code16(v float64) uint16 { return uint16(min(max(v, 0), 255)*257 + 0.5) }

func wide(v uint8) uint16 { return uint16(v) * 257 }

// seeThrough reports whether more than half of a picture is neither opaque nor empty, by 64 × 64 of its pixels. A flower that was
// cut out is not: it is so at its edge alone.
func seeThrough(im image.Image) bool {
	const side = 64
	at, b, n := pixelsOf(im, false), im.Bounds(), 0
	for i := range side {
		for j := range side {
			if a := at(i*b.Dx()/side, j*b.Dy()/side).A; a > 0 && a < 0xffff {
				n++
			}
		}
	}
	return 2*n > side*side
}

// unmultiply divides by alpha. A colour brighter than its alpha, which no valid file has, is clipped to the largest value.
func unmultiply(c color.RGBA64) color.NRGBA64 {
	if c.A == 0xffff || c.A == 0 {
		return color.NRGBA64(c)
	}
	div := func(v uint16) uint16 { return uint16(min(uint32(v)*0xffff/uint32(c.A), 0xffff)) }
	return color.NRGBA64{R: div(c.R), G: div(c.G), B: div(c.B), A: c.A}
}
