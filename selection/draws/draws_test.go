package draws

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestSmallest(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SliceOfN(rapid.Float64Range(0, 4), 1, 30).Draw(t, "v")
		for i := range v { // with ties
			v[i] = math.Round(4*v[i]) / 4
		}
		k := rapid.IntRange(1, len(v)).Draw(t, "k")
		want := slices.Sorted(slices.Values(v))[k-1]
		if got := Smallest(slices.Clone(v), k); got != want {
			t.Fatalf("Smallest(%v, %d) = %v, want %v", v, k, got, want)
		}
	})
}
