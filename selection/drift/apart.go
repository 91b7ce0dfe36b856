package drift

import (
	"hueward/selection/space"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

const (
	leastFamily = 4    // readings of a family that show its middle
	leastApart  = 20   // readings that show how families scatter
	apartRisk   = 0.01 // of naming any reading where all scatter normally
)

// Stray is a reading far out of its family.
type Stray struct {
	At       int
	Distance float64       // Mahalanobis distance from the family's middle
	Cov      [3][3]float64 // error to add, so that it cannot lead the others
}

// Apart are the readings that lie far out of their family and that few others resemble: a sport, a stray seed, a wrong
// label. A colour that is seen in more than one in 200, in whatever family, is a class of its own that the families
// segregate for, and is not named. family numbers each reading's family; those of fewer than 4 are not judged. Of books
// whose families scatter normally, 1 in 100 has a reading named.
//
// A named reading's error grows with the fourth power of its distance, so that it counts
// for less the farther out it is.
//
// Source: the scatter within families by [spreadOf]; a redescending weight as in Hampel,
// Ronchetti, Rousseeuw, Stahel 1986, Robust Statistics, chapter 2; its form is our own.
func Apart(readings []Reading, family []int) []Stray {
	by := map[int][]int{}
	for i, f := range family {
		by[f] = append(by[f], i)
	}
	var rest []Reading // from the family's middle
	var at []int
	var own []float64 // what a middle of so few adds
	var ends []int    // of each family, where its readings end
	for i, f := range family {
		of := by[f]
		if len(of) < leastFamily {
			continue
		}
		if of[0] == i { // once for each family
			mid := medians(readings, of)
			for _, j := range of {
				m := float64(len(of))
				rest = append(rest, Reading{space.Minus(readings[j].Color, mid), readings[j].Cov})
				at, own = append(at, j), append(own, 1+1.6/m)
			}
			ends = append(ends, len(at))
		}
	}
	if len(rest) < leastApart {
		return nil
	}
	s, ok := spreadOf(rest)
	if !ok {
		return nil
	}
	n := nominal(s.of)
	f := distuv.F{D1: 3, D2: n - 3}
	limit := f.Quantile(1-apartRisk/float64(len(rest))) * (n + 1) / n * 3 * (n - 1) / (n - 3)
	near := distuv.ChiSquared{K: 3}.Quantile(0.99)
	// A family that scatters more than others is judged by its own median distance.
	far, from := make([]float64, len(rest)), 0
	usual := distuv.ChiSquared{K: 3}.Quantile(0.5)
	for _, to := range ends {
		for k := from; k < to; k++ {
			far[k] = s.distance(&rest[k]) / own[k]
		}
		wide := max(1, Middle(far[from:to])/usual)
		for k := from; k < to; k++ {
			far[k] /= wide
		}
		from = to
	}
	var out []Stray
	for k, d2 := range far {
		if d2 <= limit {
			continue
		}
		alike := 0
		for j := 0; j < len(readings) && alike <= len(readings)/200; j++ {
			if j == at[k] {
				continue
			}
			cov := space.Add(s.cov, s.covOf(&readings[j])) // of the difference of two
			if distanceFrom(readings[j].Color, cov, readings[at[k]].Color) <= near {
				alike++
			}
		}
		if alike > len(readings)/200 {
			continue
		}
		out = append(out, Stray{at[k], math.Sqrt(d2), space.Scale(square(d2/limit)-1, s.covOf(&rest[k]))})
	}
	return out
}

func medians(readings []Reading, of []int) (mid [3]float64) {
	for i := range mid {
		var v []float64
		for _, j := range of {
			v = append(v, readings[j].Color[i])
		}
		mid[i] = Middle(v)
	}
	return mid
}
