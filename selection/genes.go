package selection

import (
	"slices"

	"hueward/colorimg/cie"
	"hueward/selection/draws"
	"hueward/selection/genetics"
	"hueward/selection/kept"
	"hueward/selection/majorgene"
	"hueward/selection/space"
)

// mostSearched is how many records strong genes are looked for in: of more the newest seasons', and those of their plants'
// ancestors. Of a season of more than mostWithin those of some families, evenly spread, and of each at most a tenth of that: more
// would tell of no other genes.
const (
	mostSearched = 600
	mostWithin   = 1000
)

// mostKept is up to how many plants the genes that were found are kept for the next run: of more the file is large, and its digest
// takes a while.
const mostKept = 20_000

// spread are about most of the records, of families evenly spread over all; all, where there are no more.
func (v *Values) spread(records []Record, most int) (out []Record) {
	if len(records) <= most {
		return records
	}
	all, step := families(records, v.Ped), (len(records)+most-1)/most
	for from := range step {
		for k := from; k < len(all); k += step {
			if out = append(out, all[k][:min(len(all[k]), most/10)]...); len(out) >= most {
				return out
			}
		}
	}
	return out
}

// findGenes looks for strong genes. Where there are some, what they are expected to give each
// plant is taken off its records, which are returned, so that the rest adds up. What is not known of
// it is kept apart, see own.go. Known, unless nil, is taken in place of a search.
func (v *Values) findGenes(plants []genetics.Parents, records []Record, known *majorgene.Model) ([]Record, error) {
	laid := func(ped *genetics.Pedigree, records []Record) *majorgene.Records {
		out := &majorgene.Records{Ped: ped}
		first := firstSeasons(records)
		for _, r := range records {
			if first[r.Plant] != r.Season { // what a plant shows again is no new evidence of its genes
				continue
			}
			at, _ := ped.Place(r.Plant)
			season, _ := slices.BinarySearchFunc(v.Seasons, r.Season, CompareIDs)
			out.Plant, out.Season = append(out.Plant, at), append(out.Season, int32(season))
			out.Y, out.Cov = append(out.Y, space.Of(r.Lab)), append(out.Cov, r.Cov)
		}
		return out
	}
	all := laid(v.Ped, records)
	part := all
	if some := v.spread(newest(records, v.Seasons, mostSearched), mostWithin); len(some) < len(records) {
		some = v.withAncestors(some, records)
		ped, _, err := v.part(plants, some)
		if err != nil {
			return nil, err
		}
		part = laid(ped, some)
	}
	m := known
	if m == nil {
		fit := func() (*majorgene.Model, error) { return majorgene.Fit(all, part), nil }
		if len(plants) > mostKept {
			m, _ = fit()
		} else {
			m, _ = kept.Value(fit, plants, records)
		}
		v.second, v.secondShare = m.Second, m.SecondShare
	}
	v.fewForGenes = m.Few
	if m.Loci == 0 {
		return records, nil
	}
	v.Genes = m
	v.genotypeKinds, v.kindEffects = m.Kinds()
	out := make([]Record, len(records))
	for i, r := range records {
		at, _ := v.Ped.Place(r.Plant)
		gene, cov := m.Mean(m.Of(at))
		r.Lab = space.Lab(space.Minus(space.Of(r.Lab), gene))
		v.geneVar = space.Add(v.geneVar, space.Scale(1/float64(len(records)), cov))
		out[i] = r
	}
	return out, nil
}

// withAncestors adds to some records those of their plants' ancestors, the newest, mostSearched at most: parents were chosen by what
// they showed, and without that a line that moves seems to have jumped, as a gene would make it.
//
// Source: selection is allowed for where what it went by is in the data, Henderson 1975, Biometrics 31:423.
func (v *Values) withAncestors(some, records []Record) []Record {
	in := make([]bool, v.Ped.Len())
	for _, r := range some {
		at, _ := v.Ped.Place(r.Plant)
		in[at] = true
	}
	ancestors, left := v.Ped.Ancestors(in), mostSearched
	for _, r := range slices.Backward(records) {
		if at, _ := v.Ped.Place(r.Plant); ancestors[at] && left > 0 {
			some, left = append(some, r), left-1
		}
	}
	return some
}

// company are the records that strong genes are looked for in: those that lie far out count for as
// little as in quiet, unless others of their family do so, too, as a gene's class would.
func (v *Values) company(asRead, quiet []Record, far map[int]bool) []Record {
	of := func(r Record) [2]int32 {
		at, _ := v.Ped.Place(r.Plant)
		s, p := v.Ped.Parents(at)
		return [2]int32{min(s, p), max(s, p)}
	}
	n := map[[2]int32]int{}
	for i := range far {
		n[of(asRead[i])]++
	}
	out := slices.Clone(quiet)
	for i := range far {
		if n[of(asRead[i])] > 1 {
			out[i] = asRead[i]
		}
	}
	return out
}

// OffspringKind is a colour class of a pair's offspring.
type OffspringKind struct {
	Share float64    // expected
	Shift [3]float64 // of its mean from Offspring.Mean
}

// kinds are what strong genes make of a pair's offspring.
type kinds struct {
	effects []space.Vector   // of each kind
	cases   []kindSet        // what the parents' genotypes may be
	share   []float64        // expected, of each kind
	moves   [][]space.Vector // of each doubt of the effects, by how much each kind moves; see unsure.go
	next    []float64        // in the offspring's offspring among each other
}

// kindSet is one case of the parents' genotypes.
type kindSet struct {
	chance  float64
	share   []float64    // of each kind
	parents [2]int       // their genotypes; -1: several
	shift   space.Vector // by which their values differ from what is expected, if they have these
}

// sharesOf fills in the shares of kinds: see kindsOf.
func (v *Values) sharesOf(k *kinds, x, y []float64, self bool) {
	var room [2][majorgene.MostGenotypes]float64
	whole, next := room[0][:len(x)], room[1][:len(x)]
	if self {
		v.Genes.SelfTo(whole, x)
	} else {
		v.Genes.CrossTo(whole, x, y)
	}
	v.Genes.CrossTo(next, whole, whole)
	clear(k.share)
	clear(k.next)
	for g, of := range v.genotypeKinds {
		k.next[of] += next[g]
		k.share[of] += whole[g]
	}
}

// kindsOf are those of the offspring of two plants, by their genotypes' chances; self: of one alone.
func (v *Values) kindsOf(x, y []float64, self bool, cases bool) *kinds {
	m := v.Genes
	of, effects := v.genotypeKinds, v.kindEffects
	out := &kinds{effects: effects, share: make([]float64, len(effects)), next: make([]float64, len(effects))}
	v.sharesOf(out, x, y, self)
	if !cases {
		return out
	}
	one, other := make([]float64, len(x)), make([]float64, len(x))
	left := 0.0
	for a, p := range x {
		for b, q := range y {
			switch {
			case self && a != b:
				continue
			case self:
				q = 1
			}
			if p*q < 0.004 {
				left += p * q
				continue
			}
			clear(one)
			clear(other)
			one[a], other[b] = 1, 1
			c := kindSet{chance: p * q, share: make([]float64, len(effects)), parents: [2]int{a, b}}
			for g, r := range m.Cross(one, other) {
				c.share[of[g]] += r
			}
			out.cases = append(out.cases, c)
		}
	}
	if left > 0 { // the unlikely ones together
		out.cases = append(out.cases, kindSet{chance: left, share: out.share, parents: [2]int{-1, -1}})
	}
	return out
}

// mean is the mean effect of kinds in these shares.
func (k *kinds) mean(share []float64) (m space.Vector) {
	for i, p := range share {
		m = space.Plus(m, space.Vector{p * k.effects[i][0], p * k.effects[i][1], p * k.effects[i][2]})
	}
	return m
}

// What a pair is worth where strong genes part its offspring: in the offspring's offspring, of which the best share are
// kept, and to some part in the offspring themselves. Chosen by simulated programmes.
const (
	bestShare = 0.25
	nowWeight = 0.2
)

// merit weighs the kinds' distances, each the expected one of an offspring of the kind.
func (k *kinds) merit(distance []float64) float64 {
	now := 0.0
	for i, p := range k.share {
		now += p * distance[i]
	}
	return nowWeight*now + (1-nowWeight)*draws.Lowest(k.next, distance, bestShare)
}

// geneDistance is the expected distance of the mean colours of a plant's own kind's offspring to the
// target, over their classes.
func (v *Values) geneDistance(at int32, target cie.Lab) float64 {
	var x space.Vector
	copy(x[:], v.eval.Value(at))
	k := v.kindsOf(v.Genes.Of(at), v.Genes.Of(at), true, false)
	d := 0.0
	for i, p := range k.share {
		if p > 1e-6 {
			d += p * cie.DeltaE2000(space.Lab(space.Plus(x, k.effects[i])), target)
		}
	}
	return d
}

// geneValue is what is known of what a plant passes on, strong genes apart.
func (v *Values) geneValue(plant string) posterior {
	at, _ := v.Ped.Place(plant)
	p := posterior{genes: v.kindsOf(v.Genes.Of(at), v.Genes.Of(at), true, true)}
	v.tie(p.genes, at, at)
	copy(p.mean[:], v.eval.Value(at))
	p.cov = v.errorVar(at)
	return p
}
