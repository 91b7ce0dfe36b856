package majorgene

import (
	"hueward/selection/space"
	"math"
)

// Fewest is how many plants with a colour are the least that strong genes are looked for in.
const Fewest = 20

// Model is what a line's colours tell of strong genes.
type Model struct {
	Loci   int  // 0: none
	Few    bool // too few plants to look
	Plants int  // that they were looked for in
	// Gain is by how much the model with these loci is better than that without any, in
	// logarithms of the likelihood, with what it costs taken off.
	Gain float64
	// Effects are of each genotype by how much its colour differs from that of the first.
	Effects [][3]float64
	// Doubts are what is not known of Effects: directions that err apart, and of each by how much it moves each
	// genotype's effect for one standard deviation.
	Doubts   [][][3]float64
	HiddenBy [MostLoci]int  // of each locus, the one whose second homozygote hides it; -1: none
	Partial  [MostLoci]bool // the heterozygote has a colour of its own; else the first homozygote's
	// Chances are those of each place's genotypes, places × genotypes; of a founder group those of
	// its plants.
	Chances []float64
	// Exact tells that Chances follow from the rest exactly; else plants are related in too many ways, and they are near.
	Exact bool
	// Second is the likeliest model with another number of loci, none included, and SecondShare its chance, where it is one
	// of these two; nil: less likely than one in twenty.
	Second      *Model
	SecondShare float64
}

func (m *Model) space() *combinations { return combinationsOf[m.Loci]() }

// Genotypes is how many there are: 3 for each locus.
func (m *Model) Genotypes() int { return m.space().genotypes }

// Copies is how many second alleles, 0 to 2, a genotype has at a locus.
func (m *Model) Copies(genotype, locus int) int { return m.space().copies(genotype, locus) }

// Of are the chances of the genotypes of the plant at a place of the pedigree.
func (m *Model) Of(at int32) []float64 {
	k := m.space().genotypes
	return m.Chances[int(at)*k : int(at)*k+k : int(at)*k+k]
}

// Mean is the mean effect of genotypes with these chances, and its covariance.
func (m *Model) Mean(chances []float64) (mean [3]float64, cov [3][3]float64) {
	for g, p := range chances {
		mean = space.Plus(mean, space.Times(p, m.Effects[g]))
	}
	for g, p := range chances {
		v := space.Minus(m.Effects[g], mean)
		space.Gather(&cov, p, &v)
	}
	return mean, cov
}

// Cross are the chances of the genotypes of two plants' offspring.
func (m *Model) Cross(x, y []float64) []float64 {
	out := make([]float64, m.space().genotypes)
	m.CrossTo(out, x, y)
	return out
}

// CrossTo is [Model.Cross] into out.
func (m *Model) CrossTo(out, x, y []float64) {
	var a, b [1 << MostLoci]float64
	s := m.space()
	s.pool(a[:s.gamete], x)
	s.pool(b[:s.gamete], y)
	s.join(out, a[:s.gamete], b[:s.gamete])
}

// Self are the chances of the genotypes of a plant's selfs.
func (m *Model) Self(x []float64) []float64 {
	out := make([]float64, m.space().genotypes)
	m.SelfTo(out, x)
	return out
}

// SelfTo is [Model.Self] into out.
func (m *Model) SelfTo(out, x []float64) {
	var room [2][MostGenotypes]float64
	one, of := room[0][:len(out)], room[1][:len(out)]
	clear(out)
	for g, p := range x {
		if p < 1e-9 {
			continue
		}
		clear(one)
		one[g] = 1
		m.CrossTo(of, one, one)
		for o, q := range of {
			out[o] += p * q
		}
	}
}

// Kinds sorts genotypes by their colours: of each the place of its kind, and of each kind its effect.
// Effects within Delta E of about 1 are of one kind.
func (m *Model) Kinds() (of []int, effects [][3]float64) {
	for _, e := range m.Effects {
		k := 0
		for k < len(effects) {
			d := space.Minus(e, effects[k])
			if math.Sqrt(space.Dot(d, d)) < 1 {
				break
			}
			k++
		}
		if k == len(effects) {
			effects = append(effects, e)
		}
		of = append(of, k)
	}
	return of, effects
}

// Hidden is the chance that a plant carries one copy of a locus' second allele and does not show it.
func (m *Model) Hidden(chances []float64, locus int) float64 {
	sum := 0.0
	for g, p := range chances {
		if m.space().copies(g, locus) == 1 && !m.Partial[locus] {
			sum += p
		}
	}
	return sum
}
