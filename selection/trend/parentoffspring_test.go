package trend

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"hueward/selection"
	"hueward/selection/space"
)

// Simulated truth: on average the heritability that the line was made with, within what
// its errors say.
func TestParentOffspring(t *testing.T) {
	t.Parallel()
	rnd := rand.New(rand.NewPCG(17, 17))
	for _, h2 := range []float64{0.3, 0.7} {
		const runs = 60
		var sum, ss, said [3]float64
		for range runs {
			var plants []Grown
			g, e := math.Sqrt(h2*9), math.Sqrt((1-h2)*9)
			value := make([]space.Vector, 40)
			for i := range value {
				var x space.Vector
				for k := range x {
					value[i][k] = g * rnd.NormFloat64()
					x[k] = 50 + value[i][k] + e*rnd.NormFloat64()
				}
				plants = append(plants, Grown{Record: selection.Record{Plant: fmt.Sprint(i), Season: "1", Lab: space.Lab(x)}})
			}
			for f := range 30 {
				a, b := rnd.IntN(40), rnd.IntN(40)
				for i := range 1 + rnd.IntN(8) {
					var x space.Vector
					for k := range x {
						d := g * math.Sqrt(0.5)
						x[k] = 47 + (value[a][k]+value[b][k])/2 + d*rnd.NormFloat64() + e*rnd.NormFloat64()
					}
					plants = append(plants, Grown{Seed: fmt.Sprint(a), Pollen: fmt.Sprint(b),
						Record: selection.Record{Plant: fmt.Sprintf("%d/%d", f, i), Season: "2", Lab: space.Lab(x)}})
				}
			}
			got, n := ParentOffspring(plants)
			if n < 25 {
				t.Fatalf("%d families", n)
			}
			for k := range 3 {
				sum[k] += got[k].Value / runs
				ss[k] += got[k].Value * got[k].Value / runs
				said[k] += got[k].SE * got[k].SE / runs
			}
		}
		for k := range 3 {
			sd := math.Sqrt(ss[k] - sum[k]*sum[k])
			if math.Abs(sum[k]-h2) > 3*sd/math.Sqrt(runs) {
				t.Errorf("heritability of %s %.3f on average, want %.1f", space.Axes[k], sum[k], h2)
			}
			if r := math.Sqrt(said[k]) / sd; r < 0.75 || r > 1.35 {
				t.Errorf("errors said are %.2f of those found", r)
			}
		}
	}
	if h, n := ParentOffspring(nil); n != 0 || !math.IsNaN(h[0].Value) {
		t.Errorf("no plants: %v of %d families", h, n)
	}
}
