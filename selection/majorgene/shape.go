package majorgene

// shape is the number of loci with their dominance and epistasis.
type shape struct {
	loci     int
	hiddenBy [MostLoci]int  // the locus whose second homozygote hides this one; -1: none
	partial  [MostLoci]bool // the heterozygote has a colour of its own; else that of the first homozygote
}

// plain returns the shape of dominant loci without epistasis.
func plain(loci int) shape {
	return shape{loci: loci, hiddenBy: [MostLoci]int{-1, -1, -1}}
}

// effects returns the number of effects to estimate: one for each locus, and one more where the heterozygote has its own.
func (h shape) effects() int {
	n := h.loci
	for l := range h.loci {
		if h.partial[l] {
			n++
		}
	}
	return n
}

// columns returns the places of the effects: for each locus that of its second homozygote, and that of
// its heterozygote, -1 where it has none of its own.
func (h shape) columns() (second, hetero [MostLoci]int) {
	at := 0
	for l := range h.loci {
		second[l], hetero[l] = at, -1
		at++
		if h.partial[l] {
			hetero[l] = at
			at++
		}
	}
	return second, hetero
}

// design returns the design matrix, genotypes × effects: 1 where a genotype has the effect.
func (h shape) design(s *combinations) [][]float64 {
	second, hetero := h.columns()
	x := make([][]float64, s.genotypes)
	for g := range x {
		x[g] = make([]float64, h.effects())
		for l := range h.loci {
			if by := h.hiddenBy[l]; by >= 0 && s.copies(g, by) == 2 {
				continue
			}
			switch s.copies(g, l) {
			case 2:
				x[g][second[l]] = 1
			case 1:
				if hetero[l] >= 0 {
					x[g][hetero[l]] = 1
				}
			}
		}
	}
	return x
}
