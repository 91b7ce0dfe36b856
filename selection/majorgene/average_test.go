package majorgene

import (
	"math"
	"math/rand/v2"
	"testing"

	"hueward/selection/genetics"
	"hueward/selection/space"
)

// What is said of plants' genotypes is worth more, by the logarithm of the chance that was given to the true one, once it is
// averaged over what is not known of effects, scatter and frequencies; and of those said to be all but certain about as many are
// true. In made-up lines whose one gene is fitted from its true effect; where that loses its way nothing is to be averaged.
//
// Source: the logarithmic score, Good 1952, J. R. Statist. Soc. B 14:107.
func TestAverage(t *testing.T) {
	t.Parallel()
	runs := books(60)
	tr := truth{"", 1, func(g []int) space.Vector { return step(11)(g[0]) }, [2][]float64{{0.3}, {0.6}}}
	type sum struct{ score, said, true float64 } // of those surer than 0.95
	sums := make([][2]sum, runs)
	genetics.SideBySide(runs, func(run int) {
		b := grow(rand.New(rand.NewPCG(uint64(run), 17)), scheme{founders: 16, each: 16, seasons: 2, parents: 8}, tr)
		l := newLine(b.records)
		m := l.try(plain(1), []space.Vector{far(11)}, l.scatter())
		m.begin(false)
		m.steps(40, 2)
		m.weigh()
		m.see(nil)
		chances := make([]float64, len(m.p.local))
		m.p.settle(chances)
		for k := range 2 {
			if k == 1 {
				m.average(chances, true)
			}
			s := &sums[run][k]
			for i, p := range b.plants {
				at, _ := b.records.Ped.Place(p.ID)
				of := chances[3*(at-l.groups):][:3]
				s.score += math.Log(max(of[b.genotype[i][0]], 1e-9))
				for g, p := range of {
					if p > 0.95 {
						s.said += p
						if g == b.genotype[i][0] {
							s.true++
						}
					}
				}
			}
		}
	})
	var all [2]sum
	for _, s := range sums {
		if s[0].true < 0.75*s[0].said { // lost its way
			continue
		}
		for k := range all {
			all[k].score, all[k].said, all[k].true = all[k].score+s[k].score, all[k].said+s[k].said, all[k].true+s[k].true
		}
	}
	plug, averaged := all[0], all[1]
	t.Logf("logarithmic score %.1f, averaged %.1f; of the surest %.3f of what is said is true, averaged %.3f", plug.score, averaged.score,
		plug.true/plug.said, averaged.true/averaged.said)
	if averaged.score < plug.score || averaged.true < 0.975*averaged.said || averaged.true > 1.025*averaged.said {
		t.Errorf("averaged chances are worth %.1f by their logarithm, %.1f as they were; of the surest %.3f of what is said is true",
			averaged.score, plug.score, averaged.true/averaged.said)
	}
}
