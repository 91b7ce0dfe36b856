package drift

import (
	"math"
	"testing"
)

// NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4: 20 values, their EWMA with
// lambda 0.3 begun at 50 (from memory;
// the moving averages recomputed).
func TestEWMA(t *testing.T) {
	x := []float64{52, 47, 53, 49.3, 50.1, 47, 51, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}
	want := []float64{50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73,
		51.23, 51.94, 51.99}
	z := EWMA(x, 50, 0.3)
	for i := range want {
		if math.Abs(z[i]-want[i]) > 0.006 {
			t.Errorf("EWMA %d is %.4f, want %.2f", i, z[i], want[i])
		}
	}
}

// A T² of k traits and df degrees of freedom is k df/(df-k+1) times an F of k and
// df-k+1. Of Hotelling's own table: with 3 traits and 19 degrees of freedom the 5 %
// point is 10.719 (Rencher 2002, Methods of Multivariate Analysis, table A.7; from memory).
func TestHotellingRisk(t *testing.T) {
	if got := HotellingRisk(10.719, 19); math.Abs(got-0.05) > 1e-4 {
		t.Errorf("risk of T² 10.719 on 19 degrees of freedom is %.5f, want 0.05", got)
	}
}
