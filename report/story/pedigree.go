package story

import (
	"cmp"
	"context"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/selection/book"
	"hueward/selection/genetics"
)

// Ancestor is a plant with its parents, as far back as is shown.
type Ancestor struct {
	ID        string      // empty: not known
	As        string      // seed parent or pollen parent of the one before; empty: the plant itself
	Group     string      // of a founder: the variety or lot that it came from
	Hex, Name string      // of its surest reading; empty: none
	Parents   []*Ancestor // none, or the seed parent and the pollen parent
	More      bool        // it has parents that are not shown
}

// generations back are shown, the plant's own apart.
const generations = 3

// pedigree is a plant's ancestors, and the name of its generation.
func pedigree(ctx context.Context, b *book.Book, id string) (*Ancestor, string, error) {
	all, err := b.Pedigree(ctx)
	if err != nil {
		return nil, "", err
	}
	all = genetics.Ancestry(all, []string{id})
	of := map[string]genetics.Parents{}
	for _, p := range all {
		of[p.ID] = p
	}
	var known []*Ancestor
	var names []string
	var grow func(id, as string, left int) *Ancestor
	grow = func(id, as string, left int) *Ancestor {
		a := &Ancestor{ID: id, As: as}
		who, ok := of[id]
		if id != "" {
			known, names = append(known, a), append(names, id)
		}
		switch {
		case !ok:
		case who.Seed == "" && who.Pollen == "":
			a.Group = who.Group
		case left == 0:
			a.More = true
		default:
			a.Parents = []*Ancestor{grow(who.Seed, "seed parent", left-1), grow(who.Pollen, "pollen parent", left-1)}
		}
		return a
	}
	root := grow(id, "", generations)
	readings, err := b.ReadingsOf(ctx, names...)
	if err != nil {
		return nil, "", err
	}
	surest := map[string]*colorimg.Reading{}
	for i := range readings {
		m, was := &readings[i].Measured, surest[readings[i].Plant]
		if m.Lab != nil && (was == nil || m.SE.Precision < was.SE.Precision) {
			surest[readings[i].Plant] = m
		}
	}
	for _, a := range known {
		if m := surest[a.ID]; m != nil {
			a.Hex, a.Name = cmp.Or(m.Hex, m.Lab.Lab().Hex()), cie.Name(m.Lab.Lab()) // an instrument's has no hex
		}
	}
	return root, genetics.Generations(all)[id], nil
}
