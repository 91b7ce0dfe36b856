package majorgene

import (
	"math"

	"hueward/selection/space"
)

// Fewest is the least number of plants with a colour in which strong genes are looked for.
const Fewest = 20

// Model is the strong genes found in a line.
type Model struct {
	Loci   int  // number of strong genes; 0: none was found
	Few    bool // there were fewer plants than Fewest, so that none were looked for
	Plants int  // number of plants in which they were looked for
	// Gain is the penalised log likelihood of the model, less that of the model without strong genes.
	Gain float64
	// Effects are the genotypes' differences in colour from the first genotype.
	Effects [][3]float64
	// Doubts are independent errors of Effects: for each, the change of every genotype's effect for one standard
	// error. Their outer products add up to the covariance of the estimates.
	Doubts   [][][3]float64
	HiddenBy [MostLoci]int  // the locus whose second homozygote hides this one; -1: none
	Partial  [MostLoci]bool // the heterozygote has a colour of its own; else it looks like the first homozygote
	// Chances are the genotype chances of each place of the pedigree, places × genotypes; those of a founder
	// group are its founders' before any colour.
	Chances []float64
	// Exact says that Chances are exact, given the parameters; else the pedigree has too many loops, and they are approximate.
	Exact bool
	// Second is the likeliest model with another number of loci, none included. SecondShare is its chance, if one of the two
	// models is true. nil: the chance is less than one in twenty.
	Second      *Model
	SecondShare float64
}

func (m *Model) space() *combinations { return combinationsOf[m.Loci]() }

// Genotypes returns the number of genotypes: 3 to the power of Loci.
func (m *Model) Genotypes() int { return m.space().genotypes }

// Copies returns the number of second alleles, 0 to 2, that a genotype has at a locus.
func (m *Model) Copies(genotype, locus int) int { return m.space().copies(genotype, locus) }

// Of returns the genotype chances of the plant at a place of the pedigree. They belong to m.
func (m *Model) Of(at int32) []float64 {
	k := m.space().genotypes
	return m.Chances[int(at)*k : int(at)*k+k : int(at)*k+k]
}

// Mean returns the mean effect of genotypes with these chances, and the covariance around it.
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

// Cross returns the genotype chances of the offspring of two plants with genotype chances x and y.
func (m *Model) Cross(x, y []float64) []float64 {
	out := make([]float64, m.space().genotypes)
	m.CrossTo(out, x, y)
	return out
}

// CrossTo is [Model.Cross] into out, of the same length.
func (m *Model) CrossTo(out, x, y []float64) {
	var a, b [1 << MostLoci]float64
	s := m.space()
	s.pool(a[:s.gamete], x)
	s.pool(b[:s.gamete], y)
	s.join(out, a[:s.gamete], b[:s.gamete])
}

// Self returns the genotype chances of the selfs of a plant with genotype chances x.
func (m *Model) Self(x []float64) []float64 {
	out := make([]float64, m.space().genotypes)
	m.SelfTo(out, x)
	return out
}

// SelfTo is [Model.Self] into out, of the same length.
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

// Kinds sorts genotypes into kinds by their colours: of holds each genotype's kind, and effects the kinds' effects.
// Genotypes whose effects lie less than 1 apart (in L*, a*, b*) from the first of a kind belong to it.
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

// Hidden returns the chance that a plant has one copy of a locus' second allele and does not show it.
func (m *Model) Hidden(chances []float64, locus int) float64 {
	sum := 0.0
	for g, p := range chances {
		if m.space().copies(g, locus) == 1 && !m.Partial[locus] {
			sum += p
		}
	}
	return sum
}
