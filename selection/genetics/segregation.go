package genetics

import (
	"slices"
	"strings"
)

// GroupsApart is by how much of all variety founder groups differ in their genes, where there are several: what
// founders of a group share beyond those of another. A guess, of the size that is usual between varieties of outbred
// plants; with it offspring of a mixture of two groups vary by a fifth more than those of the groups themselves.
const GroupsApart = 0.3

// Segregating is of each plant by how much the genes in which founder groups differ make the offspring of two such
// plants vary more than those of plants of one group: as a factor. Nil where all founders are of one group.
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
		return nil // who laid the pedigree out was told
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
		return nil // who laid the pedigree out was told
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

// Widened is the same pedigree for breeding values that count what founder groups differ by: the offspring of plants of mixed groups
// vary around their parents' mean by [Segregating] more. Coancestries are to be asked of p itself, which is returned where all founders
// are of one group.
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
