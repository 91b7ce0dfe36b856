// Package seedlife says how much of stored seed still sprouts.
//
// Start with [Expected]. The share that sprouts falls with age along a cumulative normal curve: the probit of it falls
// by one in each so many years. A crop says after how many years half of what sprouted when new has died; a germination
// test that was read sets the curve to what was found on its day. Both hold for seed kept dry and cool: in a warm or
// damp room it lives a part of that. Years are of 365.25 days; shares are 0 to 1.
//
// Method: R. H. Ellis and E. H. Roberts 1980, Annals of Botany 45, 13-30, v = Ki - p/σ,
// with v the probit of the share that sprouts and p the time stored, from memory. What σ is of
// a kind of flower is not known here: it follows from the crop's years of seed.
package seedlife

import (
	"math"
	"time"

	"gonum.org/v1/gonum/stat/distuv"
)

// Kind is what is usual of a kind of seed.
type Kind struct {
	Fresh float64 // share that sprouts of new seed, 0 to 1, both left out
	Years float64 // after which half of that has died; above 0
}

// Test is a germination test that was read.
type Test struct {
	On              time.Time
	Seeds, Sprouted int
}

// prior is how many seeds the crop's usual share counts as beside a test's: a test of few seeds says little. A guess.
const prior = 10

// sigma is by how many years' storage the probit falls by one.
func (k Kind) sigma() float64 {
	norm := distuv.UnitNormal
	return k.Years / (norm.Quantile(k.Fresh) - norm.Quantile(k.Fresh/2))
}

// Expected is the share that sprouts on a day of seed that was new on the day made, by its kind and its tests in any
// order; the newest of them counts, weighed with what was expected on its day as if that were a test of ten seeds.
func Expected(k Kind, made, on time.Time, tests ...Test) float64 {
	from, share := made, k.Fresh
	var newest *Test
	for i, t := range tests {
		if t.Seeds > 0 && !t.On.After(on) && (newest == nil || t.On.After(newest.On)) {
			newest = &tests[i]
		}
	}
	if newest != nil {
		before := k.after(share, years(from, newest.On))
		from = newest.On
		share = (float64(newest.Sprouted) + prior*before) / (float64(newest.Seeds) + prior)
	}
	return k.after(share, years(from, on))
}

// after is what is left of a share after so many years.
func (k Kind) after(share, years float64) float64 {
	if years <= 0 || share <= 0 {
		return share
	}
	norm := distuv.UnitNormal
	return norm.CDF(norm.Quantile(math.Min(share, 0.999)) - years/k.sigma())
}

func years(from, to time.Time) float64 {
	if from.IsZero() {
		return 0
	}
	return to.Sub(from).Hours() / 24 / 365.25
}
