package majorgene

import (
	"fmt"
	"math"
	"testing"

	"hueward/selection/genetics"
	"hueward/selection/space"
)

// The mean of a family updates its parents' values, and so the prior of their other families, but of no others: the prior of the
// second family of a parent without a colour is that of jointly normal means whose only covariance is through that parent.
//
// Source: the conditional mean and variance of jointly normal numbers, any textbook of them.
func TestFamiliesTellOfParents(t *testing.T) {
	t.Parallel()
	for _, self := range []bool{false, true} {
		var plants []genetics.Parents
		for _, id := range []string{"A", "B", "C", "D", "E"} {
			plants = append(plants, genetics.Parents{ID: id})
		}
		first := "B"
		if self {
			first = "A"
		}
		r := &Records{}
		var of []string
		const each = 5
		sum := 0.0
		for k, x := range [3][2]string{{"A", first}, {"A", "C"}, {"D", "E"}} {
			for i := range each {
				id := fmt.Sprintf("%d-%d", k, i)
				plants, of = append(plants, genetics.Parents{ID: id, Seed: x[0], Pollen: x[1]}), append(of, id)
				y := 60.0 + float64(i)
				if k == 0 {
					y += 9
					sum += y / each
				}
				r.Y, r.Season = append(r.Y, space.Even(y)), append(r.Season, 0)
			}
		}
		ped, err := genetics.NewPedigree(plants)
		if err != nil {
			t.Fatal(err)
		}
		for _, id := range of {
			at, _ := ped.Place(id)
			r.Plant = append(r.Plant, at)
		}
		r.Ped = ped
		l := newLine(r)
		l.whole = space.Diag(space.Even(20)) // of what founders of a group have in common; founders vary around it by share of t
		m := l.try(plain(0), nil, space.Diag(space.Even(8)))
		for i := range m.q {
			m.q[i] = 1
		}
		m.weigh()
		const founder = 20 + share*8
		d := l.d[0] // of the first family's plants
		parents, with := founder/2.0, founder/4.0
		if self {
			parents, with = founder, founder/2.0
		}
		seen := parents + seasonSD*seasonSD + 8*d/each // the variance of that family's mean
		wantMean := l.grand[0] + with/seen*(sum-l.grand[0])
		wantVar := founder/2.0 + seasonSD*seasonSD - with*with/seen
		for c := range m.l.cells {
			q := &m.l.cells[c]
			mean, variance := l.grand[0], founder/2.0+seasonSD*seasonSD
			switch q.records[0] / each {
			case 0:
				variance = parents + seasonSD*seasonSD
			case 1:
				mean, variance = wantMean, wantVar
			}
			for i := range 3 {
				if math.Abs(q.prior[i]-mean) > 1e-9 || math.Abs(q.priorCov[i][i]-variance) > 1e-9 {
					t.Errorf("selfed %v, family %d: expected %.6f with variance %.6f, want %.6f and %.6f", self, q.records[0]/each, q.prior[i],
						q.priorCov[i][i], mean, variance)
				}
			}
		}
	}
}
