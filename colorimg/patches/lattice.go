package patches

import (
	"cmp"
	"maps"
	"math"
	"slices"
)

// lattice is spots that lie in rows and columns: where each is, counted in steps from one of them.
type lattice struct {
	cells map[[2]int]int // to the spot's place in the list
	h     plane          // takes cells to the picture
}

// lattices lists the largest regular arrangements of the spots, none of them within another.
func lattices(list []spot) []lattice {
	var out []lattice
	used := make([]int, len(list)) // size of the largest lattice that holds the spot
	for a := range list {
		for _, b := range around(list, a) {
			for _, c := range around(list, a) {
				u, v := from(list[a], list[b]), from(list[a], list[c])
				lu, lv := math.Hypot(u[0], u[1]), math.Hypot(v[0], v[1])
				cross, dot := u[0]*v[1]-u[1]*v[0], u[0]*v[0]+u[1]*v[1]
				if cross < 0.8*lu*lv || math.Abs(dot) > 0.6*lu*lv || lu > 1.7*lv || lv > 1.7*lu {
					continue
				}
				cells := spread(list, a, u, v)
				if len(cells) < 4 || len(cells) <= used[a] {
					continue
				}
				if h, ok := settle(list, cells); ok && len(cells) > used[a] {
					out = append(out, lattice{cells, h})
					for _, i := range cells {
						used[i] = max(used[i], len(cells))
					}
				}
			}
		}
	}
	slices.SortStableFunc(out, func(a, b lattice) int { return cmp.Compare(len(b.cells), len(a.cells)) })
	return out[:min(len(out), 6)]
}

func from(a, b spot) [2]float64 { return [2]float64{b.x - a.x, b.y - a.y} }

// around returns the few nearest spots of similar size, no farther away than two sizes.
func around(list []spot, a int) []int {
	type near struct {
		i int
		d float64
	}
	var all []near
	for i, s := range list {
		d := math.Hypot(s.x-list[a].x, s.y-list[a].y)
		if i != a && like(s, list[a]) && d > 0.8*list[a].size && d < 2.4*list[a].size {
			all = append(all, near{i, d})
		}
	}
	slices.SortFunc(all, func(p, q near) int { return cmp.Compare(p.d, q.d) })
	var out []int
	for _, n := range all[:min(len(all), 8)] {
		out = append(out, n.i)
	}
	return out
}

func like(a, b spot) bool { return a.size < 1.45*b.size && b.size < 1.45*a.size }

// spread walks from spot a to its neighbours, theirs and so on, by the steps u
// and v, which follow the perspective as they go.
func spread(list []spot, a int, u, v [2]float64) map[[2]int]int {
	type member struct {
		cell [2]int
		spot int
		u, v [2]float64
	}
	cells := map[[2]int]int{{}: a}
	taken := map[int]bool{a: true}
	queue := []member{{spot: a, u: u, v: v}}
	for len(queue) > 0 {
		m := queue[0]
		queue = queue[1:]
		for k, d := range [4][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
			cell := [2]int{m.cell[0] + d[0], m.cell[1] + d[1]}
			if _, ok := cells[cell]; ok {
				continue
			}
			step := m.u
			if k >= 2 {
				step = m.v
			}
			sign := float64(1 - 2*(k%2))
			want := spot{x: list[m.spot].x + sign*step[0], y: list[m.spot].y + sign*step[1], size: list[m.spot].size}
			best, at := 0.22*math.Hypot(step[0], step[1]), -1
			for i, s := range list {
				if d := math.Hypot(s.x-want.x, s.y-want.y); d < best && like(s, want) && !taken[i] {
					best, at = d, i
				}
			}
			if at < 0 {
				continue
			}
			n := member{cell: cell, spot: at, u: m.u, v: m.v}
			seen := from(list[m.spot], list[at])
			for c := range 2 {
				if k < 2 {
					n.u[c] = (m.u[c] + sign*seen[c]) / 2
				} else {
					n.v[c] = (m.v[c] + sign*seen[c]) / 2
				}
			}
			cells[cell] = at
			taken[at] = true
			queue = append(queue, n)
		}
	}
	return cells
}

// settle fits the plane, and removes the cells that do not fit it.
func settle(list []spot, cells map[[2]int]int) (h plane, ok bool) {
	for range 3 {
		var from, to [][2]float64
		for _, cell := range sorted(cells) {
			s := list[cells[cell]]
			from, to = append(from, [2]float64{float64(cell[0]), float64(cell[1])}), append(to, [2]float64{s.x, s.y})
		}
		if h, ok = fitPlane(from, to); !ok {
			return h, false
		}
		out := false
		for i, p := range from {
			x, y := h.Apply(p[0], p[1])
			cell := [2]int{int(p[0]), int(p[1])}
			if math.Hypot(x-to[i][0], y-to[i][1]) > 0.18*list[cells[cell]].size {
				delete(cells, cell)
				out = true
			}
		}
		if !out {
			return h, true
		}
	}
	return h, ok
}

// sorted are the cells in a fixed order, so that the same picture gives the same answer to the last digit.
func sorted(cells map[[2]int]int) [][2]int {
	return slices.SortedFunc(maps.Keys(cells), func(a, b [2]int) int { return cmp.Or(cmp.Compare(a[1], b[1]), cmp.Compare(a[0], b[0])) })
}
