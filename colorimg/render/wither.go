package render

import (
	"cmp"
	"math/rand/v2"
	"slices"

	"hueward/colorimg/cie"
)

// wither browns the tips of a share of the petals, the older ones at the rim
// first, and bleaches all of them toward their tips.
func (h *head) wither(s Scene, r *rand.Rand) {
	n := len(h.blades)
	order := make([]int, n)
	age := make([]float64, n) // lowest withers first
	for i := range order {
		order[i], age[i] = i, r.Float64()+float64(i)/float64(n)
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(age[a], age[b]) })
	for _, i := range order[:int(min(max(s.Browned, 0), 1)*float64(n)+0.5)] {
		c := linear(cie.Lab{L: 34 + 5*r.NormFloat64(), A: 11 + 2*r.NormFloat64(), B: 21 + 3*r.NormFloat64()})
		h.blades[i].brown = &c
		h.blades[i].brownFrom = float32(0.90 - 0.28*r.Float64())
	}
	// Sun takes most of the chroma and leaves what is pale of it (a guess).
	c := s.Petal.LCh()
	pale := linear(cie.LCh{L: c.L + 0.62*(93-c.L), C: 0.30 * c.C, H: c.H}.Lab())
	for _, b := range h.blades {
		b.pale, b.fade = pale, float32(min(max(s.Faded, 0), 1))
	}
}

// aged returns the colour at u, s with browning and fading, and how much of each there is, 0 to 1.
func (b *blade) aged(col rgb, u, s float32) (_ rgb, brown, fade float32) {
	if b.fade > 0 {
		fade = b.fade * ease(0.20, 0.95, u+0.05*noise(s*2+b.off, u*2))
		col = col.mix(b.pale, fade)
	}
	if b.brown != nil {
		from := b.brownFrom + 0.09*noise(s*2.6+b.off, u*3-b.off)
		brown = ease(from-0.03, from+0.05, u+0.10*s*s)
		n := 1 + 0.22*noise(s*7+b.off, u*11+b.off)
		col = col.mix(b.brown.times(n), brown)
	}
	return col, brown, fade
}

// stale is how far a petal may have turned and not count as turned.
const stale = 0.15

// unbrowned returns the pixels that show no brown, and which shares of all have browned and faded.
func (c *canvas) unbrowned(picks []int) (out []int, browned, faded float64) {
	if c.brown == nil {
		return picks, 0, 0
	}
	n := 1 / float64(len(picks))
	for _, i := range picks {
		if c.brown[i] >= 0.5 {
			browned += n
		} else if c.fade[i] >= stale {
			faded += n
		}
		if c.brown[i] < stale {
			out = append(out, i)
		}
	}
	return out, browned, faded
}

// fresh is the colour of pixel i before it faded; ok is false where too little of it is left to tell.
func (c *canvas) fresh(i int, pale rgb) (col rgb, ok bool) {
	col = c.refl[i]
	if c.fade == nil {
		return col, true
	}
	f := c.fade[i]
	if f > 0.8 {
		return col, false
	}
	return col.mix(pale, -f/(1-f)), true
}
