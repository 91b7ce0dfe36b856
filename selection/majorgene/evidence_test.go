package majorgene

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"hueward/selection/genetics"
	"hueward/selection/space"
)

// The evidence for one gene in a family whose mean is not known is near the logarithm of the likelihood, by adding up all
// genotypes of its plants; that of the mean is integrated as that of any normal distribution with normal records.
func TestEvidence(t *testing.T) {
	for seed := range uint64(6) {
		rnd := rand.New(rand.NewPCG(seed, 5))
		var plants []genetics.Parents
		for i := range 7 {
			plants = append(plants, genetics.Parents{ID: fmt.Sprint(i)})
		}
		ped, err := genetics.NewPedigree(plants)
		if err != nil {
			t.Fatal(err)
		}
		r := &Records{Ped: ped}
		for i, p := range plants {
			at, _ := ped.Place(p.ID)
			y := space.Vector{60 + 3*rnd.NormFloat64(), 20 + 3*rnd.NormFloat64(), 40 + 3*rnd.NormFloat64()}
			if i%3 == 0 {
				y[0] += 8
			}
			r.Plant, r.Season, r.Y = append(r.Plant, at), append(r.Season, 0), append(r.Y, y)
		}
		l := newLine(r)
		m := l.try(plain(1), []space.Vector{{8, 0, 0}}, space.Diag(space.Even(9)))
		m.begin(false)
		for range 20 { // at the parameters as they are
			m.weigh()
			m.see(nil)
			m.peel(1, 1e-12)
		}
		got := m.evidence(5)
		q := &m.l.cells[0]
		t1, logT := space.InverseLog(m.t)
		density := func(r space.Vector, inv space.Matrix, logDet float64) float64 {
			return -(space.Quadratic(inv, r) + logDet + 3*log2Pi) / 2
		}
		prior := make([]float64, 3)
		m.s.founder(prior, m.freq[0], 0)
		all, ways := 0.0, int(math.Pow(3, float64(len(plants))))
		for w := range ways {
			p, sum := 0.0, space.Apply(q.priorInv, q.prior)
			precision := q.priorInv
			rest := make([]space.Vector, len(plants))
			for i, code := 0, w; i < len(plants); i, code = i+1, code/3 {
				rest[i] = space.Minus(r.Y[i], m.effect(code%3))
				p += math.Log(prior[code%3])
				precision, sum = space.Add(precision, space.Scale(1/l.d[i], t1)), space.Plus(sum, space.Times(1/l.d[i], space.Apply(t1, rest[i])))
			}
			cov, logDet := space.InverseLog(precision)
			at := space.Apply(cov, sum)
			p += density(space.Minus(at, q.prior), q.priorInv, q.priorLog) - density(space.Vector{}, precision, -logDet)
			for i, x := range rest {
				p += density(space.Minus(x, at), space.Scale(1/l.d[i], t1), logT+3*math.Log(l.d[i]))
			}
			all += math.Exp(p)
		}
		if want := math.Log(all); math.Abs(got-want) > 0.05 {
			t.Errorf("seed %d: evidence %.3f, the logarithm of the likelihood is %.3f", seed, got, want)
		}
	}
}
