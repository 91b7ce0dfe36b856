package majorgene

import (
	"hueward/selection/genetics"
)

// Kind is one of the colour classes that strong genes part a family into.
type Kind struct {
	Effect   [3]float64 // its difference in colour from the first genotype
	Members  []int      // indices of the plants given that most likely belong to it
	Sure     []float64  // the chance that each of these does
	Expected float64    // its expected share among the offspring of these plants' parents
}

// leastSure is the chance from which a plant surely belongs to its class. A guess.
const leastSure = 0.8

// Sort sorts the plants at some places of the pedigree into colour classes by their genotype chances. These rest on
// the whole line, so that few plants suffice where their colours alone would not part them. It returns nil where
// fewer than two classes have a plant that surely belongs to them.
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
