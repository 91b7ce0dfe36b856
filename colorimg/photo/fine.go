package photo

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/jpeg"

	"hueward/colorimg/cie"
)

// fineBelow is the size, in pixels, below which [Photo.Finer] decodes a JPEG again: it takes
// little time there, and pictures that were made small have lost the noise
// that would average out the rounding.
const fineBelow = 4_000_000

// fineSteps is the number of parts into which Finer divides a step of chroma.
const fineSteps = 8

// Finer returns factors on the mean linear red, green and blue (sRGB primaries) of an even grey area
// of a JPEG, which undo the decoder's rounding of chroma, and of red, green and blue after it.
// each must call the function that it is given with the working pixels of the area. ok is false
// where the photo is no JPEG, is large, or is not grey there.
//
// An even area has one chroma, which a decoder rounds to a whole step in the same way everywhere:
// by up to 0.9 of 255 in blue, 0.7 in red, and a half more in each channel. The file itself has
// eighths of steps, as the mean of a block is stored times eight. So the file is
// decoded again with its chroma amplified, by quantisation tables whose steps are eight times as large.
//
// Source: ITU-T T.81 sections A.3.3, A.3.4 and B.2.4.1; ITU-T T.871 section 7.
func (p *Photo) Finer(each func(func(x, y int))) (factor [3]float64, ok bool) {
	defer func() {
		if recover() != nil { // the decoder panics on a hostile file
			ok = false
		}
	}()
	im, isJPEG := p.stored.(*image.YCbCr)
	if !isJPEG || p.file == nil || p.encoding.grid != nil {
		return factor, false
	}
	again, err := jpeg.Decode(bytes.NewReader(spreadChroma(p.file)))
	spread, same := again.(*image.YCbCr)
	if err != nil || !same || spread.Rect != im.Rect || spread.SubsampleRatio != im.SubsampleRatio {
		return factor, false
	}
	table := p.encoding.ycbcrTables()
	luma := p.Lightness()
	var rough, fine [3]float64
	n, grey := 0, 0
	each(func(x, y int) {
		fx, fy := int((float64(x)+0.5)*p.Image.ScaleX), int((float64(y)+0.5)*p.Image.ScaleY)
		if fx < 0 || fy < 0 || fx >= luma.W || fy >= luma.H {
			return
		}
		n++
		at := luma.Origin + fx*luma.DX + fy*luma.DY
		l := im.Y[at]
		c := im.COffset(im.Rect.Min.X+at%im.YStride, im.Rect.Min.Y+at/im.YStride)
		u, v := spread.Cb[c], spread.Cr[c]
		if min(u, v) < 2 || max(u, v) > 253 {
			return
		}
		grey++
		r, g, b := table.of(im.Cb[c], im.Cr[c])
		cb, cr := (float64(u)-128)/fineSteps, (float64(v)-128)/fineSteps
		for k, code := range [3]float64{1.402 * cr, -0.344136*cb - 0.714136*cr, 1.772 * cb} {
			rough[k] += float64([3]*[256]uint32{r, g, b}[k][l]&^clipped) / one
			fine[k] += p.encoding.curve[k](min(max((float64(l)+code)/255, 0), 1))
		}
	})
	if grey < 12 || grey*10 < n*9 {
		return factor, false
	}
	x, y := p.encoding.toSRGB(rough), p.encoding.toSRGB(fine)
	for k := range factor {
		factor[k] = y[k] / x[k]
		if !(factor[k] > 0.9 && factor[k] < 1.1) { // more than rounding can do, or NaN
			return factor, false
		}
	}
	return factor, true
}

// toSRGB converts a linear device colour to linear sRGB.
func (e *encoding) toSRGB(v [3]float64) cie.RGB {
	r, g, b := e.matrix.Apply(v[0], v[1], v[2])
	return cie.RGB{r, g, b}
}

// spreadChroma returns the JPEG with quantisation steps fineSteps times as large in all its tables. Lightness, and
// colours far from grey, are lost in it.
//
// Source: ITU-T T.81 section B.2.4.1.
func spreadChroma(b []byte) []byte {
	out := append(make([]byte, 0, len(b)+512), b[:2]...)
	end := 2
	for m, seg := range jpegSegments(b) {
		end = cap(b) - cap(seg) + len(seg)
		if m == 0xdb {
			seg = coarser(seg)
		}
		out = append(out, 0xff, m)
		out = binary.BigEndian.AppendUint16(out, uint16(len(seg)+2))
		out = append(out, seg...)
	}
	return append(out, b[end:]...)
}

// coarser returns a segment of quantisation tables with steps fineSteps times as large, in 16 bits.
func coarser(seg []byte) []byte {
	var out []byte
	for len(seg) > 0 {
		wide := int(seg[0] >> 4 & 1)
		n := 64 << wide
		if len(seg) < 1+n {
			break
		}
		out = append(out, 1<<4|seg[0]&15)
		for i := range 64 {
			q := int(seg[1+i<<wide])
			if wide == 1 {
				q = q<<8 | int(seg[2+i<<1])
			}
			out = binary.BigEndian.AppendUint16(out, uint16(min(q*fineSteps, 65535)))
		}
		seg = seg[1+n:]
	}
	return out
}
