package majorgene

import (
	"math"
	"sync"
)

// MostLoci is how many loci a model has at most.
const MostLoci = 3

// MostGenotypes is how many genotypes those make.
const MostGenotypes = 27

// combinations are the genotypes and gametes of a number of unlinked loci with two alleles each. A
// genotype is a number in base 3, locus 0 last: of each locus how many copies of the
// second allele there are. A gamete is a number in base 2.
type combinations struct {
	loci              int
	genotypes, gamete int
	gives             []float64 // genotypes × gametes: the chance of each gamete
	some              [][]int   // of each genotype, the gametes with a chance
	union             []int     // gametes × gametes: the genotype that two gametes make
}

// combinationsOf are those of 0 to MostLoci loci, worked out when they are first asked for.
var combinationsOf = [MostLoci + 1]func() *combinations{}

func init() {
	for loci := range combinationsOf {
		combinationsOf[loci] = sync.OnceValue(func() *combinations { return newCombinations(loci) })
	}
}

func newCombinations(loci int) *combinations {
	s := &combinations{loci: loci, genotypes: 1, gamete: 1 << loci}
	for range loci {
		s.genotypes *= 3
	}
	s.gives, s.some = make([]float64, s.genotypes*s.gamete), make([][]int, s.genotypes)
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
			if p > 0 {
				s.some[g] = append(s.some[g], h)
			}
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
	return s
}

// copies is how many copies of the second allele genotype g has at a locus.
func (s *combinations) copies(g, locus int) int {
	for range locus {
		g /= 3
	}
	return g % 3
}

// founder fills in the chances of a founder's genotypes where the second allele has a
// frequency at each locus, and founders are inbred by f.
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

// mendel is the chance of an offspring's genotype by its parents': genotypes × genotypes × genotypes.
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

// pool is the gametes' chances of a plant whose genotype has the chances given.
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

// join is the genotypes' chances where two gametes meet.
func (s *combinations) join(out, a, b []float64) {
	clear(out)
	for i, p := range a {
		for j, q := range b {
			out[s.union[i*s.gamete+j]] += p * q
		}
	}
}

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
	for i := range x {
		x[i] /= sum
	}
	return sum
}
