package photo

import (
	"image"
	"sync"

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
