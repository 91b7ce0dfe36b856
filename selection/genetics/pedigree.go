package genetics

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// ErrOwnAncestor is returned where a plant descends from itself.
var ErrOwnAncestor = errors.New("is entered as its own ancestor")

// Pedigree is who descends from whom, with every plant's inbreeding. A plant is named by its place, 0 to Len()-1; parents
// stand before their offspring. A pedigree does not change once made, and may be shared between goroutines.
//
// Founder groups (a bought variety, a seed mix) have places of their own, before all plants: see [Pedigree.Groups]. A
// founder counts as an offspring of its group. In a group of inbreeding f, founders have inbreeding f and a coancestry
// of f with each other; for f = 0 they are unrelated. Founders that name no group share an unnamed one.
//
// Source: groups with a relationship to themselves are the metafounders of
// Legarra, Christensen, Vitezica, Aguilar, Misztal 2015, Genetics 200:455.
type Pedigree struct {
	ids    []string
	place  map[string]int32
	groups int     // number of groups, whose places come first
	seed   []int32 // place, or Unknown
	pollen []int32
	f      []float64 // inbreeding; for a group 2f-1, so that its relationship with itself, 1+F, is 2f
	d      []float64 // Mendelian sampling variance, as a share of the additive variance
}

// NewPedigree sorts plants, which may come in any order, and works out their inbreeding. A parent that is not listed
// counts as a founder without a group. Where one parent of a plant is unknown, it counts as a random plant of the group that
// the plant names (the unnamed one where it names none), so that its expected value is the mean of that group and not 0.
//
// Founders of one group that differ in inbreeding form a group for each value of it.
// NewPedigree returns an error for two plants with one id, for an empty id and for a founder's inbreeding
// outside 0 to 1, and ErrOwnAncestor, with the plant's name, for a plant that descends from itself.
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

// listed returns the plants with the parents that are not listed added, and each plant's parents as places in that list.
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

// parentsFirst returns an order of the plants with parents before offspring, by
// Kahn's method (1962, Comm. ACM 5:558).
func parentsFirst(all []Parents, parents [][2]int32) ([]int32, error) {
	wait := make([]int8, len(all))
	first := make([]int32, len(all)+1) // where each plant's offspring begin in the list below
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

// ringMember returns a plant that descends from itself: going up from any plant that
// still waits, always to a parent that waits too, ends in a cycle.
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

// addGroups gives the founder groups their places. It returns for each founder the place of its group, and for
// each plant with one unknown parent the place of that parent's group.
func (p *Pedigree) addGroups(all []Parents, parents [][2]int32) ([]int32, error) {
	groupOf := make([]int32, len(all))
	known := map[string]int32{}
	seen, first := map[string]bool{}, map[string]float64{} // first: the inbreeding of each group's first founder
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

// group returns the place of the founder group with a name and an inbreeding, and adds it where it is not there yet.
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

// Len returns the number of places, groups included.
func (p *Pedigree) Len() int { return len(p.ids) }

// Groups returns the number of founder groups; these are places 0 to Groups()-1.
func (p *Pedigree) Groups() int { return p.groups }

// ID returns the id of the plant at a place, or the name of the group there.
func (p *Pedigree) ID(at int32) string { return p.ids[at] }

// Place returns the place of a plant; ok is false for one that is not in the pedigree.
func (p *Pedigree) Place(id string) (at int32, ok bool) {
	at, ok = p.place[id]
	return at, ok
}

// Parents returns a plant's seed and pollen parent. For a parent that is not known it is the
// place of a group (below [Pedigree.Groups]); for a group, both are Unknown.
func (p *Pedigree) Parents(at int32) (seed, pollen int32) { return p.seed[at], p.pollen[at] }

// Founder reports whether neither parent of a plant is known.
func (p *Pedigree) Founder(at int32) bool {
	return p.seed[at] < int32(p.groups) && p.pollen[at] < int32(p.groups) && p.seed[at] != Unknown
}

// Inbreeding returns a plant's coefficient of inbreeding, 0 to 1: the probability that
// its two alleles at a locus are identical by descent.
func (p *Pedigree) Inbreeding(at int32) float64 { return max(p.f[at], 0) }

// Mendelian returns a plant's Mendelian sampling variance: the variance of its breeding value around
// the mean of its parents', as a share of the additive variance.
func (p *Pedigree) Mendelian(at int32) float64 { return p.d[at] }
