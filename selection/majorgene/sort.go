package majorgene

import (
	"hueward/selection/genetics"
)

// Kind is one of the colour classes that strong genes part a family into.
type Kind struct {
	Effect   [3]float64 // by how much it differs from the first genotype's colour
	Members  []int      // which of the plants given most likely belong to it
	Sure     []float64  // of each, the chance that it does
	Expected float64    // its share among the offspring of these parents
}

// leastSure is how sure a plant must be of its class at least once for the class to be one.
const leastSure = 0.8

// Sort sorts the plants at some places of the pedigree into colour classes by their chances, which count
// the whole line, where these are fewer than colours alone need. It gives none where only one
// class has a plant that surely belongs to it.
func (m *Model) Sort(ped *genetics.Pedigree, places []int32) []Kind {
	if m.Loci == 0 || len(places) == 0 {
		return nil
	}
	of, effects := m.Kinds()
	all := make([]Kind, len(effects))
	for i, at := range places {
		share := make([]float64, len(effects))
		for g, p := range m.Of(at) {
			share[of[g]] += p
		}
		best := 0
		for k, p := range share {
			if p > share[best] {
				best = k
			}
		}
		all[best].Members, all[best].Sure = append(all[best].Members, i), append(all[best].Sure, share[best])
		born := m.Of(at)
		if s, p := ped.Parents(at); s == p && !ped.Founder(at) {
			born = m.Self(m.Of(s))
		} else if !ped.Founder(at) {
			born = m.Cross(m.Of(s), m.Of(p))
		}
		for g, p := range born {
			all[of[g]].Expected += p / float64(len(places))
		}
	}
	var out []Kind
	sure := 0
	for k := range all {
		if len(all[k].Members) == 0 {
			continue
		}
		all[k].Effect = effects[k]
		out = append(out, all[k])
		for _, p := range all[k].Sure {
			if p >= leastSure {
				sure++
				break
			}
		}
	}
	if sure < 2 {
		return nil
	}
	return out
}
