package robust

import (
	"math"
	"testing"
)

// Source: NIST Statistical Reference Datasets, nonlinear regression, Misra1a
// (data, start 2 and certified values, from memory). The second number is in
// units of 1e-4 here.
func TestLeast(t *testing.T) {
	data := [][2]float64{
		{10.07, 77.6}, {14.73, 114.9}, {17.94, 141.1}, {23.93, 190.8}, {29.61, 239.9}, {35.18, 289.0}, {40.02, 332.8},
		{44.82, 378.4}, {50.76, 434.8}, {55.05, 477.3}, {61.01, 536.8}, {66.40, 593.1}, {75.47, 689.1}, {81.78, 760.0},
	}
	x := []float64{250, 5}
	Least(x, len(data), func(x, r []float64) {
		for i, d := range data {
			r[i] = d[0] - x[0]*(1-math.Exp(-x[1]*1e-4*d[1]))
		}
	}, 100)
	if math.Abs(x[0]-238.94212918) > 1e-3 || math.Abs(x[1]-5.5015643181) > 1e-5 {
		t.Errorf("least = %.6f, %.8f, want 238.942129 ± 0.001, 5.50156432 ± 0.00001", x[0], x[1])
	}
}
