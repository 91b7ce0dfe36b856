package majorgene

// shape is how the genotypes of some loci make colours.
type shape struct {
	loci     int
	hiddenBy [MostLoci]int  // of each locus, the one whose second homozygote hides it; -1: none
	partial  [MostLoci]bool // its heterozygote has a colour of its own; else that of the first homozygote
}

func plain(loci int) shape {
	return shape{loci: loci, hiddenBy: [MostLoci]int{-1, -1, -1}}
}

// effects is how many colours, beside the first homozygotes', there are to estimate.
func (h shape) effects() int {
	n := h.loci
	for l := range h.loci {
		if h.partial[l] {
			n++
		}
	}
	return n
}

// columns are the effects' places: of each locus that of its second homozygote, and of its
// heterozygote, -1 where that has none.
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

// design is by which effects each genotype differs from the first homozygotes: genotypes × effects.
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
