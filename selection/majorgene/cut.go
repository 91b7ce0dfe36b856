package majorgene

import (
	"math"
)

// mostCut bounds the work that loops are cut by: peelings times nodes.
const mostCut = 100_000

// cuts are nodes whose genotypes, once known, leave no loop, chosen by how many loops each ends; nil
// where there are none.
func (n *network) cuts() []int32 {
	out := make([]bool, n.nodes)
	var cut []int32
	for left := n.loopsWithout(out); left > 0; {
		best, least := int32(-1), left
		for i := range int32(n.nodes) {
			if out[i] || len(n.raises[i]) == 0 {
				continue
			}
			out[i] = true
			if l := n.loopsWithout(out); l < least {
				best, least = i, l
			}
			out[i] = false
		}
		if best < 0 {
			break
		}
		out[best], left = true, least
		cut = append(cut, best)
	}
	return cut
}

// loopsWithout is how many ways between families there are too many, some nodes left out.
func (n *network) loopsWithout(out []bool) int {
	up := make([]int32, n.nodes)
	for i := range up {
		up[i] = int32(i)
	}
	find := func(i int32) int32 {
		for up[i] != i {
			up[i] = up[up[i]]
			i = up[i]
		}
		return i
	}
	loops := 0
	for f := range n.families {
		fam := &n.families[f]
		first := int32(-1)
		join := func(i int32) {
			switch {
			case out[i]:
			case first < 0:
				first = i
			default:
				if a, b := find(first), find(i); a == b {
					loops++
				} else {
					up[a] = b
				}
			}
		}
		join(fam.seed)
		if fam.pollen != fam.seed {
			join(fam.pollen)
		}
		for _, o := range fam.offspring {
			join(o)
		}
	}
	return loops
}

// settle works out the chances of all nodes' genotypes, nodes × genotypes: by peeling alone where
// there are no loops, and where few cut all, over all genotypes of those, both exact; else by
// peeling repeated. It returns the logarithm of the likelihood.
//
// Source: conditioning on a cut set, Pearl 1988, Probabilistic Reasoning in Intelligent
// Systems, section 4.4.1; for pedigrees Lange and Elston 1975, Hum. Hered. 25:95.
func (p *peeling) settle(out []float64, cut []int32) (logLik float64) {
	k := p.s.genotypes
	runs := math.Pow(float64(k), float64(len(cut)))
	if len(cut) == 0 || runs*float64(p.n.nodes) > mostCut {
		p.run(100, 1e-11)
		for i := range int32(p.n.nodes) {
			p.chances(p.row(out, i), i)
		}
		return p.logLik()
	}
	keep := make([][]float64, len(cut))
	for c, i := range cut {
		keep[c] = append([]float64{}, p.row(p.local, i)...)
	}
	clear(out)
	total, top := 0.0, math.Inf(-1)
	x := make([]float64, k)
	for r := range int(runs) {
		possible := true
		for c, i := range cut {
			row := p.row(p.local, i)
			clear(row)
			row[r%k] = keep[c][r%k]
			possible = possible && row[r%k] > 0
			r /= k
		}
		if !possible {
			continue
		}
		p.reset()
		p.run(len(p.n.families)+3, 1e-13)
		l := p.logLik()
		if l > top { // what was added so far counts for less
			s := math.Exp(top - l)
			total *= s
			for i := range out {
				out[i] *= s
			}
			top = l
		}
		w := math.Exp(l - top)
		total += w
		for i := range int32(p.n.nodes) {
			p.chances(x, i)
			for g, v := range x {
				out[int(i)*k+g] += w * v
			}
		}
	}
	for c, i := range cut {
		copy(p.row(p.local, i), keep[c])
	}
	for i := range out {
		out[i] /= total
	}
	return top + math.Log(total)
}

// reset forgets all that families have said.
func (p *peeling) reset() {
	k := p.s.genotypes
	clear(p.back[0])
	clear(p.back[1])
	clear(p.sum)
	for i := range p.ahead {
		p.ahead[i] = 1
		if p.n.born[i/k] >= 0 {
			p.ahead[i] = 1 / float64(k)
		}
	}
}
