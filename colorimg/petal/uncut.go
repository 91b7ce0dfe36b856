package petal

import "math"

// Pixels with a cut-off channel are estimates, so that not all of them count for the centre of a colour; but
// without any, the same bloom would read darker the more light there is. A share of leastKept of them counts;
// where the share of cut-off pixels is above leastKept·manyCut, more do in proportion, and from manyCut on all, since
// the others are then only the darkest parts. Our own choice, on 20 real photos in eight lights.
const (
	leastKept = 0.6
	manyCut   = 0.5
	surelyCut = 0.95 // linear value from which a channel was surely cut off
)

// uncut returns the pixels of one colour that count for its centre.
func uncut(px []*sample) []*sample {
	n := 0
	for _, p := range px {
		if p.cut {
			n++
		}
	}
	kept := max(leastKept, float64(n)/float64(max(1, len(px)))/manyCut) // share of the cut-off ones that count
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
