package drift

import (
	"hueward/selection/space"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

const (
	leastFamily = 4    // least number of readings to estimate a family's median from; a guess
	leastApart  = 20   // least number of readings to estimate the scatter within families from; a guess
	apartRisk   = 0.01 // risk of naming any reading where all families are normal
)

// Stray is a reading far out of its family.
type Stray struct {
	At       int           // its place in the list
	Distance float64       // Mahalanobis distance from the family's median
	Cov      [3][3]float64 // covariance to add to its error, so that it has little influence on others
}

// Apart returns the readings that lie far out of their family and that few others resemble: a sport, a stray seed, a wrong
// label. family numbers each reading's family; families of fewer than 4 readings are not judged. A colour that more than
// one in 200 readings have, in any family, is taken as a class that the families segregate for, and is not named. Of
// books whose families are normal, 1 in 100 has a reading named. nil for fewer than 20 readings in such families.
//
// A named reading's added error grows with the fourth power of its distance, so that it counts
// for less the farther out it is.
//
// Source: the scatter within families by the robust estimator of robust.go; a redescending weight as in Hampel,
// Ronchetti, Rousseeuw, Stahel 1986, Robust Statistics, chapter 2; its form is our own.
func Apart(readings []Reading, family []int) []Stray {
	by := map[int][]int{}
	for i, f := range family {
		by[f] = append(by[f], i)
	}
	var rest []Reading // differences from the family's median
	var at []int       // their places in readings
	var own []float64  // factors on their variance for the error of the median
	var ends []int     // where each family's part of rest ends
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
	// In a family that scatters more than others, distances are relative to its own median distance.
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
			cov := space.Add(s.cov, s.covOf(&readings[j])) // of the difference of two readings
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

// medians returns the medians of L*, a*, b* of some of the readings.
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
