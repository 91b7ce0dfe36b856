package robust_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"hueward/colorimg/robust"
)

// values draws numbers with many ties, as colours of 8 bits have.
func values(t *rapid.T) []float64 {
	return rapid.SliceOfN(rapid.OneOf(rapid.Float64Range(-100, 100),
		rapid.Map(rapid.IntRange(0, 3), func(i int) float64 { return float64(i) })), 1, 60).Draw(t, "v")
}

// TestNth compares with sorting.
func TestNth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := values(t)
		k := rapid.IntRange(0, len(v)-1).Draw(t, "k")
		want := slices.Sorted(slices.Values(v))
		got := slices.Clone(v)
		if x := robust.Nth(got, k); x != want[k] {
			t.Fatalf("Nth(%v, %d) = %v, want %v", v, k, x, want[k])
		}
		for i, x := range got {
			if i < k && x > want[k] || i > k && x < want[k] {
				t.Fatalf("Nth(%v, %d) leaves %v: place %d is on the wrong side", v, k, got, i)
			}
		}
		slices.Sort(got)
		if !slices.Equal(got, want) {
			t.Fatalf("Nth(%v, %d) changes the values: %v", v, k, got)
		}
	})
}

// TestMedian compares with the definition of the median.
func TestMedian(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := values(t)
		s := slices.Sorted(slices.Values(v))
		n := len(s)
		want := (s[(n-1)/2] + s[n/2]) / 2
		if got := robust.Median(slices.Clone(v)); got != want {
			t.Fatalf("Median(%v) = %v, want %v", v, got, want)
		}
	})
	if v := robust.Median[float64](nil); v != 0 {
		t.Errorf("Median of nothing = %v, want 0", v)
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
		if got := robust.MiddleThird(slices.Clone(v)); math.Abs(got-want) > 1e-9 {
			t.Fatalf("MiddleThird(%v) = %v, want %v", v, got, want)
		}
	})
	if v := robust.MiddleThird[float64](nil); v != 0 {
		t.Errorf("MiddleThird of nothing = %v, want 0", v)
	}
}
