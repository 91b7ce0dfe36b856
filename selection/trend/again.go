package trend

import (
	"cmp"
	"slices"
	"strings"

	"hueward/selection"
	"hueward/selection/drift"
	"hueward/selection/space"
)

// entry is plants with the same genes, on average, in several seasons: a founder group, the offspring of one cross,
// or plants that were measured in the same several seasons.
type entry struct {
	founders bool
	plants   map[int][]Grown // by season
}

// mostEntries is the largest number of entries that the weather is estimated from; of more, the largest entries are used.
const mostEntries = 200

// sort sorts the plants into seasons, and into those of the line (own), check plants (checks) and entries (again).
func (f *trending) sort() {
	for _, p := range f.plants {
		f.names = append(f.names, p.Season)
	}
	slices.SortFunc(f.names, selection.CompareIDs)
	f.names = slices.Compact(f.names)
	season := make([]int, len(f.plants))
	of := map[string][]int{}  // each plant's seasons
	gave := map[string]bool{} // plants that are parents
	for i, p := range f.plants {
		season[i], _ = slices.BinarySearchFunc(f.names, p.Season, selection.CompareIDs)
		of[p.Plant] = append(of[p.Plant], season[i])
		gave[p.Seed], gave[p.Pollen] = true, true
	}
	type cell struct {
		key    string
		season int
	}
	keys := make([]string, len(f.plants))
	by := map[string]*entry{}
	parents := map[cell]bool{} // some plant of the entry in that season became a parent
	for i, p := range f.plants {
		k := f.plants[i].kin(of[p.Plant])
		if keys[i] = k; k == "" {
			continue
		}
		if by[k] == nil {
			by[k] = &entry{founders: p.founder() && p.Group != "", plants: map[int][]Grown{}}
		}
		by[k].plants[season[i]] = append(by[k].plants[season[i]], p)
		if gave[p.Plant] {
			parents[cell{k, season[i]}] = true
		}
	}
	// A cross may be sown again for comparison, or be the line itself. It is for comparison in seasons that have
	// new plants of the line beside it: these seasons are fresh.
	fresh := make([]bool, len(f.names))
	for i, p := range f.plants {
		if e, s := by[keys[i]], season[i]; e == nil || !e.founders && !strings.HasPrefix(keys[i], again) && s == slices.Min(seasonsOf(e)) {
			fresh[s] = fresh[s] || !p.founder() || p.Group == ""
		}
	}
	own := func(i int) bool {
		e, s := by[keys[i]], season[i]
		switch {
		case e == nil || len(e.plants) < 2 || parents[cell{keys[i], s}]:
			return true
		case e.founders:
			return false
		}
		return strings.HasPrefix(keys[i], again) || !fresh[s] || s == slices.Min(seasonsOf(e))
	}
	f.own, f.checks = make([][]Grown, len(f.names)), make([][]Grown, len(f.names))
	owned := false
	for i, p := range f.plants {
		e, s := by[keys[i]], season[i]
		if own(i) {
			f.own[s] = append(f.own[s], p)
			owned = true
		}
		if e != nil && e.founders && len(e.plants) > 1 {
			f.checks[s] = append(f.checks[s], p)
		}
	}
	for k, e := range by { // seasons in which a cross is the line itself do not count for comparison
		for _, s := range seasonsOf(e) {
			if !e.founders && !strings.HasPrefix(k, again) && !fresh[s] {
				delete(e.plants, s)
			}
		}
	}
	if !owned { // there is only a variety, grown several times: it is the line
		clear(f.checks)
		clear(by)
		for i, p := range f.plants {
			f.own[season[i]] = append(f.own[season[i]], p)
		}
	}
	f.keep(by)
}

// again is the prefix of the keys of plants that were measured in several seasons.
const again = "p"

// kin returns the key of the entry that the plant belongs to: the plants measured in the same several seasons, its
// founder group, or the offspring of its two parents; empty: none.
func (g *Grown) kin(seasons []int) string {
	switch {
	case len(seasons) > 1:
		k := again
		for _, s := range slices.Sorted(slices.Values(seasons)) {
			k += " " + string(rune(s+1))
		}
		if g.founder() && g.Group != "" {
			k = "q" + k + g.Group
		}
		return k
	case g.founder() && g.Group != "":
		return "g" + g.Group
	case g.Seed != "" && g.Pollen != "":
		return "f" + min(g.Seed, g.Pollen) + "\x00" + max(g.Seed, g.Pollen)
	}
	return ""
}

func seasonsOf(e *entry) []int {
	var out []int
	for s := range e.plants {
		out = append(out, s)
	}
	return out
}

// keep removes seasons with check plants only, and fills in f.again with the entries in order of size.
func (f *trending) keep(by map[string]*entry) {
	place := make([]int, len(f.names))
	n := 0
	for s := range f.names {
		if place[s] = -1; len(f.own[s]) > 0 {
			f.names[n], f.own[n], f.checks[n] = f.names[s], f.own[s], f.checks[s]
			place[s] = n
			n++
		}
	}
	f.names, f.own, f.checks = f.names[:n], f.own[:n], f.checks[:n]
	size := map[string]int{}
	var keys []string
	for k, e := range by {
		plants := map[int][]Grown{}
		for s, p := range e.plants {
			if place[s] >= 0 {
				plants[place[s]] = p
				size[k] += len(p)
			}
		}
		if e.plants = plants; len(plants) > 1 {
			keys = append(keys, k)
		}
	}
	slices.SortFunc(keys, func(a, b string) int { return cmp.Or(cmp.Compare(size[b], size[a]), cmp.Compare(a, b)) })
	for _, k := range keys[:min(len(keys), mostEntries)] {
		f.again = append(f.again, *by[k])
	}
}

// tell estimates the weather from the entries. Where an entry's variance differs from the line's, its number of
// plants is changed to the number of the line's plants whose mean would be as precise.
func (f *trending) tell() {
	var means []drift.Means
	for _, e := range f.again {
		m := drift.Means{Season: slices.Sorted(slices.Values(seasonsOf(&e)))}
		var ss space.Matrix
		df := 0.0
		for _, s := range m.Season {
			mean, rest := meanOf(e.plants[s])
			ss = space.Add(ss, rest)
			df += float64(len(e.plants[s]) - 1)
			m.Color, m.N = append(m.Color, mean), append(m.N, float64(len(e.plants[s])))
		}
		const few = 4
		own := space.Scale(1/(df+few), space.Add(ss, space.Scale(few, f.pooled)))
		for c := range m.N {
			m.N[c] *= min(4, max(0.25, space.Trace(f.pooled)/space.Trace(own)))
		}
		means = append(means, m)
	}
	f.weather = drift.NewWeather(len(f.names), means)
}

// line returns the line's means for package drift.
func (f *trending) line() *drift.Line {
	l := &drift.Line{Cov: f.pooled, DF: f.df}
	for s := range f.own {
		l.Time = append(l.Time, f.time(s))
		l.Color = append(l.Color, space.Of(f.r.Seasons[s].Mean))
		l.N = append(l.N, float64(len(f.own[s])))
	}
	return l
}
