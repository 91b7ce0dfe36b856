package petal

// Fate is what became of a working pixel when the petals were read.
type Fate uint8

// The fates.
const (
	Used    Fate = iota // it counts
	Clipped             // all channels are too bright to read
	Shadow              // petal in deep shadow
	Browned             // withered petal
	Disc                // disc florets
	Rim                 // petal too near to the outline
	Ground              // not the bloom
)

// Fates returns the fate of every working pixel, W × H; c must be from
// [Bloom.Colors].
func (b *Bloom) Fates(c *Colors) []Fate {
	out := make([]Fate, len(b.Mask))
	for i := range out {
		switch {
		case b.Mask[i] != 0:
			out[i] = Rim
		case b.Head[i] != 0:
			out[i] = Disc
		default:
			out[i] = Ground
		}
	}
	px, _ := b.samples(1)
	for i := range px {
		p := &px[i]
		f := p.fate
		switch {
		case f == Clipped:
		case browned(*p, c.Lab) && c.Browned > 0:
			f = Browned
		case p.lab.XYZ().Y < c.floor(p):
			f = Shadow
		}
		out[p.at] = f
	}
	return out
}

// floor returns the least luminance that counts for a pixel of the colour nearest to p.
func (c *Colors) floor(p *sample) float64 {
	best, at := 1e9, 0
	for i, s := range c.Shares {
		u, v := flat(s.Lab)
		if d := (u-p.u)*(u-p.u) + (v-p.v)*(v-p.v); d < best {
			best, at = d, i
		}
	}
	return c.floors[at]
}
