package genetics

import (
	"maps"
	"slices"
)

// inbreed fills in the inbreeding and the Mendelian sampling variance of every plant, in order. Full sibs share both. It
// works in batches of plants whose parents all stand before the batch, such as those of a season.
//
// Source: Colleau 2002, Genet. Sel. Evol. 34:409, once for each parent, over all plants with offspring; where the pairs of
// parents have few parents in common, Meuwissen and Luo 1992, Genet. Sel. Evol. 24:305, once for each pair.
func (p *Pedigree) inbreed() {
	known := map[[2]int32]float64{}
	up := p.walk()
	parents := p.parents()
	for i := int32(p.groups); int(i) < p.Len(); {
		end, pairs := i, 0
		mates := map[int32][]int32{}
		for ; int(end) < p.Len() && max(p.seed[end], p.pollen[end]) < i; end++ {
			s, q := min(p.seed[end], p.pollen[end]), max(p.seed[end], p.pollen[end])
			if _, ok := known[[2]int32{s, q}]; s != Unknown && !ok {
				known[[2]int32{s, q}] = 0
				mates[s] = append(mates[s], q)
				pairs++
			}
		}
		older, _ := slices.BinarySearch(parents, i)
		if pairs >= 2*len(mates) {
			p.coancestriesOf(parents[:older], mates, known)
		} else {
			for s, of := range mates {
				for _, q := range of {
					known[[2]int32{s, q}] = up.coancestry(s, q)
				}
			}
		}
		for ; i < end; i++ {
			s, q := min(p.seed[i], p.pollen[i]), max(p.seed[i], p.pollen[i])
			p.f = append(p.f, known[[2]int32{s, q}])
			p.d = append(p.d, p.mendelian(i))
		}
	}
}

// parents returns the places of all plants and groups with offspring, ascending.
func (p *Pedigree) parents() []int32 {
	is := make([]bool, p.Len())
	for i := range p.seed {
		for _, parent := range [2]int32{p.seed[i], p.pollen[i]} {
			if parent != Unknown {
				is[parent] = true
			}
		}
	}
	var out []int32
	for i, yes := range is {
		if yes {
			out = append(out, int32(i))
		}
	}
	return out
}

// coancestriesOf fills in known with the coancestry of parents and their mates. older are the places of all plants with
// offspring that stand before the batch, ascending.
func (p *Pedigree) coancestriesOf(older []int32, mates map[int32][]int32, known map[[2]int32]float64) {
	rows := slices.Sorted(maps.Keys(mates))
	found := make([][]float64, len(rows))
	const lots = 16
	SideBySide(lots, func(lot int) {
		v := make([]float64, p.Len())
		for r := lot; r < len(rows); r += lots {
			at, _ := slices.BinarySearch(older, rows[r])
			v[rows[r]] = 1
			for ; at >= 0; at-- { // up: the shares l(x,k), as in Coancestries
				k := older[at]
				if v[k] == 0 {
					continue
				}
				for _, parent := range [2]int32{p.seed[k], p.pollen[k]} {
					if parent != Unknown {
						v[parent] += v[k] / 2
					}
				}
			}
			for _, k := range older { // down: the relationships
				x := v[k] * p.d[k]
				for _, parent := range [2]int32{p.seed[k], p.pollen[k]} {
					if parent != Unknown {
						x += v[parent] / 2
					}
				}
				v[k] = x
			}
			for _, q := range mates[rows[r]] {
				found[r] = append(found[r], v[q]/2)
			}
			for _, k := range older {
				v[k] = 0
			}
		}
	})
	for r, s := range rows {
		for m, q := range mates[s] {
			known[[2]int32{s, q}] = found[r][m]
		}
	}
}

// mendelian returns the Mendelian sampling variance of plant i, whose parents'
// inbreeding is known. The parent of a self counts twice.
//
// Source: Henderson 1976, Biometrics 32:69; Quaas 1976, Biometrics 32:949.
func (p *Pedigree) mendelian(i int32) float64 {
	d := 1.0
	for _, parent := range [2]int32{p.seed[i], p.pollen[i]} {
		if parent != Unknown {
			d -= (1 + p.f[parent]) / 4
		}
	}
	return max(d, 0)
}

// Coancestry returns the coancestry (kinship) of two plants: the probability that alleles drawn from each of them at one
// locus are identical by descent, which is the inbreeding of their offspring. That of a plant with itself is (1+F)/2, the
// inbreeding of its selfs. See [Pedigree.Coancestries] for many plants at once.
//
// Source: Malécot 1948, after Falconer and Mackay 1996, chapter 5.
func (p *Pedigree) Coancestry(x, y int32) float64 { return p.walk().coancestry(x, y) }

// walk goes up a pedigree from two plants at once. It can be reused, but not shared between goroutines.
type walk struct {
	p     *Pedigree
	share [2][]float64 // share of each place's Mendelian sampling term in the two plants' breeding values
	queue []int32      // heap of the places with a share, youngest on top
}

func (p *Pedigree) walk() *walk {
	return &walk{p: p, share: [2][]float64{make([]float64, p.Len()), make([]float64, p.Len())}}
}

// coancestry returns half the additive relationship
//
//	a(x,y) = Σ l(x,k) l(y,k) d(k)
//
// over all ancestors k, x and y included. l(x,k) is the share of k's Mendelian
// sampling term in x: each plant passes half of it on to each offspring.
func (w *walk) coancestry(x, y int32) float64 {
	w.add(x, 1, 0)
	w.add(y, 0, 1)
	sum := 0.0
	for len(w.queue) > 0 {
		k := w.pop()
		lx, ly := w.share[0][k], w.share[1][k]
		w.share[0][k], w.share[1][k] = 0, 0
		sum += lx * ly * w.p.d[k]
		for _, parent := range [2]int32{w.p.seed[k], w.p.pollen[k]} {
			if parent != Unknown {
				w.add(parent, lx/2, ly/2)
			}
		}
	}
	return sum / 2
}

func (w *walk) add(at int32, x, y float64) {
	if w.share[0][at] == 0 && w.share[1][at] == 0 {
		q := append(w.queue, at)
		for i := len(q) - 1; i > 0; {
			up := (i - 1) / 2
			if q[up] >= q[i] {
				break
			}
			q[up], q[i] = q[i], q[up]
			i = up
		}
		w.queue = q
	}
	w.share[0][at] += x
	w.share[1][at] += y
}

func (w *walk) pop() int32 {
	q := w.queue
	top, last := q[0], len(q)-1
	q[0] = q[last]
	q = q[:last]
	for i := 0; ; {
		down := 2*i + 1
		if down+1 < last && q[down+1] > q[down] {
			down++
		}
		if down >= last || q[i] >= q[down] {
			break
		}
		q[i], q[down] = q[down], q[i]
		i = down
	}
	w.queue = q
	return top
}

// Coancestries returns the coancestry of each plant of rows with each plant of columns: rows × columns.
// Each row takes two passes through the pedigree.
//
// Source: Colleau 2002, Genet. Sel. Evol. 34:409.
func (p *Pedigree) Coancestries(rows, columns []int32) [][]float64 {
	out := make([][]float64, len(rows))
	v := make([]float64, p.Len())
	for r, x := range rows {
		clear(v)
		v[x] = 1
		for k := len(v) - 1; k >= 0; k-- { // up: the shares l(x,k)
			if v[k] == 0 {
				continue
			}
			for _, parent := range [2]int32{p.seed[k], p.pollen[k]} {
				if parent != Unknown {
					v[parent] += v[k] / 2
				}
			}
		}
		for k := range v { // down: the relationships
			v[k] *= p.d[k]
			for _, parent := range [2]int32{p.seed[k], p.pollen[k]} {
				if parent != Unknown {
					v[k] += v[parent] / 2
				}
			}
		}
		out[r] = make([]float64, len(columns))
		for c, y := range columns {
			out[r][c] = v[y] / 2
		}
	}
	return out
}
