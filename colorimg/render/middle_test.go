package render

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// The fast median against sorting.
func TestMiddleIsTheMedian(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SliceOfN(rapid.Float32Range(-3, 3), 1, 60).Draw(t, "values")
		if rapid.Bool().Draw(t, "many alike") {
			for i := range v {
				v[i] = float32(int(v[i]))
			}
		}
		sorted := slices.Clone(v)
		slices.Sort(sorted)
		want := sorted[len(sorted)/2]
		if got := middle(v); got != want {
			t.Errorf("middle(%v) = %v, want %v", sorted, got, want)
		}
	})
}
