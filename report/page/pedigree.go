package page

import (
	"hueward/colorimg/cie"
	"hueward/report/compose"
	"hueward/selection/genetics"
)

// pedigree is a plant's ancestors drawn as boxes, from left to right.
type pedigree struct {
	W, H       int
	Boxes      []ancestor
	Lines      [][4]int
	generation string
}

type ancestor struct {
	ID, Words, Hex, Name string
	X, Y                 int
	Seed                 bool // the seed parent of the one to its left
	First, Known         bool
}

const (
	ancestors = 3 // generations that are drawn, the plant's own apart
	boxW      = 150
	boxH      = 52
	stepX     = 190
	stepY     = 64
)

// pedigreeOf draws a plant's ancestors, as far as they are known.
func (q *request) pedigreeOf(id string) (*pedigree, error) {
	all, err := q.b.Pedigree(q.ctx())
	if err != nil {
		return nil, err
	}
	all = genetics.Ancestry(all, []string{id})
	of := map[string]genetics.Parents{}
	for _, p := range all {
		of[p.ID] = p
	}
	p := &pedigree{generation: genetics.Generations(all)[id]}
	// depth is how many generations are known behind an ancestor, up to most.
	var depth func(id string, most int) int
	depth = func(id string, most int) int {
		a, ok := of[id]
		if !ok || most == 0 || a.Seed == "" && a.Pollen == "" {
			return 0
		}
		return 1 + max(depth(a.Seed, most-1), depth(a.Pollen, most-1))
	}
	deep := depth(id, ancestors)
	var names []string
	// draw puts an ancestor into rows from top, which hold 2^left of the last generation.
	var draw func(id string, level, top, left int, seed bool) (y int)
	draw = func(id string, level, top, left int, seed bool) int {
		rows := 1 << left
		y := (2*top + rows - 1) * stepY / 2
		a := ancestor{ID: id, X: level * stepX, Y: y, Seed: seed, First: level == 0, Known: id != ""}
		who, ok := of[id]
		if ok && who.Seed == "" && who.Pollen == "" {
			a.Words = who.Group
		}
		if id != "" {
			names = append(names, id)
		}
		p.Boxes = append(p.Boxes, a)
		if left == 0 || !ok || who.Seed == "" && who.Pollen == "" {
			return y
		}
		for i, parent := range [2]string{who.Seed, who.Pollen} {
			py := draw(parent, level+1, top+i*rows/2, left-1, i == 0)
			p.Lines = append(p.Lines, [4]int{level*stepX + boxW, y + boxH/2, (level + 1) * stepX, py + boxH/2})
		}
		return y
	}
	draw(id, 0, 0, deep, false)
	p.W, p.H = deep*stepX+boxW+2, (1<<deep)*stepY
	colors, err := compose.ColorsOf(q.ctx(), q.b, names)
	if err != nil {
		return nil, err
	}
	for i := range p.Boxes {
		if m := colors[p.Boxes[i].ID]; m != nil {
			p.Boxes[i].Hex, p.Boxes[i].Name = m.Hex, cie.Name(m.Lab.Lab())
		}
	}
	return p, nil
}
