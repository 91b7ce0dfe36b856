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

// Strong genes are looked for in the newest seasons' records, as long as these are at most mostSearched, and in as many of those
// plants' ancestors. A newest season of more than mostWithin records is thinned to families spread evenly over it, each with at
// most a tenth of mostWithin: more records would reveal no other genes.
const (
	mostSearched = 600
	mostWithin   = 1000
)

// mostKept is the largest number of plants for which the genes found are cached for the next run: for more, the file is large and
// its digest slow.
const mostKept = 20_000

// spread returns about most of the records, in whole families spread evenly over all; all records, where there are no more.
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

// findGenes looks for strong genes, or takes those of known where that is not nil. It returns the records
// less the expected effect of each plant's strong genes, so that what is left is additive. The
// variance of that expectation is kept in v.geneVar: see own.go.
func (v *Values) findGenes(plants []genetics.Parents, records []Record, known *majorgene.Model) ([]Record, error) {
	laid := func(ped *genetics.Pedigree, records []Record) *majorgene.Records {
		out := &majorgene.Records{Ped: ped}
		first := firstSeasons(records)
		for _, r := range records {
			if first[r.Plant] != r.Season { // a plant's later records are no independent evidence of its genotype
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

// withAncestors adds the records of their plants' ancestors to some records, the newest ones, at most mostSearched. Parents were
// selected by their colour; without their records, the response to selection looks like a jump, as if a gene had made it.
//
// Source: selection is accounted for where the data that it was based on are included, Henderson 1975, Biometrics 31:423.
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

// company returns the records that strong genes are looked for in. A record that lies far out of its family has
// little weight, as in quiet, unless others of its family lie far out too: they may be a gene's colour class.
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
	Share float64    // expected share of the offspring
	Shift [3]float64 // mean of the class less Offspring.Mean
}

// kinds are the colour classes that strong genes part a pair's offspring into: genotypes of nearly one effect.
type kinds struct {
	effects []space.Vector   // of each kind
	cases   []kindSet        // the combinations of genotypes that the parents may have
	share   []float64        // expected share of each kind among the offspring
	moves   [][]space.Vector // for each doubt of the effects, the shift of each kind; see unsure.go
	next    []float64        // expected shares after random mating among the offspring
}

// kindSet is one combination of genotypes that the parents may have.
type kindSet struct {
	chance  float64
	share   []float64    // of each kind
	parents [2]int       // their genotypes; -1: several unlikely combinations together
	shift   space.Vector // change of the offspring's mean breeding value, given these genotypes; see own.go
}

// sharesOf fills in k.share and k.next: see kindsOf.
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

// kindsOf returns the kinds of the offspring of two plants with genotype chances x and y; self: of one plant; cases: with cases.
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
	if left > 0 {
		out.cases = append(out.cases, kindSet{chance: left, share: out.share, parents: [2]int{-1, -1}})
	}
	return out
}

// mean returns the mean effect of the kinds, given their shares.
func (k *kinds) mean(share []float64) (m space.Vector) {
	for i, p := range share {
		m = space.Plus(m, space.Vector{p * k.effects[i][0], p * k.effects[i][1], p * k.effects[i][2]})
	}
	return m
}

// Where strong genes part its offspring, a pair is judged by the nearest bestShare of its grandchildren, and with weight
// nowWeight by its offspring themselves. Both were chosen by simulated breeding programmes.
const (
	bestShare = 0.25
	nowWeight = 0.2
)

// merit returns a pair's merit, given the expected distance of an offspring of each kind.
func (k *kinds) merit(distance []float64) float64 {
	now := 0.0
	for i, p := range k.share {
		now += p * distance[i]
	}
	return nowWeight*now + (1-nowWeight)*draws.Lowest(k.next, distance, bestShare)
}

// geneDistance returns the distance to the target of the offspring that a plant would have with another of its own
// genotype, as the mean over their colour classes.
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

// geneValue returns the posterior of a plant's breeding value, with its strong genes kept apart.
func (v *Values) geneValue(plant string) posterior {
	at, _ := v.Ped.Place(plant)
	p := posterior{genes: v.kindsOf(v.Genes.Of(at), v.Genes.Of(at), true, true)}
	v.shiftCases(p.genes, at, at)
	copy(p.mean[:], v.eval.Value(at))
	p.cov = v.errorVar(at)
	return p
}
