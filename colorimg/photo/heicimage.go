package photo

import (
	"fmt"
	"image"
	"image/color"

	"hueward/colorimg/photo/heif"
)

// ycbcrKind is how luma and chroma become red, green and blue.
type ycbcrKind struct {
	kr, kb float64 // shares of red and blue in luma
	full   bool    // 0 to 255, not 16 to 235
	bits   int     // of which the decoder kept the highest 8
	rgb    bool    // stored as red, green and blue
}

// ycbcrOf returns the kind of a matrix by its number; false where it is not
// handled. 2, not told, is read as 6, as other decoders do.
//
// Source: ITU-T H.273 table 4; from memory.
func ycbcrOf(matrix int, full bool, bits int) (ycbcrKind, bool) {
	shares, ok := map[int][2]float64{0: {}, 1: {0.2126, 0.0722}, 2: {0.299, 0.114}, 4: {0.30, 0.11}, 5: {0.299, 0.114},
		6: {0.299, 0.114}, 7: {0.212, 0.087}, 9: {0.2627, 0.0593}}[matrix]
	return ycbcrKind{kr: shares[0], kb: shares[1], full: full, bits: bits, rgb: matrix == 0}, ok
}

// heicImage makes a picture of what the decoder gave.
func heicImage(s *heif.Samples, r image.Rectangle, k ycbcrKind) (image.Image, error) {
	jpeg := k.full && k.bits == 8
	p := image.YCbCr{Y: s.Y, Cb: s.Cb, Cr: s.Cr, YStride: s.Stride, CStride: s.CStride, Rect: r}
	switch s.Kind {
	case heif.RGBA:
		if k.bits != 8 || !k.full {
			return nil, fmt.Errorf("heic: red, green and blue of %d bits", k.bits)
		}
		return &image.NRGBA{Pix: s.Y, Stride: s.Stride, Rect: r}, nil
	case heif.Gray:
		if jpeg {
			return &image.Gray{Pix: s.Y, Stride: s.Stride, Rect: r}, nil
		}
		p.SubsampleRatio = image.YCbCrSubsampleRatio444
		return &wideYCbCr{YCbCr: p, scale: k.scale(), gray: true}, nil
	case heif.YCbCr420:
		p.SubsampleRatio = image.YCbCrSubsampleRatio420
	case heif.YCbCr422:
		p.SubsampleRatio = image.YCbCrSubsampleRatio422
	default:
		p.SubsampleRatio = image.YCbCrSubsampleRatio444
	}
	if k.rgb {
		return nil, fmt.Errorf("heic: luma and chroma of a picture said to be red, green and blue")
	}
	if jpeg && k.kr == 0.299 {
		return &p, nil // as in a JPEG
	}
	return &wideYCbCr{YCbCr: p, scale: k.scale()}, nil
}

// scale is tables by 8-bit values: of luma, and of what Cb and Cr add to red, green and
// blue, with 1 for white.
type scale struct {
	y        [256]float32
	crR, cbB [256]float32
	crG, cbG [256]float32
}

// scale returns the tables. The decoder drops the lower bits of a value of more than
// 8 bits; the tables use the middle of the values that it may have been, as otherwise
// every colour would be darker by up to half a step.
//
// Source: ITU-T H.273 equations 20 to 31 (ranges), 38 to 40 (matrix); from memory.
func (k ycbcrKind) scale() *scale {
	var s scale
	step := float64(int(1) << (k.bits - 8)) // how many values one of 8 bits stands for
	lost := (step - 1) / 2
	black, luma, chroma := 0.0, 256*step-1, 256*step-1
	if !k.full {
		black, luma, chroma = 16*step, 219*step, 224*step
	}
	kg := 1 - k.kr - k.kb
	for v := range 256 {
		x := float64(v)*step + lost
		s.y[v] = float32((x - black) / luma)
		c := (x - 128*step) / chroma
		s.crR[v], s.cbB[v] = float32(2*(1-k.kr)*c), float32(2*(1-k.kb)*c)
		if kg > 0 {
			s.crG[v], s.cbG[v] = float32(-2*k.kr*(1-k.kr)/kg*c), float32(-2*k.kb*(1-k.kb)/kg*c)
		}
	}
	return &s
}

// wideYCbCr is a picture of luma and chroma that is not as a JPEG's.
type wideYCbCr struct {
	image.YCbCr
	scale *scale
	gray  bool
}

// ColorModel, At and RGBA64At make it an [image.RGBA64Image] of 16 bits.
func (p *wideYCbCr) ColorModel() color.Model { return color.RGBA64Model }

// At is RGBA64At.
func (p *wideYCbCr) At(x, y int) color.Color { return p.RGBA64At(x, y) }

// RGBA64At returns the colour of a pixel, which is opaque.
func (p *wideYCbCr) RGBA64At(x, y int) color.RGBA64 {
	if !(image.Point{X: x, Y: y}.In(p.Rect)) {
		return color.RGBA64{}
	}
	s, i, j := p.scale, p.YOffset(x, y), p.COffset(x, y)
	l := s.y[p.Y[i]]
	if p.gray {
		v := unit16(l)
		return color.RGBA64{R: v, G: v, B: v, A: 0xffff}
	}
	cb, cr := p.Cb[j], p.Cr[j]
	return color.RGBA64{R: unit16(l + s.crR[cr]), G: unit16(l + s.cbG[cb] + s.crG[cr]), B: unit16(l + s.cbB[cb]), A: 0xffff}
}

func unit16(v float32) uint16 { return uint16(min(max(v, 0), 1)*65535 + 0.5) }
