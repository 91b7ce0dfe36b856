package majorgene

import (
	"math/rand/v2"
	"testing"
)

func BenchmarkFit(b *testing.B) {
	for _, c := range []struct {
		name string
		s    scheme
		tr   truth
	}{
		{"500 plants, none", schemes[5], none},
		{"500 plants, pathway", schemes[5], pathway},
	} {
		b.Run(c.name, func(b *testing.B) {
			book := grow(rand.New(rand.NewPCG(1, 5)), c.s, c.tr)
			for b.Loop() {
				Fit(book.records, nil)
			}
		})
	}
}
