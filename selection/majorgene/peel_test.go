package majorgene

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"hueward/selection/genetics"
)

// exact is every node's genotype chances, and the chance of all that is seen, by adding up all
// genotypes of all nodes: those of founders by their prior, of others by Mendel's first
// and second laws, written out here once more.
func exact(n *network, loci int, local []float64) (chances [][]float64, logLik float64) {
	k := int(math.Pow(3, float64(loci)))
	copies := func(g, l int) int { return g / int(math.Pow(3, float64(l))) % 3 }
	passes := func(g, a, b int) float64 {
		p := 1.0
		for l := range loci {
			x, y := float64(copies(a, l))/2, float64(copies(b, l))/2
			p *= []float64{(1 - x) * (1 - y), x*(1-y) + y*(1-x), x * y}[copies(g, l)]
		}
		return p
	}
	var order []int32 // parents first
	for i := range int32(n.nodes) {
		if n.born[i] < 0 {
			order = append(order, i)
		}
	}
	for _, f := range n.families {
		order = append(order, f.offspring...)
	}
	chances = make([][]float64, n.nodes)
	for i := range chances {
		chances[i] = make([]float64, k)
	}
	genotype := make([]int, n.nodes)
	total := 0.0
	var walk func(at int, p float64)
	walk = func(at int, p float64) {
		if p == 0 {
			return
		}
		if at == len(order) {
			total += p
			for i, g := range genotype {
				chances[i][g] += p
			}
			return
		}
		i := order[at]
		for g := range k {
			q := local[int(i)*k+g]
			if f := n.born[i]; f >= 0 {
				q *= passes(g, genotype[n.families[f].seed], genotype[n.families[f].pollen])
			}
			genotype[i] = g
			walk(at+1, p*q)
		}
	}
	walk(0, 1)
	for _, c := range chances {
		for g := range c {
			c[g] /= total
		}
	}
	return chances, math.Log(total)
}

// Pedigrees of up to 12 plants with selfs, unknown parents, groups and repeated matings, with
// loops and without: the chances are those of exact enumeration to 1e-9.
func TestPeelingExact(t *testing.T) {
	trees, loops := 0, 0
	for seed := range uint64(300) {
		rnd := rand.New(rand.NewPCG(seed, 71))
		loci := 1
		most := 11
		switch {
		case seed%15 == 0:
			loci, most = 3, 4
		case seed%3 == 0:
			loci, most = 2, 6
		}
		var plants []genetics.Parents
		for i := range 2 + rnd.IntN(most-1) {
			p := genetics.Parents{ID: fmt.Sprint(i), Group: []string{"", "a"}[rnd.IntN(2)]}
			if p.Group == "a" {
				p.Inbreeding = 0.5
			}
			if i > 1 && rnd.IntN(4) > 0 {
				p = genetics.Parents{ID: p.ID, Seed: fmt.Sprint(rnd.IntN(i)), Pollen: fmt.Sprint(rnd.IntN(i))}
				switch rnd.IntN(4) {
				case 0:
					p.Pollen = p.Seed
				case 1:
					if len(plants) < 5 { // each unknown parent is a plant more to add up
						p.Pollen = ""
					}
				}
			}
			plants = append(plants, p)
		}
		ped, err := genetics.NewPedigree(plants)
		if err != nil {
			t.Fatal(err)
		}
		n := newNetwork(ped)
		if n.nodes > 12 {
			continue
		}
		s := newCombinations(loci)
		p := newPeeling(n, s)
		freq := []float64{0.2 + 0.6*rnd.Float64(), rnd.Float64(), rnd.Float64()}[:loci]
		for i := range int32(n.nodes) {
			row := p.row(p.local, i)
			if n.born[i] < 0 {
				s.founder(row, freq, n.inbred[n.group[i]])
			}
			if rnd.IntN(4) > 0 { // a colour, or none
				for g := range row {
					row[g] *= math.Exp(-2 * rnd.ExpFloat64())
				}
			}
		}
		got := make([]float64, len(p.local))
		if !p.settle(got) {
			t.Errorf("seed %d: not exact", seed)
		}
		want, logLik := exact(n, loci, p.local)
		away := 0.0
		for i := range int32(n.nodes) {
			for g, v := range p.row(got, i) {
				away = max(away, math.Abs(v-want[i][g]))
			}
		}
		if n.loops {
			loops++
		} else {
			trees++
		}
		if away > 1e-9 {
			t.Errorf("seed %d, loops %v: chances are %.2g away", seed, n.loops, away)
		}
		if l := p.logLik(); !n.loops && math.Abs(l-logLik) > 1e-9 {
			t.Errorf("seed %d: logarithm of the likelihood %.10f, want %.10f", seed, l, logLik)
		}
	}
	if trees < 50 || loops < 50 {
		t.Errorf("%d pedigrees without loops and %d with; want 50 of each", trees, loops)
	}
}
