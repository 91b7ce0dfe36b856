package classes

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"hueward/colorimg/cie"
)

// Mendel 1866, Versuche über Pflanzenhybriden: 5474 round and 1850 wrinkled seeds; 315
// round yellow, 101 wrinkled yellow, 108 round green, 32 wrinkled green.
func TestMendel(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		counts []int
		ratio  string
		square float64
		df     int
	}{
		{[]int{5474, 1850}, "3:1", 0.2629, 1},
		{[]int{315, 101, 108, 32}, "9:3:3:1", 0.4700, 3},
	} {
		ratio, err := ParseRatio(c.ratio)
		if err != nil {
			t.Fatal(err)
		}
		r, err := Test(c.counts, ratio)
		if err != nil {
			t.Fatal(err)
		}
		if !(math.Abs(r.Square-c.square) <= 5e-5) || r.DF != c.df || r.Exact || !(r.P > 0.5) {
			t.Errorf("%v against %s: chi-square %.4f on %d, p %.3f; want %.4f on %d", c.counts, c.ratio, r.Square, r.DF, r.P, c.square, c.df)
		}
	}
}

// The exact test by hand: 4 plants, all of the class expected in one of four. No outcome
// is less likely: (1/4)^4. And 0 of 4: likelier ones are 1 only (0.4219), so the sum of
// the others.
func TestExact(t *testing.T) {
	t.Parallel()
	r, err := Test([]int{0, 4}, Ratio{3, 1})
	if err != nil {
		t.Fatal(err)
	}
	if want := math.Pow(0.25, 4); !r.Exact || !(math.Abs(r.P-want) <= 1e-12) {
		t.Errorf("p %v, want %v", r.P, want)
	}
	r, err = Test([]int{4, 0}, Ratio{3, 1})
	if err != nil {
		t.Fatal(err)
	}
	if want := 1 - 4*math.Pow(0.75, 3)*0.25; !(math.Abs(r.P-want) <= 1e-12) {
		t.Errorf("p %v, want %v", r.P, want)
	}
	// Two classes are a binomial: R's binom.test(3, 20, 9/16) sums the outcomes no likelier
	// than 3.
	p := func(k int) float64 {
		c := 1.0
		for i := range k {
			c = c * float64(20-i) / float64(i+1)
		}
		return c * math.Pow(9./16, float64(k)) * math.Pow(7./16, float64(20-k))
	}
	want := 0.0
	for k := range 21 {
		if p(k) <= p(3)*(1+1e-7) {
			want += p(k)
		}
	}
	r = &Result{Counts: []int{3, 17}}
	r.exact([]float64{9. / 16, 7. / 16}, 20)
	if !(math.Abs(r.P-want) <= 1e-12) || r.Drawn {
		t.Errorf("p %v, want %v", r.P, want)
	}
	// Too many outcomes to go through: drawn, and near the chi-square of large counts.
	big := &Result{Counts: []int{110, 101, 95, 99, 105, 90}}
	big.exact(Ratio{1, 1, 1, 1, 1, 1}.shares(), 600)
	chi, err := Test(big.Counts, Ratio{1, 1, 1, 1, 1, 1})
	if err != nil {
		t.Fatal(err)
	}
	if !big.Drawn || !(math.Abs(big.P-chi.P) <= 0.02) {
		t.Errorf("drawn p %.3f, chi-square %.3f", big.P, chi.P)
	}
}

func TestMatch(t *testing.T) {
	t.Parallel()
	r, err := Match([]int{4, 9, 3}, Ratio{9, 3, 4})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(r.Ratio, Ratio{4, 9, 3}) || !r.Matched || !(r.Square <= 1e-12) {
		t.Errorf("matched as %v, chi-square %v", r.Ratio, r.Square)
	}
	if r, err := Match([]int{5, 6}, Ratio{1, 1}); err != nil || r.Matched {
		t.Errorf("1:1 has one order: %+v, %v", r, err)
	}
	for _, c := range []struct {
		counts []int
		ratio  Ratio
	}{{[]int{1, 2}, Ratio{1, 2, 1}}, {[]int{0, 0}, Ratio{1, 1}}, {[]int{-1, 3}, Ratio{1, 1}}, {[]int{3}, Ratio{1}},
		{[]int{1, 1}, Ratio{1, 0}}} {
		if _, err := Test(c.counts, c.ratio); !errors.Is(err, ErrCounts) {
			t.Errorf("%v against %v: %v", c.counts, c.ratio, err)
		}
	}
}

// No other order of a ratio's parts, equal ones among them, fits better than the one matched.
func TestMatchBest(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 5).Draw(t, "classes")
		counts := rapid.SliceOfN(rapid.IntRange(0, 30), n, n).Draw(t, "counts")
		counts[0]++
		ratio := Ratio(rapid.SliceOfN(rapid.SampledFrom([]float64{1, 3, 3, 9, 12}), n, n).Draw(t, "ratio"))
		best, err := Match(counts, ratio)
		if err != nil {
			t.Fatal(err)
		}
		other := Ratio(rapid.Permutation(ratio).Draw(t, "another order"))
		r, err := Test(counts, other)
		if err != nil {
			t.Fatal(err)
		}
		if !(best.Square <= r.Square+1e-9) {
			t.Fatalf("%v matched as %v, chi-square %v; as %v it is %v", counts, best.Ratio, best.Square, other, r.Square)
		}
	})
}

// A table in most handbooks of plant breeding, n = ln(1-P)/ln(1-q) (recomputed).
func TestToGrow(t *testing.T) {
	t.Parallel()
	for sure, want := range map[float64][3]int{0.90: {9, 36, 147}, 0.95: {11, 47, 191}, 0.99: {17, 72, 293}} {
		for i, q := range []float64{1. / 4, 1. / 16, 1. / 64} {
			exact := int(math.Ceil(math.Log(1-sure) / math.Log(1-q)))
			if got := ToGrow(q, sure, 1, 1); got != exact || got > want[i] || got < want[i]-1 {
				t.Errorf("for %.2f of 1 in %.0f: %d, by the formula %d, in the table %d", sure, 1/q, got, exact, want[i])
			}
		}
	}
	if got := ToGrow(0.25, 0.95, 2, 1); got != 18 { // 1-(3/4)^n-n(1/4)(3/4)^(n-1) passes 0.95 at 18 (by hand: 0.9605 there, 0.9499 at 17)
		t.Errorf("two plants of one in four: %d, want 18", got)
	}
	for _, c := range [][2]float64{{0, 0.95}, {0.5, 1}, {0.5, 0}} {
		if got := ToGrow(c[0], c[1], 1, 1); got != 0 {
			t.Errorf("ToGrow(%v) = %d, want 0", c, got)
		}
	}
}

// Power by simulation: with the numbers said, a true 9:7 is told from 1:1 in 95 of 100.
func TestToTell(t *testing.T) {
	t.Parallel()
	rnd := rand.New(rand.NewPCG(3, 3))
	for _, c := range [][2]Ratio{{{3, 1}, {9, 7}}, {{9, 7}, {1, 1}}, {{9, 3, 4}, {1, 2, 1}}} {
		n := ToTell(c[0], c[1])
		shares := c[0].shares()
		told := 0
		const runs = 3000
		for range runs {
			counts := make([]int, len(shares))
			for range n {
				u, k := rnd.Float64(), 0
				for k < len(shares)-1 && u >= shares[k] {
					u -= shares[k]
					k++
				}
				counts[k]++
			}
			r, err := Test(counts, c[1])
			if err != nil {
				t.Fatal(err)
			}
			if r.P < 0.05 {
				told++
			}
		}
		if got := float64(told) / runs; !(math.Abs(got-0.95) <= 0.03) { // the truth scatters less than its rival would
			t.Errorf("%d plants tell %v from %v in %.3f, want 0.95", n, c[0], c[1], got)
		}
	}
	if ToTell(Ratio{1, 1}, Ratio{2, 2}) != 0 || ToTell(Ratio{1, 1}, Ratio{1, 2, 1}) != 0 {
		t.Error("two ratios that cannot be told apart are")
	}
}

// Classes that lie apart are found with their number, in 95 of 100 families and more;
// one class is not split.
func TestFindSimulated(t *testing.T) {
	t.Parallel()
	runs, least := 12, 10 // fewer than 10 of 12 come in 2 of 100 cases where 95 of 100 are right
	if os.Getenv("HUEWARD_FULL") == "1" {
		runs, least = 100, 95
	}
	middles := []cie.Lab{{L: 85, A: 4, B: 25}, {L: 74, A: 18, B: 45}, {L: 60, A: 34, B: 62}}
	for k, parts := range map[int][]int{1: {40}, 2: {45, 15}, 3: {20, 40, 20}} {
		t.Run(fmt.Sprint(k), func(t *testing.T) {
			t.Parallel()
			rnd := rand.New(rand.NewPCG(4, uint64(k)))
			right := 0
			for range runs {
				var x []cie.Lab
				for c, n := range parts {
					for range n {
						m := middles[c]
						x = append(x, cie.Lab{L: m.L + 2*rnd.NormFloat64(), A: m.A + 2*rnd.NormFloat64(), B: m.B + 3*rnd.NormFloat64()})
					}
				}
				got, err := Find(x, 0)
				if err != nil {
					t.Fatal(err)
				}
				if len(got.Classes) != k {
					continue
				}
				right++
				for c := range got.Classes {
					if n := len(got.Classes[c].Members); n < parts[c]-2 || n > parts[c]+2 {
						t.Errorf("class %d has %d plants, want %d", c, n, parts[c])
					}
				}
			}
			if right < least {
				t.Errorf("found so in %d of %d families, want at least %d", right, runs, least)
			}
		})
	}
}

// One normal class, round or long, is parted in at most one of 20 families of any size, and two
// classes 3 standard deviations apart are found in more than a third of families of 40: twice as
// often as by the Bayesian information criterion alone.
func TestFindOne(t *testing.T) {
	t.Parallel()
	runs := 12
	if os.Getenv("HUEWARD_FULL") == "1" {
		runs = 100
	}
	rnd := rand.New(rand.NewPCG(7, 19))
	for _, c := range []struct {
		n           int
		apart       float64
		least, most float64
		long        float64
	}{{8, 0, 0, 0.05, 1}, {12, 0, 0, 0.05, 2}, {24, 0, 0, 0.05, 1}, {40, 0, 0, 0.05, 2}, {40, 3, 0.35, 1, 1}} {
		parted, runs := 0, runs*40/c.n // as many plants of each size
		for range runs {
			x := make([]cie.Lab, c.n)
			for i := range x {
				x[i] = cie.Lab{L: 60 + 4*c.long*rnd.NormFloat64(), A: 20 + 4*rnd.NormFloat64(), B: 40 + 4*rnd.NormFloat64()}
				if i%4 == 0 {
					x[i].L += 4 * c.apart
				}
			}
			got, err := Find(x, 0)
			if err != nil {
				t.Fatal(err)
			}
			if len(got.Classes) > 1 {
				parted++
			}
		}
		share := float64(parted) / float64(runs)
		se := func(p float64) float64 { return math.Sqrt(p * (1 - p) / float64(runs)) }
		t.Logf("%d plants, %.0f standard deviations apart: parted in %.3f", c.n, c.apart, share)
		if share > c.most+2*se(c.most) || share < c.least-2*se(c.least) {
			t.Errorf("%d plants, %.0f standard deviations apart: parted in %.3f of families, want %.2f to %.2f",
				c.n, c.apart, share, c.least, c.most)
		}
	}
}

func TestFindAwkward(t *testing.T) {
	t.Parallel()
	same := cie.Lab{L: 50, A: 1, B: 2}
	for name, c := range map[string]struct {
		x          []cie.Lab
		want, most int
	}{
		"one plant": {[]cie.Lab{same}, 0, 1}, "two plants": {[]cie.Lab{same, {L: 90}}, 0, 1},
		"all equal":              {slices.Repeat([]cie.Lab{same}, 30), 0, 1},
		"all equal, three asked": {slices.Repeat([]cie.Lab{same}, 30), 3, 1}, "two asked of two": {[]cie.Lab{same, {L: 90}}, 2, 2},
	} {
		got, err := Find(c.x, c.want)
		if err != nil || len(got.Classes) != c.most {
			t.Errorf("%s: %+v, %v", name, got, err)
		}
	}
	if _, err := Find(nil, 0); !errors.Is(err, ErrNoColors) {
		t.Errorf("none: %v", err)
	}
	if _, err := Find([]cie.Lab{{L: math.NaN()}}, 0); err == nil {
		t.Error("NaN: no error")
	}
	rapid.Check(t, func(t *rapid.T) { // the order does not matter, and every plant is in one class
		rnd := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 5))
		n := rapid.IntRange(1, 40).Draw(t, "plants")
		x := make([]cie.Lab, n)
		for i := range x {
			x[i] = cie.Lab{L: float64(rnd.IntN(5)) * 12, A: rnd.NormFloat64(), B: rnd.NormFloat64()}
		}
		a, err := Find(x, 0)
		if err != nil {
			t.Fatal(err)
		}
		y := slices.Clone(x)
		slices.Reverse(y)
		b, err := Find(y, 0)
		if err != nil || len(a.Classes) != len(b.Classes) {
			t.Fatalf("%d classes, and %d in another order, %v", len(a.Classes), len(b.Classes), err)
		}
		total := 0
		for i := range a.Classes {
			total += len(a.Classes[i].Members)
			if len(a.Classes[i].Members) != len(b.Classes[i].Members) {
				t.Fatalf("class %d has %d plants, and %d in another order", i, len(a.Classes[i].Members), len(b.Classes[i].Members))
			}
		}
		if total != n {
			t.Fatalf("%d of %d plants are in a class", total, n)
		}
	})
}

// An F1 in the middle is said to differ in 5 of 100 families; one like a parent is seen to be.
func TestAddsUp(t *testing.T) {
	t.Parallel()
	rnd := rand.New(rand.NewPCG(6, 6))
	cov := [3][3]float64{{0.5, 0.1, 0}, {0.1, 0.4, 0}, {0, 0, 0.8}}
	draw := func(m cie.Lab) Group {
		z0, z1, z2 := rnd.NormFloat64(), rnd.NormFloat64(), rnd.NormFloat64()
		return Group{cie.Lab{L: m.L + math.Sqrt(0.5)*z0, A: m.A + 0.1/math.Sqrt(0.5)*z0 + math.Sqrt(0.4-0.02)*z1, B: m.B + math.Sqrt(0.8)*z2},
			cov}
	}
	orange, cream := cie.Lab{L: 62, A: 32, B: 62}, cie.Lab{L: 88, A: 2, B: 22}
	said := 0
	const runs = 2000
	for range runs {
		d, ok := AddsUp(draw(orange), draw(cream), draw(cie.Lab{L: 75, A: 17, B: 42}))
		if !ok {
			t.Fatal("parents that differ")
		}
		if d.P < 0.05 {
			said++
		}
	}
	if got := float64(said) / runs; !(math.Abs(got-0.05) <= 0.02) {
		t.Errorf("said not to add up in %.3f of families that do", got)
	}
	d, _ := AddsUp(Group{orange, cov}, Group{cream, cov}, Group{orange, cov})
	if !(math.Abs(d.Degree+1) <= 1e-9 && d.P <= 1e-6 && d.Off <= 1e-6) || !(d.SE > 0 && d.SE < 0.1) {
		t.Errorf("an F1 like the first parent: %+v", d)
	}
	if _, ok := AddsUp(Group{orange, cov}, Group{orange, cov}, Group{cream, cov}); ok {
		t.Error("parents of one colour: there is no middle to speak of")
	}
}

func FuzzParseRatio(f *testing.F) {
	for _, s := range []string{"3:1", "9:3:4", "1:0", ":", "1:2:3:4:5:6:7", "1e400:1", " 9 : 7 "} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		r, err := ParseRatio(s)
		if err != nil {
			return
		}
		again, err := ParseRatio(r.String())
		if err != nil || !slices.Equal(r, again) {
			t.Errorf("%q reads as %v, and that as %v, %v", s, r, again, err)
		}
	})
}
