package selection

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

// A grower's season is up to 2 000 plants; a station's is shown beside it.
func BenchmarkRank(b *testing.B) {
	for _, n := range []int{24, 200, 2000, 10000} {
		obs, _ := season(rand.New(rand.NewPCG(1, 1)), n, 3, 8, 1)
		b.Run(fmt.Sprintf("%d plants", n), func(b *testing.B) {
			for b.Loop() {
				if _, err := Rank(buff, obs, nil); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
