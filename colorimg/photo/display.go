package photo

import (
	"context"
	"fmt"
	"image"
	"sync"

	"github.com/disintegration/imaging"

	"hueward/colorimg/cie"
)

// Display returns the picture as it is shown on a screen: sRGB with 8 bits,
// colours outside sRGB clipped, every pixel opaque. Measure nothing from it.
func (l *Linear) Display() *image.NRGBA {
	table := encodeTable()
	im := image.NewNRGBA(image.Rect(0, 0, l.W, l.H))
	for i := range l.W * l.H {
		for k := range 3 {
			im.Pix[4*i+k] = encode8(table, l.Pix[3*i+k])
		}
		im.Pix[4*i+3] = 255
	}
	return im
}

// encode8 applies the sRGB transfer function and rounds to 8 bits, NaN to 0.
func encode8(table *[len16]uint8, v float32) uint8 {
	if !(v > 0) {
		return 0
	}
	return table[int(min(v, 1)*(len16-1)+0.5)]
}

// encodeTable is the transfer function over linear light in 16 bits; at the
// dark end, where it is steepest, 20 steps of it make one of 8 bits.
const len16 = 1 << 16

var encodeTable = sync.OnceValue(func() *[len16]uint8 {
	var t [len16]uint8
	for i := range t {
		t[i] = uint8(cie.Encode(float64(i)/(len16-1))*255 + 0.5)
	}
	return &t
})

// Thumbnail returns the photo as displayed, its longest side at most longest
// pixels and never enlarged, in sRGB with 8 bits. It carries nothing of the
// file but its pixels. Errors are those of [Open]; opt.Work is not used.
func Thumbnail(ctx context.Context, name string, longest int, opt *Options) (image.Image, error) {
	if longest < 1 {
		return nil, fmt.Errorf("thumbnail of %q: longest side %d is not positive", name, longest)
	}
	var o Options
	if opt != nil {
		o = *opt
	}
	// Twice the size, averaged in linear light, leaves the filter enough to work on.
	o.Work = 2 * longest
	p, err := Open(ctx, name, &o)
	if err != nil {
		return nil, err
	}
	return imaging.Fit(p.Image.Display(), longest, longest, imaging.Lanczos), nil
}
