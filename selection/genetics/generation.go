package genetics

import (
	"slices"
	"strconv"
	"strings"
)

// Parents are those of one plant. A plant without either is a founder.
type Parents struct {
	ID           string
	Seed, Pollen string // ids; empty: not known
	Group        string // of a founder: founders of one group, such as a bought variety, count as one origin
}

// Founder is the generation of a plant whose parents are both unknown.
const Founder = "founder"

// Generations names the generation of every plant, by its id, from the pedigree
// alone; plants may come in any order. A parent that is not listed counts as a
// founder of its own. A plant that is its own ancestor has no generation: "".
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
// An origin is a founder, or a founder group; what stays within it (S, Sib, OP)
// still is that origin when it is crossed.
//
// Source: the letters are those of plant breeding at large; common practice.
func Generations(plants []Parents) map[string]string {
	byID := make(map[string]*Parents, len(plants))
	for i := range plants {
		byID[plants[i].ID] = &plants[i]
	}
	g := &naming{plants: byID, known: make(map[string]descent, len(plants)), open: map[string]bool{}}
	out := make(map[string]string, len(plants))
	for _, p := range plants {
		out[p.ID] = g.of(p.ID).String()
	}
	return out
}

// descent is what a plant's generation is worked out from.
type descent struct {
	form    string   // as below
	n       int      // its number
	self    int      // of BC: 1 for BC1, 2 for BC1F2
	origins []string // sorted
	to      string   // of BC: the origin crossed back to
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
	formNone    = "" // its own ancestor
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

// pure reports whether the plant still is of one known origin.
func (d descent) pure() bool {
	return d.form == formFounder || d.form == formS || d.form == formSib
}

type naming struct {
	plants map[string]*Parents
	known  map[string]descent
	open   map[string]bool // being worked out
}

// of works out a plant's descent, its ancestors' first. A pedigree may be deeper
// than is good for recursion, so it keeps its own stack.
func (g *naming) of(id string) descent {
	stack := []string{id}
	for len(stack) > 0 {
		top := stack[len(stack)-1]
		if _, done := g.known[top]; done {
			stack = stack[:len(stack)-1]
			continue
		}
		p := g.plants[top]
		if p == nil {
			g.known[top] = founder(top, "")
			continue
		}
		waits := false
		for _, parent := range [2]string{p.Seed, p.Pollen} {
			if parent == "" {
				continue
			}
			if _, done := g.known[parent]; done {
				continue
			}
			if parent == top || g.open[parent] { // a ring
				g.known[parent] = descent{form: formNone}
				g.known[top] = descent{form: formNone}
				continue
			}
			waits = true
			g.open[top] = true
			stack = append(stack, parent)
		}
		if waits {
			continue
		}
		delete(g.open, top)
		if _, done := g.known[top]; !done {
			g.known[top] = g.offspring(p)
		}
	}
	return g.known[id]
}

func founder(id, group string) descent {
	origin := "plant " + id
	if group != "" {
		origin = "group " + strings.ToLower(group)
	}
	return descent{form: formFounder, origins: []string{origin}}
}

// offspring is the descent of a plant whose parents' descents are known.
func (g *naming) offspring(p *Parents) descent {
	switch {
	case p.Seed == "" && p.Pollen == "":
		return founder(p.ID, p.Group)
	case p.Seed == "" || p.Pollen == "":
		d := g.known[p.Seed+p.Pollen]
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
	x, y := g.known[p.Seed], g.known[p.Pollen]
	if x.form == formNone || y.form == formNone {
		return descent{form: formNone}
	}
	if p.Seed == p.Pollen {
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
	if x.form == formCross || y.form == formCross || len(x.origins)+len(y.origins) > mostOrigins {
		return descent{form: formCross}
	}
	all := slices.Concat(x.origins, y.origins)
	slices.Sort(all)
	if len(slices.Compact(slices.Clone(all))) < len(all) {
		return descent{form: formCross}
	}
	return descent{form: formF, n: 1, origins: all}
}

// mostOrigins is how many are still told: "F1 of 17" says nothing to a grower.
const mostOrigins = 16

// back reports whether crossing d to the origin is a backcross: d is of a cross of
// two origins, one of them this, and was crossed back to no other.
func back(d descent, origin string) bool {
	return len(d.origins) == 2 && slices.Contains(d.origins, origin) && (d.form == formF || d.form == formBack && d.to == origin)
}

// backs is how often d was crossed back already.
func backs(d descent) int {
	if d.form == formBack {
		return d.n
	}
	return 0
}
