package genetics

import (
	"errors"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// errSingular is returned for equations without a unique solution.
var errSingular = errors.New("the equations have no single answer")

// graph says which nodes of a symmetric matrix of t × t blocks are neighbours: those with a block that is not zero.
type graph struct {
	beside [][]int32 // each node's neighbours, unordered
	last   []bool    // nodes that neighbour almost all others, such as a season: eliminated last
}

func newGraph(nodes int) *graph {
	return &graph{beside: make([][]int32, nodes), last: make([]bool, nodes)}
}

func (g *graph) join(i, j int32) {
	if i != j {
		g.beside[i] = append(g.beside[i], j)
		g.beside[j] = append(g.beside[j], i)
	}
}

// plan is an order of elimination, with the blocks of the factor (its symbolic factorisation). The nodes that are not
// eliminated one by one form a dense core.
type plan struct {
	order []int32   // nodes eliminated one by one
	turn  []int32   // each node's place in order; -1: it is in the core
	rows  [][]int32 // each eliminated node's later neighbours, ascending, fill-in included
	core  []int32   // each node's place in the core; -1: it is eliminated
	size  int       // number of nodes in the core
}

// newPlan eliminates the node with the fewest neighbours next, until the rest is nearly dense; that becomes the core.
// Plants without offspring come first; what remains is about as many nodes as there are parents.
//
// Source: minimum degree, Tinney and Walker 1967, Proc. IEEE 55:1801.
func newPlan(g *graph) *plan { return planWithin(g, 1, math.Inf(1)) }

// planWithin is newPlan for t traits; nil: factoring would take more than most multiplications.
func planWithin(g *graph, t int, most float64) *plan {
	n := len(g.beside)
	p := &plan{turn: make([]int32, n), rows: make([][]int32, n), core: make([]int32, n)}
	near, late := make([][]int32, n), make([][]int32, n) // neighbours; those with last set are in late
	degree := make([]int, n)                             // number of near that are not eliminated
	left := 0
	for i := range n {
		p.turn[i], p.core[i] = -1, -1
		slices.Sort(g.beside[i])
		for _, j := range slices.Compact(g.beside[i]) {
			if g.last[j] {
				late[i] = append(late[i], j)
			} else {
				near[i] = append(near[i], j)
			}
		}
		if degree[i] = len(near[i]); !g.last[i] {
			left++
		}
	}
	var buckets [][]int32
	put := func(i int32) {
		for len(buckets) <= degree[i] {
			buckets = append(buckets, nil)
		}
		buckets[degree[i]] = append(buckets[degree[i]], i)
	}
	gone := func(i int32) bool { return p.turn[i] >= 0 }
	for i := range n {
		if !g.last[i] {
			put(int32(i))
		}
	}
	var room []int32
	for d := 0; d < len(buckets) && left > 0; {
		if len(buckets[d]) == 0 {
			d++
			continue
		}
		v := buckets[d][len(buckets[d])-1]
		buckets[d] = buckets[d][:len(buckets[d])-1]
		if gone(v) || degree[v] != d { // eliminated, or moved to another bucket
			continue
		}
		if d > 8 && 2*d > left {
			break
		}
		p.turn[v] = int32(len(p.order))
		p.order = append(p.order, v)
		left--
		near[v] = slices.DeleteFunc(near[v], gone)
		p.rows[v] = slices.Concat(near[v], late[v])
		if most -= nodeWork(len(p.rows[v]), t); most < 0 {
			return nil
		}
		slices.Sort(p.rows[v])
		for _, u := range near[v] {
			degree[u]--
			fresh := slices.ContainsFunc(near[v], func(w int32) bool { return w != u && !holds(near[u], w) })
			if fresh || len(near[u]) > 2*degree[u]+8 { // saves time: most offspring add no neighbour to their parents
				room = union(room[:0], slices.DeleteFunc(near[u], gone), near[v], u, v)
				near[u] = append(near[u][:0], room...)
				degree[u] = len(near[u])
			}
			if slices.ContainsFunc(late[v], func(w int32) bool { return !holds(late[u], w) }) {
				room = union(room[:0], late[u], late[v], -1, -1)
				late[u] = append(late[u][:0], room...)
			}
			put(u)
			d = min(d, degree[u])
		}
		near[v], late[v] = nil, nil
	}
	for i := range n {
		if p.turn[i] < 0 {
			p.core[i] = int32(p.size)
			p.size++
		}
	}
	if math.Pow(float64(p.size*t), 3) > most {
		return nil
	}
	return p
}

// nodeWork returns the approximate cost, in multiplications, of a node with that many later neighbours.
func nodeWork(rows, t int) float64 {
	d := float64(rows)
	return 10 * d * d * float64(t*t*t) // 10: a multiplication in small blocks takes longer than one in the core
}

// work returns the approximate cost, in multiplications, of factoring and inverting.
func (p *plan) work(t int) float64 {
	sum := math.Pow(float64(p.size*t), 3)
	for _, rows := range p.rows {
		sum += nodeWork(len(rows), t)
	}
	return sum
}

// holds reports whether an ascending list has v.
func holds(list []int32, v int32) bool {
	_, ok := slices.BinarySearch(list, v)
	return ok
}

// union appends the union of two ascending lists, in order, without the nodes a and b.
func union(dst, x, y []int32, a, b int32) []int32 {
	for len(x) > 0 || len(y) > 0 {
		var v int32
		switch {
		case len(y) == 0 || len(x) > 0 && x[0] < y[0]:
			v, x = x[0], x[1:]
		case len(x) == 0 || y[0] < x[0]:
			v, y = y[0], y[1:]
		default:
			v, x, y = x[0], x[1:], y[1:]
		}
		if v != a && v != b {
			dst = append(dst, v)
		}
	}
	return dst
}

// factor is a symmetric positive definite matrix of t × t blocks, and after factorize its
// factorisation L D Lᵀ: block by block for the eliminated nodes, and the core as one dense matrix.
type factor struct {
	*plan
	t      int
	diag   [][]float64 // each eliminated node's diagonal block; factored: the inverse of D's
	below  [][]float64 // each eliminated node's blocks, one for each of its rows; factored: L's
	dense  *mat.SymDense
	chol   mat.Cholesky
	logDet float64
}

func newFactor(p *plan, t int) *factor {
	f := &factor{plan: p, t: t, diag: make([][]float64, len(p.turn)), below: make([][]float64, len(p.turn))}
	blocks := 0
	for _, v := range p.order {
		blocks += 1 + len(p.rows[v])
	}
	all := make([]float64, blocks*t*t) // one allocation takes a third of the time of many
	for _, v := range p.order {
		d, b := t*t, (1+len(p.rows[v]))*t*t
		f.diag[v], f.below[v], all = all[:d:d], all[d:b:b], all[b:]
	}
	if p.size > 0 {
		f.dense = mat.NewSymDense(p.size*t, nil)
	}
	return f
}

// add adds s·x to the block of rows i and columns j. For i ≠ j, only one of (i, j) and (j, i) must be added.
func (f *factor) add(i, j int32, s float64, x []float64) {
	t := f.t
	if f.core[i] >= 0 && f.core[j] >= 0 {
		r, c := int(f.core[i])*t, int(f.core[j])*t
		for k := range t {
			for l := range t {
				if i != j || l >= k {
					f.dense.SetSym(r+k, c+l, f.dense.At(r+k, c+l)+s*x[k*t+l])
				}
			}
		}
		return
	}
	if i == j {
		addTo(f.diag[i], s, x)
		return
	}
	if dst, flip := f.at(i, j); !flip {
		addTo(dst, s, x)
	} else {
		for k := range t {
			for l := range t {
				dst[l*t+k] += s * x[k*t+l]
			}
		}
	}
}

// at returns the block of two nodes that are not both in the core; flip says that it is stored transposed, with rows j.
func (f *factor) at(i, j int32) (b []float64, flip bool) {
	if f.turn[i] >= 0 && (f.turn[j] < 0 || f.turn[i] < f.turn[j]) {
		i, j, flip = j, i, true
	}
	at, _ := slices.BinarySearch(f.rows[j], i) // i is the later node, so it is among j's rows
	n := f.t * f.t
	return f.below[j][at*n : at*n+n], flip
}

// factorize factors the matrix. It must be called once, after everything was added.
func (f *factor) factorize() error {
	t, n := f.t, f.t*f.t
	var was []float64
	for _, v := range f.order {
		inv, logDet, ok := invert(f.diag[v], t)
		if !ok {
			return errSingular
		}
		f.logDet += logDet
		now := f.below[v]
		was = append(was[:0], now...)
		for r := range f.rows[v] {
			productTo(now[r*n:r*n+n], was[r*n:r*n+n], inv, t)
		}
		f.spread(f.rows[v], now, was)
		f.diag[v] = inv
	}
	if f.dense != nil {
		if !f.chol.Factorize(f.dense) {
			return errSingular
		}
		f.logDet += f.chol.LogDet()
	}
	return nil
}

// spread subtracts x·yᵀ from the blocks of all pairs of nodes, ascending; x and y have a block for each node.
func (f *factor) spread(nodes []int32, x, y []float64) {
	t, n := f.t, f.t*f.t
	for a, i := range nodes {
		if f.core[i] >= 0 {
			f.spreadCore(nodes[:a+1], x[a*n:a*n+n], y)
			continue
		}
		subProduct(f.diag[i], x[a*n:a*n+n], y[a*n:a*n+n], t)
		rows, at := f.rows[i], 0
		for b, j := range nodes {
			if j == i || f.turn[j] >= 0 && f.turn[j] < f.turn[i] {
				continue // j stores their block
			}
			for rows[at] < j {
				at++
			}
			subProduct(f.below[i][at*n:at*n+n], x[b*n:b*n+n], y[a*n:a*n+n], t)
		}
	}
}

// spreadCore subtracts x·yᵀ from the core, for x of the last node and y of all nodes.
func (f *factor) spreadCore(nodes []int32, x, y []float64) {
	t, n := f.t, f.t*f.t
	raw := f.dense.RawSymmetric()
	r := int(f.core[nodes[len(nodes)-1]]) * t
	for b, j := range nodes {
		if f.core[j] < 0 {
			continue
		}
		c := int(f.core[j]) * t
		for k := range t {
			for l := range t {
				if r == c && k > l {
					continue // only the upper half is stored
				}
				s := 0.0
				for m := range t {
					s += x[k*t+m] * y[b*n+l*t+m]
				}
				raw.Data[min(r+k, c+l)*raw.Stride+max(r+k, c+l)] -= s
			}
		}
	}
}

// inverse holds those blocks of the inverse that are not zero in the factor: the sparse inverse subset.
//
// Source: Takahashi, Fagan, Chen 1973; Misztal and Perez-Enciso 1993, J. Dairy Sci. 76:1479.
type inverse struct{ *factor }

// invertBlocks returns the sparse inverse subset of f, which must be factored.
func (f *factor) invertBlocks() *inverse {
	z := &inverse{newFactor(f.plan, f.t)}
	t, n := f.t, f.t*f.t
	if f.size > 0 {
		_ = f.chol.InverseTo(z.dense) // as in solve
	}
	for _, v := range slices.Backward(f.order) {
		rows, u := f.rows[v], f.below[v]
		b := z.below[v]
		z.timesMinus(rows, u, b)
		d := z.diag[v]
		copy(d, f.diag[v])
		for r := range rows { // - uᵀ (-Z u)
			for k := range t {
				for l := range t {
					for m := range t {
						d[k*t+l] -= u[r*n+m*t+k] * b[r*n+m*t+l]
					}
				}
			}
		}
	}
	return z
}

// timesMinus subtracts Z·u from b, where Z is the inverse among some nodes, ascending, that are all neighbours in the factor;
// u and b have a block for each node. Each block of Z is read once, for both of its places in the symmetric matrix.
func (z *inverse) timesMinus(nodes []int32, u, b []float64) {
	t, n := z.t, z.t*z.t
	for a, i := range nodes {
		ua, ba := u[a*n:a*n+n], b[a*n:a*n+n]
		if z.core[i] >= 0 {
			z.coreMinus(nodes, a, u, b)
			continue
		}
		subMul(ba, z.diag[i], ua, t)
		rows, at := z.rows[i], 0
		for c, j := range nodes {
			if j == i || z.turn[j] >= 0 && z.turn[j] < z.turn[i] {
				continue // j's turn of the loop reads their block
			}
			for rows[at] < j {
				at++
			}
			x := z.below[i][at*n : at*n+n] // its rows are j's
			subMul(b[c*n:c*n+n], x, ua, t)
			subMulT(ba, x, u[c*n:c*n+n], t)
		}
	}
}

// coreMinus is timesMinus for nodes[a], which is in the core, and those of nodes that are in the core, too.
func (z *inverse) coreMinus(nodes []int32, a int, u, b []float64) {
	t, n := z.t, z.t*z.t
	raw := z.dense.RawSymmetric()
	r := int(z.core[nodes[a]]) * t
	ua, ba := u[a*n:a*n+n], b[a*n:a*n+n]
	x := make([]float64, n)
	for c, j := range nodes {
		q := int(z.core[j]) * t
		if q < r {
			continue // not in the core, or read in the other node's turn
		}
		for k := range t {
			copy(x[k*t:k*t+t], raw.Data[(r+k)*raw.Stride+q:(r+k)*raw.Stride+q+t])
		}
		if q == r {
			for k := range t {
				for l := range k {
					x[k*t+l] = x[l*t+k] // only the upper half is stored
				}
			}
			subMul(ba, x, ua, t)
			continue
		}
		subMul(ba, x, u[c*n:c*n+n], t)
		subMulT(b[c*n:c*n+n], x, ua, t)
	}
}

// block returns the block of rows i and columns j, two neighbours in the factor. It may be a copy.
func (z *inverse) block(i, j int32) []float64 {
	t := z.t
	if z.core[i] >= 0 && z.core[j] >= 0 {
		b := make([]float64, t*t)
		for k := range t {
			for l := range t {
				b[k*t+l] = z.dense.At(int(z.core[i])*t+k, int(z.core[j])*t+l)
			}
		}
		return b
	}
	if i == j {
		return z.diag[i]
	}
	x, flip := z.at(i, j)
	if !flip {
		return x
	}
	b := make([]float64, t*t)
	for k := range t {
		for l := range t {
			b[k*t+l] = x[l*t+k]
		}
	}
	return b
}
