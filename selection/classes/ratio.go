package classes

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"

	"hueward/selection/written"

	"gonum.org/v1/gonum/stat/distuv"
)

// Ratio is the expected numbers of classes relative to each other, such as 9, 3, 4.
type Ratio []float64

// Usual are the ratios of one and two genes in F2 families and backcrosses.
//
// Source: Mendel 1866; for two genes that act on one colour, Bateson and others, as in any textbook of genetics.
var Usual = []struct {
	Ratio Ratio
	Means string
}{
	{Ratio{3, 1}, "one gene, one form dominant"},
	{Ratio{1, 1}, "one gene, crossed back to the recessive parent"},
	{Ratio{1, 2, 1}, "one gene, neither form dominant"},
	{Ratio{9, 3, 3, 1}, "two genes, each with a dominant form"},
	{Ratio{9, 3, 4}, "two genes, of which one hides the other when recessive"},
	{Ratio{9, 7}, "two genes, both needed for the colour"},
	{Ratio{15, 1}, "two genes, either enough for the colour"},
	{Ratio{13, 3}, "two genes, of which one suppresses the colour"},
	{Ratio{12, 3, 1}, "two genes, of which one hides the other when dominant"},
}

// ParseRatio reads a ratio such as "9:3:4", of two to six parts above 0.
func ParseRatio(s string) (Ratio, error) {
	var r Ratio
	for _, p := range strings.Split(s, ":") {
		v, err := written.Number(p)
		if err != nil || !(v > 0) || v > 1e6 {
			return nil, fmt.Errorf("ratio %q: want parts above 0 with colons between, such as 9:3:4", s)
		}
		r = append(r, v)
	}
	if len(r) < 2 || len(r) > 6 {
		return nil, fmt.Errorf("ratio %q: want two to six parts, such as 9:3:4", s)
	}
	return r, nil
}

func (r Ratio) String() string {
	var parts []string
	for _, v := range r {
		parts = append(parts, strconv.FormatFloat(v, 'g', -1, 64))
	}
	return strings.Join(parts, ":")
}

// shares returns the parts divided by their sum.
func (r Ratio) shares() []float64 {
	total := 0.0
	for _, v := range r {
		total += v
	}
	out := make([]float64, len(r))
	for i, v := range r {
		out[i] = v / total
	}
	return out
}

// Result is the outcome of a goodness-of-fit test of counts against a ratio.
type Result struct {
	Ratio    Ratio // in the order of the counts
	Counts   []int
	Expected []float64
	Square   float64 // chi-square
	DF       int
	P        float64 // p-value: the chance of counts as unlikely as these, if the ratio holds
	// Exact says that P is from the exact multinomial test: the sum of the chances of all outcomes no more
	// likely than the counts. Drawn says that it was estimated by drawing outcomes. Else P is that of chi-square.
	Exact, Drawn bool
	// Matched says that parts were assigned to classes in the order that fits best, so that P is too large.
	Matched bool
}

// ErrCounts is returned for counts that no ratio can be compared with.
var ErrCounts = errors.New("counts and ratio do not match")

// fewExpected is the least expected count for which chi-square is trusted; common practice since Fisher.
const fewExpected = 5

// Test compares counts with a ratio, part by part, by chi-square without correction for continuity. Where an expected
// count is below 5, it uses the exact multinomial test. It returns ErrCounts for numbers that do not match.
//
// Source: Pearson 1900, Phil. Mag. 50:157; the exact multinomial test as in Read and
// Cressie 1988, Goodness-of-Fit Statistics. TestMendel checks Mendel's counts.
func Test(counts []int, ratio Ratio) (*Result, error) {
	if len(counts) != len(ratio) || len(counts) < 2 {
		return nil, fmt.Errorf("%d classes, but %s has %d parts: %w", len(counts), ratio, len(ratio), ErrCounts)
	}
	n := 0
	for _, c := range counts {
		if c < 0 {
			return nil, fmt.Errorf("a count of %d: %w", c, ErrCounts)
		}
		n += c
	}
	if n == 0 {
		return nil, fmt.Errorf("no plants: %w", ErrCounts)
	}
	r := &Result{Ratio: ratio, Counts: slices.Clone(counts), DF: len(counts) - 1}
	shares := ratio.shares()
	small := false
	for i, s := range shares {
		if !(s > 0) {
			return nil, fmt.Errorf("ratio %s: %w", ratio, ErrCounts)
		}
		e := s * float64(n)
		r.Expected = append(r.Expected, e)
		small = small || e < fewExpected
		r.Square += (float64(counts[i]) - e) * (float64(counts[i]) - e) / e
	}
	r.P = distuv.ChiSquared{K: float64(r.DF)}.Survival(r.Square)
	if small {
		r.exact(shares, n)
	}
	return r, nil
}

// mostOutcomes is the largest number of outcomes that are enumerated; of more, some are drawn.
const mostOutcomes = 2_000_000

// exact replaces P by that of the exact test.
func (r *Result) exact(shares []float64, n int) {
	r.Exact = true
	logs := make([]float64, len(shares))
	for i, s := range shares {
		logs[i] = math.Log(s)
	}
	logFact := make([]float64, n+1)
	for i := 2; i <= n; i++ {
		logFact[i] = logFact[i-1] + math.Log(float64(i))
	}
	likely := func(counts []int) float64 {
		l := logFact[n]
		for i, c := range counts {
			l += float64(c)*logs[i] - logFact[c]
		}
		return l
	}
	limit := likely(r.Counts) + 1e-7 // outcomes as likely as the counts must count in spite of rounding
	if outcomes(n, len(shares)) <= mostOutcomes {
		p := 0.0
		counts := make([]int, len(shares))
		var walk func(at, left int)
		walk = func(at, left int) {
			if at == len(counts)-1 {
				counts[at] = left
				if l := likely(counts); l <= limit {
					p += math.Exp(l)
				}
				return
			}
			for c := range left + 1 {
				counts[at] = c
				walk(at+1, left-c)
			}
		}
		walk(0, n)
		r.P = min(p, 1)
		return
	}
	r.Drawn = true
	rnd := rand.New(rand.NewPCG(1, 1))
	const draws = 50_000
	hit := 0
	counts := make([]int, len(shares))
	for range draws {
		clear(counts)
		for range n {
			u := rnd.Float64()
			k := 0
			for k < len(shares)-1 && u >= shares[k] {
				u -= shares[k]
				k++
			}
			counts[k]++
		}
		if likely(counts) <= limit {
			hit++
		}
	}
	r.P = float64(hit+1) / (draws + 1)
}

// outcomes returns the number of possible counts of n plants in k classes.
func outcomes(n, k int) float64 {
	w := 1.0
	for i := 1; i < k; i++ {
		w = w * float64(n+i) / float64(i)
	}
	return w
}

// Match is [Test] with the ratio's parts in the order that fits best; [Result].Matched is set where there was a choice.
func Match(counts []int, ratio Ratio) (*Result, error) {
	if len(counts) != len(ratio) {
		_, err := Test(counts, ratio)
		return nil, err
	}
	// The likeliest order gives the larger parts to the larger counts.
	byCount := make([]int, len(counts))
	for i := range byCount {
		byCount[i] = i
	}
	slices.SortStableFunc(byCount, func(a, b int) int { return cmp.Compare(counts[b], counts[a]) })
	parts := slices.Clone(ratio)
	slices.SortFunc(parts, func(a, b float64) int { return cmp.Compare(b, a) })
	order := make(Ratio, len(ratio))
	for k, i := range byCount {
		order[i] = parts[k]
	}
	r, err := Test(counts, order)
	if err != nil {
		return nil, err
	}
	r.Matched = parts[0] != parts[len(parts)-1] // with equal parts there is no choice
	return r, nil
}

// ToTell returns about how many plants are needed to tell two ratios with the same number of parts apart: if truth holds,
// other is rejected at 5 % in 95 of 100 families. 0: more than a million, or the two are the same.
//
// Source: the noncentral chi-square, as chi-squares with degrees of freedom drawn by
// Poisson's law: Patnaik 1949, Biometrika 36:202.
func ToTell(truth, other Ratio) int {
	if len(truth) != len(other) {
		return 0
	}
	p, q := truth.shares(), other.shares()
	each := 0.0 // noncentrality of one plant
	for i := range p {
		each += (p[i] - q[i]) * (p[i] - q[i]) / q[i]
	}
	df := float64(len(p) - 1)
	limit := distuv.ChiSquared{K: df}.Quantile(0.95)
	power := func(n int) float64 {
		l := float64(n) * each / 2
		if l > 200 {
			return 1
		}
		p, weight := 0.0, math.Exp(-l)
		for j := 0; j < 600; j++ {
			p += weight * distuv.ChiSquared{K: df + 2*float64(j)}.Survival(limit)
			weight *= l / float64(j+1)
		}
		return p
	}
	return Fewest(1_000_000, func(n int) bool { return power(n) >= 0.95 })
}

// ToGrow returns how many seeds to sow for a chance of sure that at least wanted plants of a class come up, where share is
// the class's expected share, and germination the share of seeds that sprout. 0: more than a million, or no number will do.
//
// Source: for one plant n = ln(1-P)/ln(1-q), a table in most handbooks of plant
// breeding; for more the binomial distribution.
func ToGrow(share, sure float64, wanted int, germination float64) int {
	q := share * germination
	if !(q > 0) || !(sure > 0 && sure < 1) || wanted < 1 {
		return 0
	}
	if q >= 1 {
		return wanted
	}
	return Fewest(1_000_000, func(n int) bool { return AtLeast(wanted, n, q) >= sure })
}

// MostSeeds is the largest number of seeds that a grower is told to sow.
const MostSeeds = 100_000

// SeedsFor returns the least number of seeds for a chance of sure that at least wanted of the plants are right. The chance
// that a plant is right is not known, but the same for all seeds: one of chances, with these weights (nil: equal ones).
// germination is the share of seeds that sprout. 0: MostSeeds are not enough.
//
// Source: with one chance and one wanted it is ln(1-P)/ln(1-q), a table in most handbooks of plant breeding.
func SeedsFor(chances, weights []float64, germination float64, wanted int, sure float64) int {
	return Fewest(MostSeeds, func(n int) bool {
		p, all := 0.0, 0.0
		for i, c := range chances {
			w := 1.0
			if weights != nil {
				w = weights[i]
			}
			p += w * AtLeast(wanted, n, c*germination)
			all += w
		}
		return p >= sure*all
	})
}

// AtLeast returns the binomial chance of at least k successes in n trials, each with chance p.
func AtLeast(k, n int, p float64) float64 {
	switch {
	case k > n || p <= 0:
		return 0
	case p >= 1:
		return 1
	case k == 1:
		return -math.Expm1(float64(n) * math.Log1p(-p))
	}
	return distuv.Binomial{N: float64(n), P: p}.Survival(float64(k - 1))
}

// Fewest returns the least number from 1 to most that is enough, where every larger one is enough, too; 0: most is not.
func Fewest(most int, enough func(n int) bool) int {
	if !enough(most) {
		return 0
	}
	lo, hi := 0, most // hi is enough
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; enough(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}
