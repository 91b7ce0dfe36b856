package genetics

import (
	"slices"
	"strings"
)

// WithContemporaries names the founder group of each unknown parent beside a known one: pollen came from what flowered
// with the known parent. Season is of each plant the first that it has a colour in. Where all plants of the known
// parent's descend from one group, it is that one; else the unnamed group, whose mean is estimated from such plants
// themselves. Groups that are named already stay.
func WithContemporaries(plants []Parents, season map[string]string) []Parents {
	if !slices.ContainsFunc(plants, func(p Parents) bool { return (p.Seed == "") != (p.Pollen == "") && p.Group == "" }) {
		return plants
	}
	o := &origins{plants: slices.Clone(plants), place: map[string]int{}, season: season, of: map[string][]string{}}
	for i, p := range plants {
		o.place[p.ID] = i
	}
	for id, s := range o.season {
		o.of[s] = append(o.of[s], id)
	}
	o.state, o.origin = make([]originState, len(plants)), make([]string, len(plants))
	o.seasons = map[string]string{}
	for i := range o.plants {
		o.work(i)
	}
	return o.plants
}

type originState uint8

const (
	originOpen originState = iota + 1
	originDone
)

// mixedOrigin stands for several groups, or for none that is named.
const mixedOrigin = ""

// origins finds the one group, in lower case, that a plant descends from.
type origins struct {
	plants  []Parents
	place   map[string]int
	season  map[string]string   // of each plant, the first with a colour of it
	of      map[string][]string // the plants of each
	state   []originState
	origin  []string
	seasons map[string]string // the one group of a season's plants, where it was asked for
}

// work finds the origin of plant i and of all its ancestors, oldest first, without
// recursion along a long line of descent.
func (o *origins) work(i int) {
	for stack := []int{i}; len(stack) > 0; {
		top := stack[len(stack)-1]
		p := &o.plants[top]
		if o.state[top] == originDone {
			stack = stack[:len(stack)-1]
			continue
		}
		waits := false
		for _, parent := range [2]string{p.Seed, p.Pollen} {
			at, ok := o.place[parent]
			if ok && o.state[at] == 0 {
				waits = true
				stack = append(stack, at)
			}
		}
		if o.state[top] = originOpen; waits {
			continue
		}
		stack = stack[:len(stack)-1]
		o.state[top] = originDone
		o.origin[top] = o.join(p)
	}
}

// join is the origin of a plant whose parents' origins are known.
func (o *origins) join(p *Parents) string {
	switch {
	case p.Seed == "" && p.Pollen == "":
		return strings.ToLower(p.Group)
	case p.Seed != "" && p.Pollen != "":
		if a, b := o.at(p.Seed), o.at(p.Pollen); a == b {
			return a
		}
		return mixedOrigin
	}
	known := p.Seed + p.Pollen
	if p.Group == "" {
		p.Group = o.contemporaries(known)
	}
	if strings.ToLower(p.Group) == o.at(known) {
		return o.at(known)
	}
	return mixedOrigin
}

func (o *origins) at(id string) string {
	if at, ok := o.place[id]; ok {
		return o.origin[at]
	}
	return mixedOrigin
}

// contemporaries is the one group of the plants of a plant's season; of its own where no colour tells its season.
func (o *origins) contemporaries(id string) string {
	s, ok := o.season[id]
	if !ok {
		return o.at(id)
	}
	if one, ok := o.seasons[s]; ok {
		return one
	}
	o.seasons[s] = mixedOrigin // a plant that waits for itself has no group
	one := o.at(id)
	for _, other := range o.of[s] {
		at, ok := o.place[other]
		if !ok {
			continue
		}
		if o.state[at] == 0 {
			o.work(at)
		}
		if o.origin[at] != one {
			one = mixedOrigin
		}
	}
	o.seasons[s] = one
	return one
}
