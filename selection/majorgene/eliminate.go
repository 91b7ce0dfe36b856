package majorgene

import (
	"iter"
	"slices"
)

// Limits of time and memory for an elimination: cells of all tables together, and plants with offspring.
const (
	mostCells = 1 << 20
	mostCore  = 5000
)

// leastKept are the chances, from iterated peeling, below which a genotype is taken as impossible: at first practically
// none is; the larger ones are tried where tables would grow too large.
var leastKept = []float64{1e-12, 1e-8, 1e-6}

// clique is a node that is summed out, with the nodes that its factors then connect: a clique of the triangulated graph.
type clique struct {
	nodes []int32   // the node that is summed out comes first
	next  int       // the clique that receives the sum; -1: none
	table []float64 // by the possible genotypes of nodes; the last node's vary fastest
	told  []float64 // the sum over the first node's genotypes, by those of the others
}

// elimination sums out the genotypes of plants with offspring, one plant at a time.
type elimination struct {
	n        *network
	k        int     // number of genotypes
	possible [][]int // each node's possible genotypes
	cliques  []clique
	in       []int // the clique that the node is the first of; -1: it has one possible genotype, or no offspring
}

// settle works out the genotype chances, nodes × genotypes, and reports whether they are exact: by peeling alone where
// there are no loops, else by elimination, where its tables are not too large.
//
// Source: Lauritzen and Spiegelhalter 1988, J. R. Statist. Soc. B 50:157; for pedigrees Cannings, Thompson, Skolnick 1978,
// Adv. Appl. Prob. 10:26.
func (p *peeling) settle(out []float64) (exact bool) { return p.settleTo(out, 1e-11, leastKept) }

// settleTo is [peeling.settle] with a tolerance for iterated peeling, and with other leastKept; without any, only peeling is used.
func (p *peeling) settleTo(out []float64, tolerance float64, leastKept []float64) (exact bool) {
	p.run(100, tolerance)
	for i := range int32(p.n.nodes) {
		p.chances(p.row(out, i), i)
	}
	if !p.n.loops {
		return true
	}
	for _, least := range leastKept {
		e := &elimination{n: p.n, k: p.s.genotypes, possible: make([][]int, p.n.nodes)}
		for i := range e.possible {
			for g, chance := range p.row(out, int32(i)) {
				if chance > least {
					e.possible[i] = append(e.possible[i], g)
				}
			}
		}
		if e.order() && e.run(p, out) {
			return true
		}
	}
	return false
}

// order finds the cliques by always summing out the plant with the smallest table next. It reports whether tables are small enough.
//
// Source: Kjærulff 1990, Triangulation of graphs, Aalborg R-90-09: minimum weight.
func (e *elimination) order() bool {
	ties := make([][]int32, e.n.nodes)
	tie := func(some ...int32) { // connects all of them with each other
		for a, x := range some {
			for _, y := range some[:a] {
				if x != y && e.in[x] >= 0 && e.in[y] >= 0 && !slices.Contains(ties[x], y) {
					ties[x], ties[y] = append(ties[x], y), append(ties[y], x)
				}
			}
		}
	}
	var left []int32
	for i := range int32(e.n.nodes) {
		e.in = append(e.in, -1)
		if e.n.raises[i] != nil && len(e.possible[i]) > 1 {
			e.in[i] = 0
			left = append(left, i)
		}
	}
	for _, f := range e.n.families {
		tie(f.seed, f.pollen)
		for _, o := range f.offspring {
			tie(f.seed, f.pollen, o)
		}
	}
	cells, all := make([]float64, e.n.nodes), 0.0 // cells of each plant's table, and of all tables so far
	count := func(some ...int32) {
		for _, i := range some {
			cells[i] = float64(len(e.possible[i]))
			for _, x := range ties[i] {
				cells[i] *= float64(len(e.possible[x]))
			}
		}
	}
	count(left...)
	for len(left) > 0 {
		at := 0
		for j, i := range left {
			if cells[i] < cells[left[at]] {
				at = j
			}
		}
		i := left[at]
		if all += cells[i]; all > mostCells || len(left) > mostCore {
			return false
		}
		q := clique{nodes: append([]int32{i}, ties[i]...), table: slices.Repeat([]float64{1}, int(cells[i])),
			told: make([]float64, int(cells[i])/len(e.possible[i]))}
		e.in[i], left = len(e.cliques), slices.Delete(left, at, at+1)
		e.cliques = append(e.cliques, q)
		for _, x := range ties[i] {
			ties[x] = slices.DeleteFunc(ties[x], func(y int32) bool { return y == i })
		}
		tie(ties[i]...)
		count(ties[i]...)
	}
	for c := range e.cliques {
		e.cliques[c].next = e.first(e.cliques[c].nodes[1:])
	}
	return true
}

// first returns the clique in which the first of some connected nodes is summed out; it holds all of them. -1: none does.
func (e *elimination) first(of []int32) int {
	c := -1
	for _, i := range of {
		if at := e.in[i]; at >= 0 && (c < 0 || at < c) {
			c = at
		}
	}
	return c
}

// along iterates over the cells of a table of nodes, with the place of the same genotypes in a table of other, some of the nodes or
// nodes with one possible genotype. That table has all genotypes or, if packed, only the possible ones.
func (e *elimination) along(nodes, other []int32, packed bool) iter.Seq2[int, int] {
	at, stride, cells := 0, 1, 1
	step := make([][]int, len(nodes)) // of each genotype of each node
	for d, i := range nodes {
		step[d] = make([]int, len(e.possible[i]))
		cells *= len(e.possible[i])
	}
	for _, i := range slices.Backward(other) {
		d, size := slices.Index(nodes, i), e.k
		if packed {
			size = len(e.possible[i])
		}
		for j, g := range e.possible[i] {
			if packed {
				g = j
			}
			if d >= 0 {
				step[d][j] += g * stride
			} else { // a node with one possible genotype
				at += g * stride
			}
		}
		stride *= size
	}
	for d := range step {
		at += step[d][0]
	}
	return func(yield func(cell, at int) bool) {
		digit := make([]int, len(nodes))
		for cell := range cells {
			if !yield(cell, at) {
				return
			}
			for d := len(nodes) - 1; d >= 0; d-- {
				at -= step[d][digit[d]]
				if digit[d]++; digit[d] < len(step[d]) {
					at += step[d][digit[d]]
					break
				}
				digit[d] = 0
				at += step[d][0]
			}
		}
	}
}

// run fills in the chances, and reports whether any combination of possible genotypes is consistent.
func (e *elimination) run(p *peeling, out []float64) bool {
	void := false
	times := func(c int, factor []float64, of []int32, packed bool) {
		if c < 0 {
			return
		}
		table := e.cliques[c].table
		for cell, at := range e.along(e.cliques[c].nodes, of, packed) {
			table[cell] *= factor[at]
		}
		top := slices.Max(table)
		if void = void || !(top > 0); top < 1e-100 || top > 1e100 {
			normalise(table)
		}
	}
	put := func(factor []float64, of ...int32) { times(e.first(of), factor, of, false) }
	read := func(sum []float64, of ...int32) {
		clear(sum)
		nodes, table := []int32(nil), []float64{1}
		if c := e.first(of); c >= 0 {
			nodes, table = e.cliques[c].nodes, e.cliques[c].table
		}
		for cell, at := range e.along(nodes, of, false) {
			sum[at] += table[cell]
		}
		normalise(sum)
	}
	mendel := p.s.mendel()
	p.reset()
	for f := range e.n.families {
		fam := &e.n.families[f]
		p.gather(int32(f), true)
		for c, u := range p.s.mating {
			p.both[c] = p.seen[f][u]
		}
		put(p.both, fam.seed, fam.pollen)
		for _, o := range fam.offspring {
			if e.n.raises[o] != nil {
				put(mendel, o, fam.seed, fam.pollen)
			}
		}
	}
	for i := range int32(e.n.nodes) {
		if e.n.raises[i] != nil {
			put(p.row(p.local, i), i)
		}
	}
	for _, q := range e.cliques {
		for cell, v := range q.table {
			q.told[cell%len(q.told)] += v
		}
		times(q.next, q.told, q.nodes[1:], true)
	}
	if void {
		return false
	}
	for _, q := range slices.Backward(e.cliques) {
		if q.next < 0 {
			continue
		}
		whole, next := make([]float64, len(q.told)), &e.cliques[q.next]
		for cell, at := range e.along(next.nodes, q.nodes[1:], true) {
			whole[at] += next.table[cell]
		}
		for cell := range q.table {
			if at := cell % len(q.told); q.told[at] > 0 {
				q.table[cell] *= whole[at] / q.told[at]
			}
		}
	}
	for f, fam := range e.n.families {
		read(p.both, fam.seed, fam.pollen)
		p.tell(int32(f))
	}
	for i := range int32(e.n.nodes) {
		if p.chances(p.row(out, i), i); e.n.raises[i] != nil {
			read(p.row(out, i), i)
		}
	}
	return true
}
