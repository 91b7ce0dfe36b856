package genetics

// Ancestry returns the plants named by their ids in of, and all their ancestors, in the order of the list.
func Ancestry(plants []Parents, of []string) []Parents {
	place := make(map[string]int, len(plants))
	for i := range plants {
		place[plants[i].ID] = i
	}
	in := make([]bool, len(plants))
	stack := append([]string{}, of...)
	for len(stack) > 0 {
		id := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		i, ok := place[id]
		if !ok || in[i] {
			continue
		}
		in[i] = true
		stack = append(stack, plants[i].Seed, plants[i].Pollen)
	}
	var out []Parents
	for i, p := range plants {
		if in[i] {
			out = append(out, p)
		}
	}
	return out
}

// Ancestors returns, by place, the ancestors of the places in of, founder groups included, without those in of themselves.
func (p *Pedigree) Ancestors(of []bool) []bool {
	out := make([]bool, len(of))
	for at := int32(len(of)) - 1; at >= int32(p.Groups()); at-- { // parents stand before their offspring
		if of[at] || out[at] {
			out[p.seed[at]], out[p.pollen[at]] = true, true
		}
	}
	for at, in := range of {
		out[at] = out[at] && !in
	}
	return out
}
