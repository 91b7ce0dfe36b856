package genetics

import (
	"slices"
	"strings"
)

// WithContemporaries returns the plants with a founder group named for each unknown parent beside a known one, as its pollen
// came from the plants that flowered with the known parent. season holds each plant's first season with a colour. Where all
// plants of the known parent's season descend from one group, that group is named; else none, and the unnamed group stands
// for the parent. Groups that are named already stay. plants themselves are not changed.
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
	season  map[string]string   // each plant's first season with a colour
	of      map[string][]string // each season's plants
	state   []originState
	origin  []string
	seasons map[string]string // the common group of a season's plants, for the seasons looked at so far
}

// work finds the origin of plant i and of all its ancestors, oldest first. It uses a stack of its own,
// as a line of descent may be too long for recursion.
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

// join returns the origin of a plant whose parents' origins are known, and names the group of its unknown parent.
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

// contemporaries returns the common group of the plants of a plant's season; where its season is not known, its own group.
func (o *origins) contemporaries(id string) string {
	s, ok := o.season[id]
	if !ok {
		return o.at(id)
	}
	if one, ok := o.seasons[s]; ok {
		return one
	}
	o.seasons[s] = mixedOrigin // for a plant of the season that depends on this result
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
