package photo

import (
	"image"

	"hueward/colorimg/rows"
)

// Lightness is a photo's lightness at full size, as displayed: the stored codes, not linear light. The pixel (x, y) is
// Pix[Origin + x·DX + y·DY]; by these steps a turned photo is read where it lies. DX or DY is 1 or -1. The pixels are
// the photo's own: they are not to be changed.
type Lightness struct {
	W, H           int
	Pix            []uint8
	Origin, DX, DY int
}

// At returns the lightness of the pixel, 0 to 255. It must lie inside.
func (l *Lightness) At(x, y int) uint8 { return l.Pix[l.Origin+x*l.DX+y*l.DY] }

// Lightness returns the photo's lightness. For a JPEG it is the luma plane itself, at no cost; other pictures are
// converted in each call. A photo that was not opened from a file has none: W and H are 0.
func (p *Photo) Lightness() Lightness {
	if p.stored == nil {
		return Lightness{}
	}
	pix, stride := lumaPlane(p.stored)
	w, h := p.stored.Bounds().Dx(), p.stored.Bounds().Dy()
	l := Lightness{Pix: pix, DX: 1, DY: stride}
	l.W, l.H = p.turn.size(w, h)
	if p.turn.flipX() {
		l.Origin += w - 1
		l.DX = -1
	}
	if p.turn.flipY() {
		l.Origin += (h - 1) * stride
		l.DY = -stride
	}
	if p.turn.swaps() {
		l.DX, l.DY = l.DY, l.DX
	}
	return l
}

// lumaPlane returns the picture's lightness row by row as stored.
func lumaPlane(im image.Image) (pix []uint8, stride int) {
	b := im.Bounds()
	switch im := im.(type) {
	case *image.YCbCr:
		return im.Y[im.YOffset(b.Min.X, b.Min.Y):], im.YStride
	case *image.NYCbCrA:
		return im.Y[im.YOffset(b.Min.X, b.Min.Y):], im.YStride
	case *image.Gray:
		return im.Pix[im.PixOffset(b.Min.X, b.Min.Y):], im.Stride
	}
	// Transparent pixels keep the colour they would have without transparency; photos have none.
	at := pixelsOf(im, false)
	w, h := b.Dx(), b.Dy()
	pix = make([]uint8, w*h)
	rows.Split(h, func(y0, y1 int) {
		for i := y0 * w; i < y1*w; i++ {
			c := at(i%w, i/w)
			pix[i] = luma(uint32(c.R>>8), uint32(c.G>>8), uint32(c.B>>8))
		}
	})
	return pix, w
}

// luma returns Y of JFIF, rounded.
//
// Source: ITU-T T.871 (JFIF) section 7.
func luma(r, g, b uint32) uint8 {
	return uint8((19595*r + 38470*g + 7471*b + 1<<15) >> 16)
}
