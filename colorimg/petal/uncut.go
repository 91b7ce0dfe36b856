package petal

import "math"

// Of the pixels of a colour that have a channel cut off, as many enter its centre as the share of
// cut ones is to manyCut: few of few, since the others show the colour as well, and all from
// manyCut on, since the others are only the darkest parts. Our own choice.
const (
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
	kept := float64(n) / float64(max(1, len(px))) / manyCut // of those that were cut off
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
