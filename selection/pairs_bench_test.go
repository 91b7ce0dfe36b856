package selection

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"hueward/colorimg/cie"
	"hueward/selection/genetics"
)

// All pairs of 500 candidates, 125 000 of them: asked is 5 s on two cores.
func BenchmarkPairs(b *testing.B) {
	for _, n := range []int{60, 125, 250, 500} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			rnd := rand.New(rand.NewPCG(22, 22))
			var plants []genetics.Parents
			var records []Record
			var ids []string
			for i := range 2 * n {
				p := genetics.Parents{ID: fmt.Sprint(i)}
				season := "1"
				if i >= n {
					p.Seed, p.Pollen, season = fmt.Sprint(rnd.IntN(30)), fmt.Sprint(rnd.IntN(30)), "2"
					ids = append(ids, p.ID)
				}
				plants = append(plants, p)
				records = append(records, Record{Plant: p.ID, Season: season,
					Lab: cie.Lab{L: 72 + 4*rnd.NormFloat64(), A: 18 + 4*rnd.NormFloat64(), B: 40 + 5*rnd.NormFloat64()}})
			}
			v, err := Predict(plants, records, nil)
			if err != nil {
				b.Fatal(err)
			}
			for b.Loop() {
				if _, err := Pairs(v, buff, &PairOptions{Candidates: ids}); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(n*(n+1)/2), "pairs")
		})
	}
}
