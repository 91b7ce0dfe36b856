package space

import "testing"

// A matrix of rank 1 less a large error on one axis has no direction of less than nothing: its first two
// rows leave a minor that is rounding alone, which says nothing of its sign.
func TestSemidefiniteOfRankOne(t *testing.T) {
	for _, far := range []float64{1, 1e3, 1e6} {
		for _, v := range []Vector{{0.5, -15, 0.33}, {1.1, -45, 1}, {1.5, -45.0000003, 1}, {0.1, 0.3, 0.7}} {
			x := Semidefinite(Sub(Outer(v), Diag(Vector{0, 0, far})))
			for i := range 3 {
				if x[i][i] < 0 {
					t.Errorf("%v without %v of the last axis has a variance of %v", v, far, x[i][i])
				}
			}
		}
	}
}
