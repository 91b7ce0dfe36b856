package photo

import (
	"context"
	"fmt"
	"image"
	"image/color"
	"io"

	"hueward/colorimg/photo/heif"
)

// hintHEIC tells how to make a JPEG on the phone that wrote the photo.
const hintHEIC = "export it as a JPEG (on an iPhone: Settings, Camera, Formats, Most Compatible; " +
	"or share the photo as a JPEG) and measure that"

// readHEIF reads the container.
func readHEIF(r io.Reader) (*heif.Picture, error) {
	b := make([]byte, r.(interface{ Len() int }).Len())
	if _, err := io.ReadFull(r, b); err != nil {
		return nil, err
	}
	return heif.Read(b)
}

// heicConfig gives the stored size.
func heicConfig(r io.Reader) (image.Config, error) {
	p, err := readHEIF(r)
	if err != nil {
		return image.Config{}, err
	}
	c := image.Config{Width: p.Width, Height: p.Height, ColorModel: color.YCbCrModel}
	if p.Gray {
		c.ColorModel = color.GrayModel
	}
	return c, nil
}

// heicFacts reads what the container says. It also tells how the picture is turned; its EXIF orientation, which repeats
// that, is not to be applied.
//
// Source: ISO/IEC 23008-12 annex A.2.1 (the container's word goes before EXIF's); from memory.
func heicFacts(b []byte) facts {
	p, err := heif.Read(b)
	if err != nil {
		return facts{}
	}
	f := facts{exif: p.EXIF, icc: p.ICC, iccBad: len(p.ICC) > largestProfile, turn: orientation(p.Turn), pixels: p.Pixels, gray: p.Gray}
	if p.Codes != nil {
		f.codes = &codePoints{CodePoints: *p.Codes}
	}
	return f
}

// heicDecode decodes the main picture as stored.
func heicDecode(r io.Reader) (image.Image, error) {
	ctx := context.Background()
	if c, ok := r.(*ctxReader); ok {
		ctx = c.ctx
	}
	p, err := readHEIF(r)
	if err != nil {
		return nil, err
	}
	k, ok := ycbcrOf(p.Matrix, p.Full, p.Bits)
	if !ok {
		return nil, &heif.UnsupportedError{Reason: fmt.Sprintf("states its colours in a way that is not handled (matrix %d)", p.Matrix)}
	}
	s, err := p.Decode(ctx)
	if err != nil {
		return nil, err
	}
	return heicImage(s, image.Rect(0, 0, p.Width, p.Height), k)
}
