package majorgene

import (
	"math"
	"slices"

	"hueward/selection/genetics"
)

// family is all offspring of two plants, or the selfs of one.
type family struct {
	seed, pollen int32 // nodes; the same node for selfs
	offspring    []int32
}

// network is a pedigree as families. Its nodes are the pedigree's plants (places less the groups), and
// after these a node for each unknown parent beside a known one.
type network struct {
	nodes    int       // number of nodes
	families []family  // parents' families first
	born     []int32   // the family that the node is from; -1: it is a founder
	raises   [][]int32 // the families that the node is a parent of
	group    []int32   // a founder's group; -1: no founder
	inbred   []float64 // each group's inbreeding of its founders
	loops    bool      // some families are connected in more than one way
	unknown  bool      // some plant has one unknown parent
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
			if *parent < groups { // an unknown plant of the group
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

// looped reports whether some families are connected in more than one way, by union-find.
func (n *network) looped() bool {
	up := make([]int32, n.nodes) // connected plants lead up to the same one
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

// peeling works out genotype chances from the likelihood of each node's colours, family by family, up and
// down the pedigree until they settle: anterior and posterior messages, in the terms of peeling.
//
// Source: Elston and Stewart 1971, Hum. Hered. 21:523; where there are loops the same steps
// are iterated: van Arendonk, Smith, Kennedy 1989, Theor. Appl. Genet. 78:735.
// The likelihood is then Bethe's, which is exact without loops: Yedidia, Freeman, Weiss
// 2005, IEEE Trans. Inf. Theory 51:2282.
type peeling struct {
	n     *network
	s     *combinations
	local []float64      // nodes × genotypes: likelihood of the node's colours; for founders times the prior
	ahead []float64      // nodes × genotypes: anterior chances, from the node's parents and sibs; 1 for founders
	back  [2][]float64   // families × genotypes: log of the posterior message of a family to each of its parents
	sum   []float64      // nodes × genotypes: sum of the messages of the node's families in back
	like  [][]float64    // for each family: offspring × mating types of its parents
	seen  [][]float64    // for each family: product of like over its offspring, by mating type
	scale []float64      // for each family: the logarithm of the factor taken out of seen
	both  []float64      // genotypes × genotypes: joint chances of a family's parents
	kinds [2][]float64   // scratch memory of tell
	from  [2][27]float64 // what is known of a family's parents from elsewhere
	moved float64        // largest change of ahead
}

func newPeeling(n *network, s *combinations) *peeling {
	k := s.genotypes
	p := &peeling{n: n, s: s, local: make([]float64, n.nodes*k), ahead: make([]float64, n.nodes*k), sum: make([]float64, n.nodes*k),
		both: make([]float64, k*k), scale: make([]float64, len(n.families))}
	for f := range n.families {
		p.like = append(p.like, make([]float64, len(n.families[f].offspring)*s.matings))
		p.seen = append(p.seen, make([]float64, s.matings))
	}
	p.kinds[0], p.kinds[1] = make([]float64, s.matings), make([]float64, s.matings)
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

// outside fills in the chances of parent i of family f from everything but that family; part is 0 or 1, which parent it is.
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

// below fills in the likelihood of node i's genotypes from its own colours and its offspring.
func (p *peeling) below(out []float64, i int32) {
	local := p.row(p.local, i)
	if p.n.raises[i] == nil {
		copy(out, local)
	} else {
		sum := p.row(p.sum, i)
		top := slices.Max(sum)
		for g := range out {
			out[g] = local[g] * math.Exp(sum[g]-top)
		}
	}
	normalise(out)
}

// gather fills in like, seen and scale for family f. They hold as long as nothing changes below the
// family: they are worked out on the way up, and used again on the way down. last: from offspring without offspring only.
func (p *peeling) gather(f int32, last bool) {
	fam, k, n, seen := &p.n.families[f], p.s.genotypes, p.s.matings, p.seen[f]
	for c := range seen {
		seen[c] = 1
	}
	p.scale[f] = 0
	var own [MostGenotypes]float64
	for i, o := range fam.offspring {
		if last && p.n.raises[o] != nil {
			continue
		}
		p.below(own[:k], o)
		like := p.like[f][i*n : (i+1)*n]
		p.s.ofMatings(like, own[:k])
		top := 0.0
		for c, v := range like {
			like[c] = max(v, 1e-200)
			seen[c] *= like[c]
			top = max(top, seen[c])
		}
		if top < 1e-20 || i == len(fam.offspring)-1 {
			for c := range seen {
				seen[c] /= top
			}
			p.scale[f] += math.Log(top)
		}
	}
}

// meet fills in both for family f: seen times what is known of the parents from elsewhere. It returns the
// logarithm of the sum.
func (p *peeling) meet(f int32) float64 {
	fam, k := &p.n.families[f], p.s.genotypes
	self := fam.seed == fam.pollen
	x, y := p.from[0][:k], p.from[1][:k]
	p.outside(x, fam.seed, f, 0)
	seen := p.seen[f]
	if self {
		clear(p.both)
		for a, v := range x {
			p.both[a*k+a] = v * seen[p.s.mating[a*k+a]]
		}
	} else {
		p.outside(y, fam.pollen, f, 1)
		for a, v := range x {
			both := p.both[a*k : a*k+k]
			for b, u := range p.s.mating[a*k : a*k+k] {
				both[b] = seen[u] * (v * y[b])
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

// up updates the messages of family f to its parents.
func (p *peeling) up(f int32) {
	p.gather(f, false)
	p.meet(f)
	fam, k, seen := &p.n.families[f], p.s.genotypes, p.seen[f]
	var m [2][27]float64
	for a := range k {
		kinds := p.s.mating[a*k : a*k+k]
		if fam.seed == fam.pollen {
			m[0][a] = seen[kinds[a]]
			continue
		}
		for b, u := range kinds {
			m[0][a] += p.from[1][b] * seen[u]
			m[1][b] += p.from[0][a] * seen[u]
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

// tell updates ahead for the offspring of family f, from p.both.
func (p *peeling) tell(f int32) {
	fam, k, n := &p.n.families[f], p.s.genotypes, p.s.matings
	kinds, of := p.kinds[0], p.kinds[1]
	clear(kinds)
	var out [MostGenotypes]float64
	for c, u := range p.s.mating {
		kinds[u] += p.both[c]
	}
	for i, o := range fam.offspring {
		for u, like := range p.like[f][i*n : (i+1)*n] {
			of[u] = kinds[u] / like
		}
		p.s.toOffspring(out[:k], of)
		normalise(out[:k])
		ahead := p.row(p.ahead, o)
		for g := range k {
			p.moved = max(p.moved, math.Abs(ahead[g]-out[g]))
			ahead[g] = out[g]
		}
	}
}

// run goes up and down the pedigree until no anterior chance changes by more than tolerance, at most most times.
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

// chances fills in the genotype chances of node i.
func (p *peeling) chances(out []float64, i int32) {
	local, ahead := p.row(p.local, i), p.row(p.ahead, i)
	if p.n.raises[i] == nil {
		for g := range out {
			out[g] = local[g] * ahead[g]
		}
	} else {
		sum := p.row(p.sum, i)
		top := slices.Max(sum)
		for g := range out {
			out[g] = local[g] * ahead[g] * math.Exp(sum[g]-top)
		}
	}
	normalise(out)
}

// logLik returns the log likelihood of all colours, but for the scale that see took out.
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

// reset clears all messages.
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
