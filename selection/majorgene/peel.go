package majorgene

import (
	"math"
	"slices"

	"hueward/selection/genetics"
)

// family are all offspring of two plants, or the selfs of one.
type family struct {
	seed, pollen int32 // nodes; the same one of selfs
	offspring    []int32
}

// network is a pedigree as families. Its nodes are the pedigree's places less the groups, and
// after them a plant for each parent that is not known.
type network struct {
	nodes    int
	families []family  // parents' families first
	born     []int32   // of each node, the family it is from; -1: a founder
	raises   [][]int32 // of each node, the families it is a parent of
	group    []int32   // of each founder, its group
	inbred   []float64 // of each group, its founders' inbreeding
	loops    bool      // there is more than one way between two families
	unknown  bool      // a plant has one parent that is not known
}

func newNetwork(ped *genetics.Pedigree) *network {
	groups := int32(ped.Groups())
	n := &network{nodes: ped.Len() - int(groups)}
	for range n.nodes {
		n.born, n.group = append(n.born, -1), append(n.group, -1)
	}
	for g := range groups {
		n.inbred = append(n.inbred, 0)
		for at := groups; int(at) < ped.Len(); at++ {
			if s, _ := ped.Parents(at); s == g && ped.Founder(at) {
				n.inbred[g] = ped.Inbreeding(at)
				break
			}
		}
	}
	known := map[[2]int32]int32{}
	for at := groups; int(at) < ped.Len(); at++ {
		i := at - groups
		s, p := ped.Parents(at)
		if ped.Founder(at) {
			n.group[i] = s
			continue
		}
		for _, parent := range [2]*int32{&s, &p} {
			if *parent < groups { // a plant of the group that nobody knows
				n.born, n.group = append(n.born, -1), append(n.group, *parent)
				*parent = int32(n.nodes) + groups
				n.nodes++
				n.unknown = true
			}
		}
		key := [2]int32{min(s, p) - groups, max(s, p) - groups}
		f, ok := known[key]
		if !ok {
			f = int32(len(n.families))
			known[key] = f
			n.families = append(n.families, family{seed: key[0], pollen: key[1]})
		}
		n.families[f].offspring = append(n.families[f].offspring, i)
		n.born[i] = f
	}
	// Parents' families first: by the later parent that is in the pedigree.
	order := make([]int32, len(n.families))
	key := make([]int32, len(n.families))
	for f := range order {
		order[f] = int32(f)
		for _, o := range n.families[f].offspring {
			s, p := ped.Parents(o + groups)
			key[f] = max(key[f], s, p)
		}
	}
	slices.SortStableFunc(order, func(a, b int32) int { return int(key[a] - key[b]) })
	sorted := make([]family, len(order))
	for k, f := range order {
		sorted[k] = n.families[f]
		for _, o := range sorted[k].offspring {
			n.born[o] = int32(k)
		}
	}
	n.families = sorted
	n.raises = make([][]int32, n.nodes)
	for f := range n.families {
		fam := &n.families[f]
		n.raises[fam.seed] = append(n.raises[fam.seed], int32(f))
		if fam.pollen != fam.seed {
			n.raises[fam.pollen] = append(n.raises[fam.pollen], int32(f))
		}
	}
	n.loops = n.looped()
	return n
}

// looped reports whether there is more than one way between two families.
func (n *network) looped() bool {
	up := make([]int32, n.nodes) // plants that hang together lead to the same one
	for i := range up {
		up[i] = int32(i)
	}
	var top func(i int32) int32
	top = func(i int32) int32 {
		if up[i] != i {
			up[i] = top(up[i])
		}
		return up[i]
	}
	for _, f := range n.families {
		for _, i := range append([]int32{f.pollen}, f.offspring...) {
			a, b := top(f.seed), top(i)
			if a == b && i != f.seed {
				return true
			}
			up[a] = b
		}
	}
	return false
}

// peeling works out genotype chances from what is seen of each node, family by family, up and
// down the pedigree until they settle.
//
// Source: Elston and Stewart 1971, Hum. Hered. 21:523; where there are loops the same steps
// are repeated: van Arendonk, Smith, Kennedy 1989, Theor. Appl. Genet. 78:735.
// The likelihood is then Bethe's, which is exact without loops: Yedidia, Freeman, Weiss
// 2005, IEEE Trans. Inf. Theory 51:2282.
type peeling struct {
	n     *network
	s     *combinations
	local []float64    // nodes × genotypes: what is seen, and of founders the prior
	ahead []float64    // nodes × genotypes: what its family says of each node; of founders 1
	back  [2][]float64 // families × genotypes: logarithm of what a family says of its parents
	sum   []float64    // nodes × genotypes: of all a node's families
	like  [][]float64  // of each family: offspring × genotypes × genotypes of its parents
	seen  [][]float64  // of each family: genotypes × genotypes
	scale []float64    // of each family: the logarithm that was taken off seen
	both  []float64
	from  [2][27]float64
	half  []float64
	moved float64
}

func newPeeling(n *network, s *combinations) *peeling {
	k := s.genotypes
	p := &peeling{n: n, s: s, local: make([]float64, n.nodes*k), ahead: make([]float64, n.nodes*k), sum: make([]float64, n.nodes*k),
		both: make([]float64, k*k), half: make([]float64, k*s.gamete), scale: make([]float64, len(n.families))}
	for f := range n.families {
		p.like = append(p.like, make([]float64, len(n.families[f].offspring)*k*k))
		p.seen = append(p.seen, make([]float64, k*k))
	}
	p.back[0], p.back[1] = make([]float64, len(n.families)*k), make([]float64, len(n.families)*k)
	for i := range p.local {
		p.local[i], p.ahead[i] = 1, 1/float64(k)
		if n.born[i/k] < 0 {
			p.ahead[i] = 1
		}
	}
	return p
}

func (p *peeling) row(x []float64, i int32) []float64 {
	k := p.s.genotypes
	return x[int(i)*k : int(i)*k+k : int(i)*k+k]
}

// outside is what is known of a parent of family f from elsewhere; part is which parent.
func (p *peeling) outside(out []float64, i, f int32, part int) {
	local, ahead, sum, back := p.row(p.local, i), p.row(p.ahead, i), p.row(p.sum, i), p.row(p.back[part], f)
	top := math.Inf(-1)
	for g := range out {
		top = max(top, sum[g]-back[g])
	}
	for g := range out {
		out[g] = local[g] * ahead[g] * math.Exp(sum[g]-back[g]-top)
	}
	normalise(out)
}

// below is what is known of an offspring but from its family, and its logarithm's scale.
func (p *peeling) below(out []float64, i int32) {
	local, sum := p.row(p.local, i), p.row(p.sum, i)
	top := slices.Max(sum)
	for g := range out {
		out[g] = local[g] * math.Exp(sum[g]-top)
	}
	normalise(out)
}

// gather fills in like and seen for family f: by its parents' genotypes what each offspring
// says, and what all say. Of selfs only the diagonal counts. It stands as long as nothing moves
// below the family: going up it is worked out, going down it is used again. Last: those alone that have no offspring.
func (p *peeling) gather(f int32, last bool) {
	fam, k, seen := &p.n.families[f], p.s.genotypes, p.seen[f]
	for c := range seen {
		seen[c] = 1
	}
	p.scale[f] = 0
	var own [27]float64
	for i, o := range fam.offspring {
		if last && p.n.raises[o] != nil {
			continue
		}
		p.below(own[:k], o)
		like := p.like[f][i*k*k : (i+1)*k*k]
		p.parents(like, own[:k], fam.seed == fam.pollen)
		top := 0.0
		for c, v := range like {
			seen[c] *= v
			top = max(top, seen[c])
		}
		for c := range seen {
			seen[c] /= top
		}
		p.scale[f] += math.Log(top)
	}
}

// meet fills in both for family f: what its offspring say, as gathered, with what is known of the
// parents from elsewhere. It returns the logarithm of the sum.
func (p *peeling) meet(f int32) float64 {
	fam, k := &p.n.families[f], p.s.genotypes
	self := fam.seed == fam.pollen
	x, y := p.from[0][:k], p.from[1][:k]
	p.outside(x, fam.seed, f, 0)
	copy(p.both, p.seen[f])
	if self {
		for a := range k {
			for b := range k {
				if a != b {
					p.both[a*k+b] = 0
				}
			}
			p.both[a*k+a] *= x[a]
		}
	} else {
		p.outside(y, fam.pollen, f, 1)
		for a := range k {
			for b := range k {
				p.both[a*k+b] *= x[a] * y[b]
			}
		}
	}
	sum := 0.0
	for _, v := range p.both {
		sum += v
	}
	normalise(p.both)
	return p.scale[f] + math.Log(max(sum, 1e-300))
}

// parents is the chance of what is seen of an offspring by its parents' genotypes.
func (p *peeling) parents(like, own []float64, self bool) {
	k, h := p.s.genotypes, p.s.gamete
	for a := range k { // half: by the seed parent's genotype and the pollen parent's gamete
		for j := range h {
			v := 0.0
			for _, i := range p.s.some[a] {
				v += p.s.gives[a*h+i] * own[p.s.union[i*h+j]]
			}
			p.half[a*h+j] = v
		}
	}
	for a := range k {
		for b := range k {
			if self && a != b {
				like[a*k+b] = 1
				continue
			}
			v := 0.0
			for _, j := range p.s.some[b] {
				v += p.s.gives[b*h+j] * p.half[a*h+j]
			}
			like[a*k+b] = max(v, 1e-200)
		}
	}
}

// up tells a family's parents what its offspring say.
func (p *peeling) up(f int32) {
	p.gather(f, false)
	p.meet(f)
	fam, k, seen := &p.n.families[f], p.s.genotypes, p.seen[f]
	var m [2][27]float64
	for a := range k {
		if fam.seed == fam.pollen {
			m[0][a] = seen[a*k+a]
			continue
		}
		for b := range k {
			m[0][a] += p.from[1][b] * seen[a*k+b]
			m[1][b] += p.from[0][a] * seen[a*k+b]
		}
	}
	for part, i := range [2]int32{fam.seed, fam.pollen} {
		if part == 1 && fam.seed == fam.pollen {
			break
		}
		back, sum := p.row(p.back[part], f), p.row(p.sum, i)
		top := slices.Max(m[part][:k])
		for g := range k {
			v := math.Log(max(m[part][g]/top, 1e-300))
			sum[g] += v - back[g]
			back[g] = v
		}
	}
}

// tell tells a family's offspring what parents and sibs say, of which both holds what is known of the parents with the offspring.
func (p *peeling) tell(f int32) {
	fam, k, h := &p.n.families[f], p.s.genotypes, p.s.gamete
	var out [27]float64
	var pair [64]float64
	for i, o := range fam.offspring {
		like := p.like[f][i*k*k : (i+1)*k*k]
		clear(pair[:h*h])
		for a := range k {
			var row [8]float64
			any := false
			for b := range k {
				v := p.both[a*k+b]
				if v == 0 {
					continue
				}
				any = true
				v /= like[a*k+b]
				for _, j := range p.s.some[b] {
					row[j] += v * p.s.gives[b*h+j]
				}
			}
			if !any {
				continue
			}
			for _, i := range p.s.some[a] {
				t := p.s.gives[a*h+i]
				for j := range h {
					pair[i*h+j] += t * row[j]
				}
			}
		}
		clear(out[:k])
		for c, v := range pair[:h*h] {
			out[p.s.union[c]] += v
		}
		normalise(out[:k])
		ahead := p.row(p.ahead, o)
		for g := range k {
			p.moved = max(p.moved, math.Abs(ahead[g]-out[g]))
			ahead[g] = out[g]
		}
	}
}

// run goes up and down until nothing moves by more than tolerance, at most so many times.
func (p *peeling) run(most int, tolerance float64) (settled bool) {
	for range most {
		p.moved = 0
		for f := len(p.n.families) - 1; f >= 0; f-- {
			p.up(int32(f))
		}
		for f := range p.n.families {
			p.meet(int32(f))
			p.tell(int32(f))
		}
		if p.moved <= tolerance {
			return true
		}
	}
	return false
}

// chances are the genotype chances of node i.
func (p *peeling) chances(out []float64, i int32) {
	local, ahead, sum := p.row(p.local, i), p.row(p.ahead, i), p.row(p.sum, i)
	top := slices.Max(sum)
	for g := range out {
		out[g] = local[g] * ahead[g] * math.Exp(sum[g]-top)
	}
	normalise(out)
}

// logLik is the logarithm of the chance of all that is seen.
func (p *peeling) logLik() float64 {
	k, l := p.s.genotypes, 0.0
	var x, m [27]float64
	log := func(sum float64) float64 { return math.Log(max(sum, 1e-300)) }
	for i := range int32(p.n.nodes) {
		local, ahead, sum := p.row(p.local, i), p.row(p.ahead, i), p.row(p.sum, i)
		top := slices.Max(sum)
		z := 0.0
		for g := range k {
			z += local[g] * ahead[g] * math.Exp(sum[g]-top)
		}
		l += log(z) + top
		if p.n.born[i] >= 0 {
			p.below(m[:k], i)
			z = 0
			for g := range k {
				z += m[g] * ahead[g]
			}
			l -= log(z)
		}
	}
	for f := range int32(len(p.n.families)) {
		p.gather(f, false)
		l += p.meet(f)
		fam := &p.n.families[f]
		for part, i := range [2]int32{fam.seed, fam.pollen} {
			if part == 1 && fam.seed == fam.pollen {
				break
			}
			p.outside(x[:k], i, f, part)
			back := p.row(p.back[part], f)
			z := 0.0
			for g := range k {
				z += x[g] * math.Exp(back[g])
			}
			l -= log(z)
		}
	}
	return l
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
