package genetics

import (
	"slices"
	"strings"
)

// GroupsApart is the coancestry within founder groups relative to that between them, where there are several: the share of
// all genetic diversity that lies between groups (FST). A guess, of the size that is usual between varieties of outbred
// plants; with it, offspring of a mixture of two groups vary by a fifth more than those of one group.
const GroupsApart = 0.3

// Segregating returns for each of ids a factor on the Mendelian sampling variance of its gametes: more than 1 where it
// segregates for genes in which founder groups differ. nil where all founders are of one group.
//
// Source: Lo, Fernando, Grossman 1993, Theor. Appl. Genet. 87:423, the segregation variance; by inbreeding in a
// pedigree whose groups are of one ancestry, Legarra, Christensen, Vitezica, Aguilar, Misztal 2015, Genetics 200:455.
func Segregating(plants []Parents, ids []string) map[string]float64 {
	all := Ancestry(plants, ids)
	known := map[string]bool{}
	for _, p := range all {
		known[p.ID] = true
	}
	for _, p := range slices.Clone(all) { // parents that are not listed are founders, too
		for _, id := range [2]string{p.Seed, p.Pollen} {
			if id != "" && !known[id] {
				known[id] = true
				all = append(all, Parents{ID: id})
			}
		}
	}
	ped, err := NewPedigree(all)
	if err != nil {
		return nil // the caller's NewPedigree reported the error
	}
	groups := map[string]bool{}
	apart := slices.Clone(all)
	for i, p := range apart {
		if p.Seed == "" && p.Pollen == "" {
			groups[strings.ToLower(p.Group)] = true
			apart[i].Inbreeding = GroupsApart + (1-GroupsApart)*p.Inbreeding
		}
	}
	if len(groups) < 2 {
		return nil
	}
	one, err := NewPedigree(apart)
	if err != nil {
		return nil // the caller's NewPedigree reported the error
	}
	out := map[string]float64{}
	for _, id := range ids {
		at, _ := ped.Place(id)
		in, _ := one.Place(id)
		if own := 1 - ped.Inbreeding(at); own > 1e-3 {
			out[id] = (1 - one.Inbreeding(in)) / (1 - GroupsApart) / own
		} else {
			out[id] = 1
		}
	}
	return out
}

// Widened returns the same pedigree with larger Mendelian sampling variances, by [Segregating], for the offspring of plants of mixed
// founder groups. It is for [Evaluate] only: inbreeding and coancestry must come from p itself. Where all founders are of one group,
// Widened returns p.
func (p *Pedigree) Widened(plants []Parents) *Pedigree {
	more := Segregating(plants, p.ids[p.groups:])
	if more == nil {
		return p
	}
	wide := *p
	wide.d = slices.Clone(p.d)
	for i := p.groups; i < len(p.ids); i++ {
		if p.Founder(int32(i)) {
			continue
		}
		by := 0.0
		for _, parent := range [2]int32{p.seed[i], p.pollen[i]} {
			x := 1.0 // any plant of a group
			if int(parent) >= p.groups {
				x = more[p.ids[parent]]
			}
			by += x / 2
		}
		wide.d[i] *= by
	}
	return &wide
}
