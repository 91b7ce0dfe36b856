package petal

import "math"

// Of the pixels of a colour that have a channel cut off, six of ten enter its centre: they are
// estimated, and the others show the colour as well; but without them the same bloom reads the darker
// the more light there is. More do as the share of cut ones is to manyCut, and all from there
// on, since the others are only the darkest parts. Our own choice, on 20 real photos in eight lights.
const (
	leastKept = 0.6
	manyCut   = 0.5
	surelyCut = 0.95 // linear, of a channel
)

// uncut are the pixels of one colour that its centre rests on.
func uncut(px []*sample) []*sample {
	n := 0
	for _, p := range px {
		if p.cut {
			n++
		}
	}
	kept := max(leastKept, float64(n)/float64(max(1, len(px)))/manyCut) // of those that were cut off
	if n == 0 || kept >= 1 {
		return px
	}
	out := make([]*sample, 0, len(px))
	for k, p := range px {
		if !p.cut || math.Mod(float64(k)*0.618034, 1) < kept {
			out = append(out, p)
		}
	}
	return out
}
