package majorgene

import (
	"math"

	"hueward/selection/space"
)

// Families infers the genotypes of the plants of a family from all their colours: segregation among them tells about the parents'
// genotypes, and so about each plant's. It must not be used by several goroutines at once; see [Families.Again].
type Families struct {
	m      *Model
	shares []float64 // parents' genotypes × offspring's
	cases  []mating
	seen   []float64 // for each plant the likelihood of its genotypes, then its likelihood in each case
}

// mating is one combination of the parents' genotypes.
type mating struct {
	odds, log float64   // prior chance; logarithm of the chance given the offspring
	share     []float64 // of the offspring's genotypes
}

// unlikely is the chance relative to the likeliest case below which a case is left out.
const unlikely = 1e-3

// Families returns a new [Families] for genotypes of m.
func (m *Model) Families() *Families {
	n := m.Genotypes()
	f := &Families{m: m, shares: make([]float64, n*n*n)}
	one, other := make([]float64, n), make([]float64, n)
	for i := range n {
		for j := range n {
			clear(one)
			clear(other)
			one[i], other[j] = 1, 1
			m.CrossTo(f.Of(i, j), one, other)
		}
	}
	return f
}

// Again returns another one, which may be used at the same time as f.
func (f *Families) Again() *Families { return &Families{m: f.m, shares: f.shares} }

// Of returns the genotype chances of the offspring of genotypes a and b.
func (f *Families) Of(a, b int) []float64 {
	n := f.m.Genotypes()
	return f.shares[(a*n+b)*n : (a*n+b+1)*n]
}

// Tell fills in chances, plants × genotypes, for full sibs with these colours. a and b are the genotype chances of their parents,
// inferred without these plants; self: both parents are the plant of a. Apart from strong genes, a plant's colour is normal with this
// mean and with a covariance whose inverse is inv.
//
// Source: a nuclear family, Elston and Stewart 1971, Hum. Hered. 21:523.
func (f *Families) Tell(chances [][]float64, colors []space.Vector, a, b []float64, self bool, mean space.Vector, inv *space.Matrix) {
	n := f.m.Genotypes()
	f.pair(a, b, self)
	row := n + len(f.cases)
	if cap(f.seen) < row*len(colors) {
		f.seen = make([]float64, row*len(colors))
	}
	for i, y := range colors {
		seen, in := f.seen[i*row:i*row+n], f.seen[i*row+n:i*row+row]
		top := math.Inf(-1)
		for g := range seen {
			seen[g] = -space.Quadratic(*inv, space.Minus(space.Minus(y, mean), f.m.Effects[g])) / 2
			top = max(top, seen[g])
		}
		for g := range seen {
			seen[g] = max(math.Exp(seen[g]-top), 1e-30)
		}
		for c := range f.cases {
			in[c] = 0
			for g, p := range f.cases[c].share {
				in[c] += p * seen[g]
			}
			f.cases[c].log += math.Log(in[c])
		}
	}
	top := math.Inf(-1)
	for c := range f.cases {
		top = max(top, f.cases[c].log)
	}
	for i, of := range chances {
		seen, in := f.seen[i*row:i*row+n], f.seen[i*row+n:i*row+row]
		clear(of)
		for c := range f.cases {
			by := math.Exp(f.cases[c].log-top) / in[c]
			for g, p := range f.cases[c].share {
				of[g] += by * p * seen[g]
			}
		}
		normalise(of)
	}
}

// pair fills in the cases that are not too unlikely.
func (f *Families) pair(a, b []float64, self bool) {
	most := 0.0
	f.cases = f.cases[:0]
	for i, p := range a {
		for j, q := range b {
			switch {
			case self && i != j:
				continue
			case self:
				q = 1
			}
			if most = max(most, p*q); p*q > unlikely*most {
				f.cases = append(f.cases, mating{odds: p * q, log: math.Log(p * q), share: f.Of(i, j)})
			}
		}
	}
	likely := f.cases[:0]
	for _, c := range f.cases {
		if c.odds > unlikely*most {
			likely = append(likely, c)
		}
	}
	f.cases = likely
}
