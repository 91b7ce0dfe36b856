package petal

import "math"

// Up to the share fewCut of a colour's pixels with a channel cut off, these are left
// out: the others show the colour as well. From manyCut on all are estimated, since the
// others are only the darkest parts; between the two, a part of them. Our own choice.
const (
	fewCut    = 0.2
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
	kept := (float64(n)/float64(max(1, len(px))) - fewCut) / (manyCut - fewCut) // of those that were cut off
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
