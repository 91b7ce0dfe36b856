package transfer

import (
	"slices"
	"strings"

	"hueward/selection/book/exchange"
)

// checkAncestors refuses plants that would be their own ancestors.
func (im *importer) checkAncestors() error {
	x := im.index[plantKind]
	if len(x.rows) == 0 && len(x.again) == 0 {
		return nil
	}
	parents := map[int64][2]int64{}
	rows, err := im.tx.Query(`SELECT id, coalesce(seed_parent_id, 0), coalesce(pollen_parent_id, 0) FROM plant
		WHERE seed_parent_id IS NOT NULL OR pollen_parent_id IS NOT NULL`)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var id int64
		var p [2]int64
		if err := rows.Scan(&id, &p[0], &p[1]); err != nil {
			return err
		}
		parents[id] = p
	}
	if err := rows.Err(); err != nil {
		return err
	}
	var told []*importRow // in order of the files
	for _, s := range im.sources {
		if s.kind != plantKind {
			continue
		}
		for _, r := range s.rows {
			seed, _ := r.whole("seed_parent")
			pollen, _ := r.whole("pollen_parent")
			if seed != 0 || pollen != 0 {
				parents[r.id] = [2]int64{seed, pollen}
			} else {
				delete(parents, r.id)
			}
			told = append(told, r)
		}
	}
	const under, done = 1, 2
	state := map[int64]int{}
	for _, r := range told {
		// The way up from r, with how many of the parents were gone to.
		type step struct {
			id   int64
			next int
		}
		way := []step{{id: r.id}}
		for len(way) > 0 {
			at := &way[len(way)-1]
			if at.next == 0 && state[at.id] == done {
				way = way[:len(way)-1]
				continue
			}
			state[at.id] = under
			if at.next == 2 {
				state[at.id] = done
				way = way[:len(way)-1]
				continue
			}
			p := parents[at.id][at.next]
			at.next++
			if p == 0 || state[p] == done {
				continue
			}
			if state[p] == under {
				i := slices.IndexFunc(way, func(s step) bool { return s.id == p })
				var ids []int64
				for _, s := range way[i:] {
					ids = append(ids, s.id)
				}
				im.ring(ids)
				continue
			}
			way = append(way, step{id: p})
		}
	}
	return nil
}

// ring tells of plants of which each is a parent of the one before, and the
// first of the last.
func (im *importer) ring(ids []int64) {
	x := im.index[plantKind]
	name := func(id int64) string {
		if id >= x.first {
			return x.rows[id-x.first].name()
		}
		if r := x.again[id]; r != nil {
			return r.name()
		}
		for n, i := range x.ids {
			if i == id {
				return n
			}
		}
		return ""
	}
	var r *importRow
	for _, id := range ids {
		if id >= x.first {
			r = x.rows[id-x.first]
		} else {
			r = x.again[id]
		}
		if r != nil {
			break
		}
	}
	if r == nil {
		return // it is none of what is imported
	}
	var names []string
	for _, id := range append(ids, ids[0]) {
		names = append(names, name(id))
	}
	if len(names) > 8 {
		names = append(names[:4], append([]string{"…"}, names[len(names)-2:]...)...)
	}
	column := "seed_parent"
	if p, ok := r.whole("pollen_parent"); ok && slices.Contains(ids, p) {
		column = "pollen_parent"
	}
	im.fail(r, column, "plant %s would be its own ancestor (%s); correct the parents", exchange.Quote(r.name()), strings.Join(names, ", child of "))
}
