package majorgene

import (
	"math"
	"sync"
)

// MostLoci is the largest number of loci of a model.
const MostLoci = 3

// MostGenotypes is the number of genotypes of MostLoci loci.
const MostGenotypes = 27

// combinations are the genotypes and gametes of a number of unlinked loci with two alleles each. A
// genotype is a number in base 3 with one digit for each locus, locus 0 the last: the number of copies
// of the second allele. A gamete is such a number in base 2.
type combinations struct {
	loci              int
	genotypes, gamete int       // numbers of genotypes and gametes
	gives             []float64 // genotypes × gametes: the chance of each gamete
	union             []int     // gametes × gametes: the genotype that two gametes make
	matings           int       // number of mating types: six for each locus
	mating            []int     // genotypes × genotypes: the mating type of the two parents
}

// combinationsOf are those of 0 to MostLoci loci, each worked out when it is first used.
var combinationsOf = [MostLoci + 1]func() *combinations{}

func init() {
	for loci := range combinationsOf {
		combinationsOf[loci] = sync.OnceValue(func() *combinations { return newCombinations(loci) })
	}
}

func newCombinations(loci int) *combinations {
	s := &combinations{loci: loci, genotypes: 1, gamete: 1 << loci, matings: 1}
	for range loci {
		s.genotypes *= 3
		s.matings *= 6
	}
	s.gives = make([]float64, s.genotypes*s.gamete)
	for g := range s.genotypes {
		for h := range s.gamete {
			p := 1.0
			for l := range loci {
				second := float64(s.copies(g, l)) / 2
				if h>>l&1 == 0 {
					second = 1 - second
				}
				p *= second
			}
			s.gives[g*s.gamete+h] = p
		}
	}
	s.union = make([]int, s.gamete*s.gamete)
	for a := range s.gamete {
		for b := range s.gamete {
			g, place := 0, 1
			for l := range loci {
				g += place * (a>>l&1 + b>>l&1)
				place *= 3
			}
			s.union[a*s.gamete+b] = g
		}
	}
	kind := [3][3]int{{0, 3, 1}, {3, 5, 4}, {1, 4, 2}} // mating type at one locus: see ofMatings
	for a := range s.genotypes {
		for b := range s.genotypes {
			u, place := 0, 1
			for l := range loci {
				u += place * kind[s.copies(a, l)][s.copies(b, l)]
				place *= 6
			}
			s.mating = append(s.mating, u)
		}
	}
	return s
}

// ofMatings fills in, for each mating type of the parents, the likelihood of an offspring; of are the likelihoods of its
// genotypes. At one locus, types 0, 1 and 2 give offspring with that number of second alleles for certain; 3 and 4 give 0 or 1,
// and 1 or 2, with equal chances; 5 is a mating of two heterozygotes.
func (s *combinations) ofMatings(out, of []float64) {
	copy(out, of)
	high, low := s.genotypes/3, 1 // sizes of the loci that are still genotypes, and of those that are mating types
	for range s.loci {
		for h := high - 1; h >= 0; h-- { // in place, from the end, as the table grows
			x, y := out[h*3*low:h*3*low+3*low], out[h*6*low:h*6*low+6*low]
			for i := range low {
				a, b, c := x[i], x[low+i], x[2*low+i]
				ab, bc := 0.5*a+0.5*b, 0.5*b+0.5*c
				y[i], y[low+i], y[2*low+i], y[3*low+i], y[4*low+i], y[5*low+i] = a, b, c, ab, bc, 0.5*ab+0.5*bc
			}
		}
		high, low = high/3, low*6
	}
}

// toOffspring sums up the chances of an offspring's genotypes from those of its parents' mating types, of, which it overwrites.
func (s *combinations) toOffspring(out, of []float64) {
	high, low := 1, s.matings/6
	for range s.loci { // in place, the last locus first
		for h := range high {
			x := of[h*6*low : h*6*low+6*low]
			y := of[h*3*low : h*3*low+3*low]
			for i := range low {
				full := 0.25 * x[5*low+i]
				ab, bc := 0.5*x[3*low+i], 0.5*x[4*low+i]
				a, b, c := x[i]+ab+full, x[low+i]+ab+bc+2*full, x[2*low+i]+bc+full
				y[i], y[low+i], y[2*low+i] = a, b, c
			}
		}
		high, low = high*3, low/6
	}
	copy(out, of[:s.genotypes])
}

// copies returns the number of copies of the second allele that genotype g has at a locus.
func (s *combinations) copies(g, locus int) int {
	for range locus {
		g /= 3
	}
	return g % 3
}

// founder fills in the genotype chances of a founder, given each locus' frequency of the second
// allele and the founders' inbreeding f: Hardy-Weinberg proportions with inbreeding.
func (s *combinations) founder(out, freq []float64, f float64) {
	for g := range s.genotypes {
		p := 1.0
		for l, q := range freq {
			switch s.copies(g, l) {
			case 0:
				p *= (1-q)*(1-q) + f*q*(1-q)
			case 1:
				p *= 2 * q * (1 - q) * (1 - f)
			default:
				p *= q*q + f*q*(1-q)
			}
		}
		out[g] = p
	}
}

// mendel returns the chance of an offspring's genotype given its parents': offspring × parent × parent.
func (s *combinations) mendel() []float64 {
	k, h := s.genotypes, s.gamete
	out := make([]float64, k*k*k)
	for a := range k {
		for b := range k {
			for c, g := range s.union {
				out[(g*k+a)*k+b] += s.gives[a*h+c/h] * s.gives[b*h+c%h]
			}
		}
	}
	return out
}

// pool fills in the gametes' chances of a plant, given its genotype chances.
func (s *combinations) pool(out, of []float64) {
	clear(out)
	for g, p := range of {
		if p == 0 {
			continue
		}
		for h, t := range s.gives[g*s.gamete : (g+1)*s.gamete] {
			out[h] += p * t
		}
	}
}

// join fills in the genotype chances of the union of two gametes, given their chances.
func (s *combinations) join(out, a, b []float64) {
	clear(out)
	for i, p := range a {
		for j, q := range b {
			out[s.union[i*s.gamete+j]] += p * q
		}
	}
}

// normalise scales x to a sum of 1, and returns the sum that it had. Where there is none, x becomes uniform, and the sum is 1.
func normalise(x []float64) (sum float64) {
	for _, v := range x {
		sum += v
	}
	if !(sum > 0) || math.IsInf(sum, 1) {
		for i := range x {
			x[i] = 1 / float64(len(x))
		}
		return 1
	}
	if sum < 1e-300 { // 1/sum would overflow
		for i := range x {
			x[i] /= sum
		}
		return sum
	}
	by := 1 / sum
	for i := range x {
		x[i] *= by
	}
	return sum
}
