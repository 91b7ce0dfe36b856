package render

import "hueward/colorimg/robust"

// Limits of what counts as measurable; see [Truth].
const (
	shadeLost  = 0.1  // share of the light lost that makes a shade
	halfShaded = 0.2  // shaded petals, from here to 1 less this: neither light is the bloom's
	maxClip    = 0.25 // clipped petals
)

// judge says of a photo what its shadows fall on, and whether it can be
// measured. picks are pixels of the petals, evenly spread.
func (p *picture) judge(t *Truth, picks []int, w int) {
	var petals, card []float32
	for _, i := range picks {
		petals = append(petals, p.lamp.open(float32(i%w), float32(i/w)))
	}
	t.Shaded = shareBelow(petals, 1-shadeLost)
	if p.card != nil {
		on := p.card.edge.plane()
		const n = 24
		for i := range n * n {
			q := on.At([2]float64{(float64(i%n) + 0.5) / n, (float64(i/n) + 0.5) / n})
			card = append(card, p.lamp.open(float32(q[0]), float32(q[1])))
		}
		t.CardShaded = shareBelow(card, 1-shadeLost)
	}
	lo, hi := float32(1), float32(0)
	for _, v := range card {
		lo, hi = min(lo, v), max(hi, v)
	}
	switch {
	case len(petals) == 0:
		t.Doubt = "no petals in sight"
	case len(card) == 0:
		t.Doubt = "no card"
	case lo < (1-shadeLost)*hi:
		t.Doubt = "a shadow's edge on the card"
	case t.Shaded > halfShaded && t.Shaded < 1-halfShaded:
		t.Doubt = "bloom half shaded"
	case apart(robust.Median(petals), robust.Median(card)):
		t.Doubt = "card and bloom in different light"
	case t.Clipped > maxClip:
		t.Doubt = "petals clipped"
	}
	t.Measurable = t.Doubt == ""
}

// apart reports whether two lights differ by more than a shade does.
func apart(a, b float32) bool { return min(a, b) < (1-shadeLost)*max(a, b) }

func shareBelow(v []float32, limit float32) float64 {
	if len(v) == 0 {
		return 0
	}
	n := 0
	for _, x := range v {
		if x < limit {
			n++
		}
	}
	return float64(n) / float64(len(v))
}
