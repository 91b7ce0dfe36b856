package petal

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"hueward/colorimg/cie"
)

// patches makes samples of a bloom in cells: each cell has its own shade,
// scattered by 2 around 60, 20, 30, and its pixels scatter by 1 around that.
func patches(r *rand.Rand, cells, pixels int) []sample {
	var px []sample
	for c := range cells {
		l, a, b := 60+2*r.NormFloat64(), 20+2*r.NormFloat64(), 30+2*r.NormFloat64()
		for range pixels {
			px = append(px, sample{cell: c, lab: cie.Lab{L: l + r.NormFloat64(), A: a + r.NormFloat64(), B: b + r.NormFloat64()}})
		}
	}
	return px
}

// meanError is the mean of L*'s standard error over several blooms, and the
// true scatter of their centres around 60.
func meanError(cells, pixels int) (said, scatter float64) {
	r := rand.New(rand.NewPCG(5, uint64(cells*1000+pixels)))
	const n = 150
	for range n {
		px := patches(r, cells, pixels)
		said += cellError(px)[0] / n
		m, _ := center(px)
		scatter += (m.L - 60) * (m.L - 60) / n
	}
	return said, math.Sqrt(scatter)
}

// TestCellErrorShrinks: four times as many parts of a bloom halve the standard
// error, give or take a quarter; four times as many pixels in the same parts
// change it by less than a tenth.
func TestCellErrorShrinks(t *testing.T) {
	base, _ := meanError(20, 20)
	more, _ := meanError(80, 20)
	if r := more / base; r < 0.375 || r > 0.625 {
		t.Errorf("four times the cells: %.3f of %.3f, want half ± a quarter", more, base)
	}
	dense, _ := meanError(20, 80)
	if r := dense / base; r < 0.9 || r > 1.1 {
		t.Errorf("four times the pixels in the same cells: %.3f, was %.3f; want the same within a tenth", dense, base)
	}
}

// TestCellErrorDoubled: a picture whose pixels are each there twice tells
// nothing more.
func TestCellErrorDoubled(t *testing.T) {
	px := patches(rand.New(rand.NewPCG(1, 2)), 30, 15)
	want := cellError(px)
	got := cellError(append(slices.Clone(px), px...))
	for i := range got {
		if math.Abs(got[i]-want[i]) > 1e-9 {
			t.Errorf("standard error %d with every pixel doubled = %.4f, was %.4f", i, got[i], want[i])
		}
	}
}

// TestCellErrorIsHonest: the standard error is not below the true scatter of
// the centre, and not above three times of it.
func TestCellErrorIsHonest(t *testing.T) {
	for _, cells := range []int{15, 40, 100} {
		said, scatter := meanError(cells, 20)
		if said < scatter || said > 3*scatter {
			t.Errorf("%d cells: standard error %.3f, centres scatter by %.3f; want 1 to 3 times that", cells, said, scatter)
		}
	}
}

// TestCellErrorFew: with too few parts to tell it is a guess on the safe side.
func TestCellErrorFew(t *testing.T) {
	for _, cells := range []int{0, 1, 2} {
		for i, v := range cellError(patches(rand.New(rand.NewPCG(1, 2)), cells, 10)) {
			if v < 2 {
				t.Errorf("%d cells: standard error %d = %.2f, want at least 2", cells, i, v)
			}
		}
	}
}

// values draws numbers with many ties, as colours of 8 bits have.
func values(t *rapid.T) []float64 {
	return rapid.SliceOfN(rapid.OneOf(rapid.Float64Range(-100, 100), rapid.Map(rapid.IntRange(0, 3), func(i int) float64 { return float64(i) })), 1, 60).Draw(t, "v")
}

// TestNth compares with sorting.
func TestNth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := values(t)
		k := rapid.IntRange(0, len(v)-1).Draw(t, "k")
		want := slices.Sorted(slices.Values(v))
		got := slices.Clone(v)
		if x := nth(got, k); x != want[k] {
			t.Fatalf("nth(%v, %d) = %v, want %v", v, k, x, want[k])
		}
		for i, x := range got {
			if i < k && x > want[k] || i > k && x < want[k] {
				t.Fatalf("nth(%v, %d) leaves %v: place %d is on the wrong side", v, k, got, i)
			}
		}
		slices.Sort(got)
		if !slices.Equal(got, want) {
			t.Fatalf("nth(%v, %d) changes the values: %v", v, k, got)
		}
	})
}

// TestMiddle compares with the definition of the median.
func TestMiddle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := values(t)
		s := slices.Sorted(slices.Values(v))
		n := len(s)
		want := (s[(n-1)/2] + s[n/2]) / 2
		if got := middle(slices.Clone(v)); got != want {
			t.Fatalf("middle(%v) = %v, want %v", v, got, want)
		}
	})
	if v := middle(nil); v != 0 {
		t.Errorf("middle of nothing = %v, want 0", v)
	}
}

// TestMiddleThird compares with sorting.
func TestMiddleThird(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := values(t)
		s := slices.Sorted(slices.Values(v))
		n := len(s)
		want, k := 0.0, n/3
		for _, x := range s[k : n-k] {
			want += x / float64(n-2*k)
		}
		if got := middleThird(slices.Clone(v)); math.Abs(got-want) > 1e-9 {
			t.Fatalf("middleThird(%v) = %v, want %v", v, got, want)
		}
	})
	if v := middleThird(nil); v != 0 {
		t.Errorf("middleThird of nothing = %v, want 0", v)
	}
}
