package drift

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Odd is a reading that lies outside the spread of the others.
type Odd struct {
	At       int     // its place in the list
	Distance float64 // Mahalanobis distance
	Risk     float64 // the chance that a reading of the line itself is as far out
}

// LeastPlants is the least number of plants among which off-types are looked for. A guess.
const LeastPlants = 8

// OffTypes returns the readings outside the spread of the others, those with the lowest Risk first, and the mean of the
// others. Each reading is compared with the spread widened by its own error. The familywise risk is 5 %: of lines
// without off-types, 5 in 100 have one named. nil for fewer than [LeastPlants].
//
// Source: mean and spread by the robust estimator of robust.go; each reading by the F distribution of a new one beside n
// others, where n is reduced as robust estimates are less precise (nominal); Holm 1979, Scand. J. Statist. 6:65, for
// the many plants.
func OffTypes(readings []Reading) (odd []Odd, mid [3]float64) {
	n := len(readings)
	var s spreading
	ok := false
	if n >= LeastPlants {
		s, ok = spreadOf(readings)
	}
	if !ok {
		return nil, mid
	}
	all := make([]Odd, n)
	for i := range readings {
		d2 := s.distance(&readings[i])
		all[i] = Odd{At: i, Distance: math.Sqrt(d2), Risk: s.risk(d2)}
	}
	slices.SortStableFunc(all, func(a, b Odd) int { return cmp.Compare(a.Risk, b.Risk) })
	for k, o := range all {
		if o.Risk > familyRisk/float64(n-k) {
			return all[:k], s.mid
		}
	}
	return all, s.mid
}

// familyRisk is the risk of naming any off-type in a line that has none.
const familyRisk = 0.05

// risk returns the chance of a squared distance of at least d2.
func (s *spreading) risk(d2 float64) float64 {
	n := nominal(s.of)
	f := distuv.F{D1: 3, D2: n - 3}
	return f.Survival(d2 * n / (n + 1) * (n - 3) / (3 * (n - 1)))
}

// nominal returns the number of normal readings whose classical mean and covariance are as precise as the
// robust ones of n: the farthest reading has the same distance at the familywise risk. The table is
// from 4000 simulations of each size (320 of the largest).
func nominal(n float64) float64 {
	table := [][2]float64{{5, 4.2}, {8, 5.5}, {12, 7}, {15, 9.2}, {20, 11.4}, {30, 22}, {50, 41}, {100, 95}}
	for k := 1; k < len(table); k++ {
		if a, b := table[k-1], table[k]; n < b[0] {
			return a[1] + (b[1]-a[1])*(max(n, a[0])-a[0])/(b[0]-a[0])
		}
	}
	return 0.95 * n
}
