package genetics

// Ancestry is the part of a pedigree that matters for the plants named: these and all
// their ancestors, in the order of the list.
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
