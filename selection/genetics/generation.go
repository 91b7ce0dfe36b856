package genetics

import (
	"slices"
	"strconv"
	"strings"
)

// Parents is a plant with its parents: one line of a pedigree. A plant without either parent is a founder.
type Parents struct {
	ID           string
	Seed, Pollen string // ids of the parents; empty: not known
	// Group is a founder's group: founders of one group, such as a bought variety, count as one
	// origin. For a plant with one known parent, it is the group of the other one. Case does not matter.
	Group      string
	Inbreeding float64 // of a founder, 0 to 1, such as 1 for a variety selfed for years; 0: none, or not known
}

// Founder is the generation of a plant whose parents are both unknown.
const Founder = "founder"

// Generations names the generation of every plant, by its id, from the pedigree alone; plants may come in any order. A
// parent that is not listed counts as a founder of its own. A plant that is its own ancestor has no generation: "".
//
//	F1, F2 …     a cross of two origins, and its selfed or intercrossed offspring
//	F1 of 3 …    the same of three origins and more, none of them shared by the parents
//	BC1, BC2 …   F1 by one of its two origins, and again by the same
//	BC1F2 …      selfed or intercrossed offspring of BC1
//	S1, S2 …     a founder selfed, and again
//	Sib1 …       plants of one origin crossed with each other
//	OP1, OP2 …   open-pollinated, or pollen not known
//	cross        anything else
//
// An origin is a founder, or a founder group. Descendants within one origin (S, Sib, OP)
// still count as that origin when they are crossed.
//
// Source: the letters are those of plant breeding at large; common practice.
func Generations(plants []Parents) map[string]string {
	place := make(map[string]int32, len(plants))
	for i := range plants {
		place[plants[i].ID] = int32(i)
	}
	all, parents := slices.Clone(plants), make([][2]int32, len(plants))
	for i := range plants {
		for k, id := range [2]string{plants[i].Seed, plants[i].Pollen} {
			at, ok := place[id]
			switch {
			case id == "":
				at = Unknown
			case !ok: // not listed: a founder of its own
				at = int32(len(all))
				place[id] = at
				all = append(all, Parents{ID: id})
			}
			parents[i][k] = at
		}
	}
	for range len(all) - len(plants) {
		parents = append(parents, [2]int32{Unknown, Unknown})
	}
	names := InOrder(all, parents)
	out := make(map[string]string, len(plants))
	for i := range plants {
		out[plants[i].ID] = names[i]
	}
	return out
}

// Unknown stands for a parent that is not known in [InOrder].
const Unknown = int32(-1)

// InOrder is [Generations] for tens of thousands of plants. parents holds the places in the list of each plant's parents, or
// Unknown; Seed and Pollen are not looked at. The names are returned in the order of the list.
func InOrder(plants []Parents, parents [][2]int32) []string {
	g := &naming{plants: plants, parents: parents, known: make([]descent, len(plants)), state: make([]uint8, len(plants))}
	words := map[short]string{}
	out := make([]string, len(plants))
	for i := range plants {
		d := g.of(int32(i))
		k := short{d.form, d.n, d.self, len(d.origins)}
		w, ok := words[k]
		if !ok {
			w = d.String()
			words[k] = w
		}
		out[i] = w
	}
	return out
}

// short is the part of a descent that decides its name.
type short struct {
	form             string
	n, self, origins int
}

// descent is what a plant's generation is worked out from.
type descent struct {
	form    string   // see below
	n       int      // number after the form
	self    int      // for BC: 1 for BC1, 2 for BC1F2
	origins []string // sorted
	to      string   // for BC: the recurrent origin
}

// The forms of a descent.
const (
	formFounder = "founder"
	formS       = "S"
	formSib     = "Sib"
	formOpen    = "OP"
	formF       = "F"
	formBack    = "BC"
	formCross   = "cross"
	formNone    = "" // the plant is its own ancestor
)

func (d descent) String() string {
	switch d.form {
	case formFounder:
		return Founder
	case formCross, formNone:
		return d.form
	case formBack:
		s := "BC" + strconv.Itoa(d.n)
		if d.self > 1 {
			s += "F" + strconv.Itoa(d.self)
		}
		return s
	case formF:
		s := "F" + strconv.Itoa(d.n)
		if len(d.origins) > 2 {
			s += " of " + strconv.Itoa(len(d.origins))
		}
		return s
	}
	return d.form + strconv.Itoa(d.n)
}

// pure reports whether the plant is of one known origin.
func (d descent) pure() bool {
	return len(d.origins) == 1 && (d.form == formFounder || d.form == formS || d.form == formSib)
}

// naming works on places in a list.
type naming struct {
	plants  []Parents
	parents [][2]int32 // places, or Unknown
	known   []descent
	state   []uint8
}

// The states of a plant.
const (
	untouched uint8 = iota
	open            // its parents are being worked out
	done
)

// of returns a plant's descent, after working out those of its ancestors. It uses a stack
// of its own, as a pedigree may be too deep for recursion.
func (g *naming) of(plant int32) *descent {
	stack := []int32{plant}
	for len(stack) > 0 {
		top := stack[len(stack)-1]
		if g.state[top] == done {
			stack = stack[:len(stack)-1]
			continue
		}
		waits := false
		for _, parent := range g.parents[top] {
			if parent == Unknown || g.state[parent] == done {
				continue
			}
			if parent == top || g.state[parent] == open { // a ring
				for _, p := range [2]int32{parent, top} {
					g.known[p], g.state[p] = descent{form: formNone}, done
				}
				continue
			}
			waits = true
			g.state[top] = open
			stack = append(stack, parent)
		}
		if waits {
			continue
		}
		if g.state[top] != done {
			g.known[top], g.state[top] = g.offspring(top), done
		}
	}
	return &g.known[plant]
}

func founder(id, group string) descent {
	origin := "plant " + id
	if group != "" {
		origin = "group " + strings.ToLower(group)
	}
	return descent{form: formFounder, origins: []string{origin}}
}

// offspring returns the descent of a plant whose parents' descents are known.
func (g *naming) offspring(plant int32) descent {
	p := &g.plants[plant]
	seed, pollen := g.parents[plant][0], g.parents[plant][1]
	switch {
	case seed == Unknown && pollen == Unknown:
		return founder(p.ID, p.Group)
	case seed == Unknown || pollen == Unknown:
		d := g.known[max(seed, pollen)] // Unknown is below every place
		if d.form == formNone {
			return d
		}
		n := 1
		if d.form == formOpen {
			n = d.n + 1
		}
		if len(d.origins) > mostOrigins {
			d.origins = nil
		}
		return descent{form: formOpen, n: n, origins: append(slices.Clone(d.origins), "pollen of "+p.ID)}
	}
	x, y := g.known[seed], g.known[pollen]
	if x.form == formNone || y.form == formNone {
		return descent{form: formNone}
	}
	if seed == pollen {
		return selfed(x)
	}
	return crossed(x, y)
}

func selfed(d descent) descent {
	switch d.form {
	case formS:
		d.n++
	case formF:
		d.n++
	case formBack:
		d.self++
	default:
		d.form, d.n = formS, 1
	}
	return d
}

func crossed(x, y descent) descent {
	same := slices.Equal(x.origins, y.origins)
	switch {
	case x.pure() && y.pure() && same:
		n := 1
		for _, d := range [2]descent{x, y} {
			if d.form == formSib {
				n = max(n, d.n+1)
			}
		}
		return descent{form: formSib, n: n, origins: x.origins}
	case x.form == formF && y.form == formF && same:
		return descent{form: formF, n: max(x.n, y.n) + 1, origins: x.origins}
	case x.form == formBack && y.form == formBack && same && x.to == y.to && x.n == y.n:
		return descent{form: formBack, n: x.n, self: max(x.self, y.self) + 1, origins: x.origins, to: x.to}
	case y.pure() && back(x, y.origins[0]):
		return descent{form: formBack, n: backs(x) + 1, self: 1, origins: x.origins, to: y.origins[0]}
	case x.pure() && back(y, x.origins[0]):
		return descent{form: formBack, n: backs(y) + 1, self: 1, origins: y.origins, to: x.origins[0]}
	}
	if len(x.origins) == 0 || len(y.origins) == 0 || len(x.origins)+len(y.origins) > mostOrigins { // formCross keeps no origins
		return descent{form: formCross}
	}
	all := slices.Concat(x.origins, y.origins)
	slices.Sort(all)
	if len(slices.Compact(slices.Clone(all))) < len(all) {
		return descent{form: formCross}
	}
	return descent{form: formF, n: 1, origins: all}
}

// mostOrigins is the largest number of origins that is kept: "F1 of 17" says nothing to a grower.
const mostOrigins = 16

// back reports whether crossing d to the origin is a backcross: d comes from a cross of
// two origins, one of them this one, and was not crossed back to the other.
func back(d descent, origin string) bool {
	return len(d.origins) == 2 && slices.Contains(d.origins, origin) && (d.form == formF || d.form == formBack && d.to == origin)
}

// backs returns how many times d was crossed back already.
func backs(d descent) int {
	if d.form == formBack {
		return d.n
	}
	return 0
}
