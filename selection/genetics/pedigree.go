package genetics

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// ErrOwnAncestor is returned where a plant descends from itself.
var ErrOwnAncestor = errors.New("is entered as its own ancestor")

// Pedigree is who descends from whom, with every plant's inbreeding worked out. Plants are meant by their place in it,
// 0 to Len()-1, parents before their offspring. It does not change once made, and may be shared.
//
// Founder groups (a bought variety, a seed mix) have places of their own, before all plants: see [Pedigree.Groups]. A
// founder counts as the offspring of its group. Within a group of inbreeding f, plants have inbreeding and coancestry
// f; a group of none is made of plants that are not related. Founders that name no group share one without a name.
//
// Source: groups with a relationship to themselves are the metafounders of
// Legarra, Christensen, Vitezica, Aguilar, Misztal 2015, Genetics 200:455.
type Pedigree struct {
	ids    []string
	place  map[string]int32
	groups int     // how many places at the beginning are groups
	seed   []int32 // place, or Unknown
	pollen []int32
	f      []float64 // inbreeding; of a group 2f-1, so that its own relationship, 1+F, is 2f
	d      []float64 // Mendelian sampling variance, as a share of the additive variance
}

// NewPedigree sorts plants, which may come in any order, and works out their inbreeding. A parent that is not listed
// counts as a founder without a group. The unknown parent of a plant whose other parent is known counts as any plant of
// the group that the plant names, of the unnamed one where it names none: its pollen came from plants of that mean, and
// not from plants of a mean of 0.
//
// Founders of one group that differ in inbreeding are not of one kind: they make a
// group each. It returns an error for two plants of one id and for a founder's inbreeding
// outside 0 to 1, and ErrOwnAncestor, with the plant's name, for a ring.
func NewPedigree(plants []Parents) (*Pedigree, error) {
	all, parents, err := listed(plants)
	if err != nil {
		return nil, err
	}
	order, err := parentsFirst(all, parents)
	if err != nil {
		return nil, err
	}
	p := &Pedigree{place: make(map[string]int32, len(all))}
	groupOf, err := p.addGroups(all, parents)
	if err != nil {
		return nil, err
	}
	at := make([]int32, len(all))
	for _, i := range order {
		at[i] = int32(len(p.ids))
		seed, pollen := parents[i][0], parents[i][1]
		switch {
		case seed == Unknown && pollen == Unknown:
			seed, pollen = groupOf[i], groupOf[i]
		default:
			for _, parent := range [2]*int32{&seed, &pollen} {
				if *parent != Unknown {
					*parent = at[*parent]
				} else {
					*parent = groupOf[i]
				}
			}
		}
		p.place[all[i].ID] = at[i]
		p.ids = append(p.ids, all[i].ID)
		p.seed, p.pollen = append(p.seed, seed), append(p.pollen, pollen)
	}
	p.inbreed()
	return p, nil
}

// listed adds the parents that are not listed, and finds every parent's place.
func listed(plants []Parents) (all []Parents, parents [][2]int32, err error) {
	all = slices.Clone(plants)
	place := make(map[string]int32, len(all))
	for i := range all {
		if _, twice := place[all[i].ID]; twice || all[i].ID == "" {
			return nil, nil, fmt.Errorf("plant %q is in the pedigree twice, or without a name", all[i].ID)
		}
		place[all[i].ID] = int32(i)
	}
	for i := 0; i < len(all); i++ {
		both := [2]int32{Unknown, Unknown}
		for k, id := range [2]string{all[i].Seed, all[i].Pollen} {
			if id == "" {
				continue
			}
			at, ok := place[id]
			if !ok {
				at = int32(len(all))
				place[id] = at
				all = append(all, Parents{ID: id})
			}
			both[k] = at
		}
		parents = append(parents, both)
	}
	return all, parents, nil
}

// parentsFirst is an order of the plants with parents before offspring, by
// Kahn's method (1962, Comm. ACM 5:558); of several possible, that of the list.
func parentsFirst(all []Parents, parents [][2]int32) ([]int32, error) {
	wait := make([]int8, len(all))
	first := make([]int32, len(all)+1) // of each plant's offspring in the list below
	for _, both := range parents {
		for _, p := range both {
			if p != Unknown {
				first[p+1]++
			}
		}
	}
	for i := range all {
		first[i+1] += first[i]
	}
	offspring, fill := make([]int32, first[len(all)]), slices.Clone(first)
	for i, both := range parents {
		for _, p := range both {
			if p != Unknown {
				offspring[fill[p]] = int32(i)
				fill[p]++
				wait[i]++
			}
		}
	}
	order := make([]int32, 0, len(all))
	for i := range all {
		if wait[i] == 0 {
			order = append(order, int32(i))
		}
	}
	for k := 0; k < len(order); k++ {
		for _, o := range offspring[first[order[k]]:first[order[k]+1]] {
			if wait[o]--; wait[o] == 0 {
				order = append(order, o)
			}
		}
	}
	if len(order) < len(all) {
		return nil, fmt.Errorf("plant %q %w; correct its parents", all[ringMember(parents, wait)].ID, ErrOwnAncestor)
	}
	return order, nil
}

// ringMember is a plant that descends from itself: going up from any plant that
// still waits, always to a parent that waits too, ends in a ring.
func ringMember(parents [][2]int32, wait []int8) int32 {
	i := int32(slices.IndexFunc(wait, func(n int8) bool { return n > 0 }))
	seen := map[int32]bool{}
	for !seen[i] {
		seen[i] = true
		for _, p := range parents[i] {
			if p != Unknown && wait[p] > 0 {
				i = p
				break
			}
		}
	}
	return i
}

// addGroups gives the founders' groups their places, and returns the place of the group of
// each founder, and of each unknown parent beside a known one.
func (p *Pedigree) addGroups(all []Parents, parents [][2]int32) ([]int32, error) {
	groupOf := make([]int32, len(all))
	known := map[string]int32{}
	seen, first := map[string]bool{}, map[string]float64{} // of each group, the inbreeding of its first founder
	for i := range all {
		if parents[i][0] != Unknown || parents[i][1] != Unknown {
			continue
		}
		f := all[i].Inbreeding
		if !(f >= 0 && f <= 1) {
			return nil, fmt.Errorf("plant %q: founder inbreeding %v; give a number from 0 to 1", all[i].ID, f)
		}
		groupOf[i] = p.group(known, all[i].Group, f)
		if name := strings.ToLower(all[i].Group); !seen[name] {
			seen[name], first[name] = true, f
		}
	}
	for i := range all {
		if (parents[i][0] == Unknown) == (parents[i][1] == Unknown) {
			continue
		}
		groupOf[i] = p.group(known, all[i].Group, first[strings.ToLower(all[i].Group)])
	}
	p.groups = len(p.ids)
	return groupOf, nil
}

// group is the place of the founder group of a name and an inbreeding, a new one where it has
// none yet. Plants of one group that differ in inbreeding are not of one kind.
func (p *Pedigree) group(known map[string]int32, name string, f float64) int32 {
	key := fmt.Sprintf("%s\x00%v", strings.ToLower(name), f)
	at, ok := known[key]
	if !ok {
		at = int32(len(p.ids))
		known[key] = at
		p.ids = append(p.ids, name)
		p.seed, p.pollen = append(p.seed, Unknown), append(p.pollen, Unknown)
		p.f, p.d = append(p.f, 2*f-1), append(p.d, 2*f)
	}
	return at
}

// Len is how many places there are, groups included.
func (p *Pedigree) Len() int { return len(p.ids) }

// Groups is how many places, at the beginning, are founder groups.
func (p *Pedigree) Groups() int { return p.groups }

// ID is the id of the plant at a place, or the name of the group.
func (p *Pedigree) ID(at int32) string { return p.ids[at] }

// Place is where a plant is; ok is false for one that is not in the pedigree.
func (p *Pedigree) Place(id string) (at int32, ok bool) {
	at, ok = p.place[id]
	return at, ok
}

// Parents are a plant's seed and pollen parent; in the place of each that is not known, the
// place of a group (below [Pedigree.Groups]); Unknown for both of a group.
func (p *Pedigree) Parents(at int32) (seed, pollen int32) { return p.seed[at], p.pollen[at] }

// Founder reports whether neither parent of a plant is known.
func (p *Pedigree) Founder(at int32) bool {
	return p.seed[at] < int32(p.groups) && p.pollen[at] < int32(p.groups) && p.seed[at] != Unknown
}

// Inbreeding is a plant's coefficient of inbreeding, 0 to 1: the probability that
// its two genes at a place of the genome are copies of one ancestor's.
func (p *Pedigree) Inbreeding(at int32) float64 { return max(p.f[at], 0) }

// Mendelian is the variance of a plant's breeding value around the mean of its
// parents', as a share of the additive variance.
func (p *Pedigree) Mendelian(at int32) float64 { return p.d[at] }
