// Package seedlife predicts how much of stored seed still germinates.
//
// Start with [Expected]. The share that germinates falls with age along a cumulative normal curve: its probit falls by
// one in every σ years. A crop says after how many years half of what germinated when new has died; a germination test
// sets the curve to what was found on its day. Both hold for seed kept dry and cool; in a warm or damp room seed
// lives for only a part of that time. Years have 365.25 days; shares are 0 to 1.
//
// Method: R. H. Ellis and E. H. Roberts 1980, Annals of Botany 45, 13-30, v = Ki - p/σ,
// with v the probit of the share that germinates and p the time stored, from memory. σ of a
// kind of flower is not tabulated here: it follows from the crop's years of seed.
package seedlife

import (
	"math"
	"time"

	"gonum.org/v1/gonum/stat/distuv"
)

// Kind is what is usual for a kind of seed.
type Kind struct {
	Fresh float64 // share of new seed that germinates, above 0 and below 1
	Years float64 // after which half of that has died; above 0
}

// Test is a finished germination test.
type Test struct {
	On              time.Time
	Seeds, Sprouted int
}

// prior is the number of seeds that the expected share counts for beside a test: a test of few seeds says little. A guess.
const prior = 10

// sigma returns the years of storage in which the probit falls by one.
func (k Kind) sigma() float64 {
	norm := distuv.UnitNormal
	return k.Years / (norm.Quantile(k.Fresh) - norm.Quantile(k.Fresh/2))
}

// Expected returns the share that germinates on a day, for seed that was new on the day made (zero: not known, no ageing
// before a test). tests may be in any order; the newest one counts, together with the share expected on its day, which
// counts like a test of ten seeds.
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

// after returns what is left of a share after years of storage.
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
