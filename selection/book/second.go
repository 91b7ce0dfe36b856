package book

import (
	"math"

	"hueward/colorimg"
	"hueward/colorimg/cie"
)

// Pair puts the colour of r that ranks first. A target of one colour takes the
// largest. With a second colour, the two of the petals' colours are taken that
// together lie nearest to the target's two; so a flamed tulip ranks by its yellow
// whether the flames cover a third of it or two thirds. r is changed in place: its
// Lab and the order of its Colors.
func (t *Target) Pair(r *Reading) {
	c := r.Measured.Colors
	if t == nil || t.Second == nil || r.Measured.Lab == nil || len(c) < 2 {
		return
	}
	bi, bj, best := 0, 1, math.Inf(1)
	for i := range c {
		for j := range c {
			if i == j {
				continue
			}
			if d := cie.DeltaE2000(c[i].Lab.Lab(), t.Lab) + cie.DeltaE2000(c[j].Lab.Lab(), *t.Second); d < best {
				bi, bj, best = i, j, d
			}
		}
	}
	order := []colorimg.Share{c[bi], c[bj]}
	for k := range c {
		if k != bi && k != bj {
			order = append(order, c[k])
		}
	}
	r.Measured.Colors = order
	if bi != 0 {
		lab := order[0].Lab
		r.Measured.Lab = &lab
	}
}

// PairAll pairs every reading.
func (t *Target) PairAll(rs []Reading) {
	for i := range rs {
		t.Pair(&rs[i])
	}
}

// SecondDeltaE is the mean distance of the plants' second colours to the target's, in
// Delta E 2000, by plant, of paired readings; a plant whose petals have one colour is left out.
func (t *Target) SecondDeltaE(rs []Reading) map[string]float64 {
	out := map[string]float64{}
	if t == nil || t.Second == nil {
		return out
	}
	n := map[string]float64{}
	for i := range rs {
		if c := rs[i].Measured.Colors; len(c) > 1 && rs[i].Plant != "" {
			out[rs[i].Plant] += cie.DeltaE2000(c[1].Lab.Lab(), *t.Second)
			n[rs[i].Plant]++
		}
	}
	for p := range out {
		out[p] /= n[p]
	}
	return out
}
