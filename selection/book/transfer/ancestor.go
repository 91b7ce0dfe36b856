package transfer

import (
	"slices"
	"strings"

	"hueward/selection/book/exchange"
	"hueward/selection/genetics"
)

// checkAncestors refuses plants that would be their own ancestors, and those of a season before that of a parent.
func (im *importer) checkAncestors() {
	x := im.index[plantKind]
	if x == nil || len(x.rows) == 0 && len(x.again) == 0 {
		return
	}
	names, parents, seasons := map[int64]string{}, map[int64][2]int64{}, map[int64]int64{}
	im.tx.Each(`SELECT name, id, coalesce(clone_of_id, seed_parent_id, 0), iif(clone_of_id IS NULL, coalesce(pollen_parent_id, 0), 0),
		season_id FROM plant`, nil, func(scan func(to ...any)) {
		var id, season int64
		var name string
		var p [2]int64
		scan(&name, &id, &p[0], &p[1], &season)
		names[id], parents[id], seasons[id] = name, p, season
	})
	told := map[int64]*importRow{}
	var order []*importRow // of the files
	for _, s := range im.sources {
		if s.kind != plantKind {
			continue
		}
		for _, r := range s.rows {
			seed, _ := r.whole("seed_parent")
			pollen, _ := r.whole("pollen_parent")
			if of, ok := r.whole("clone_of"); ok { // it comes of what that one comes of
				seed, pollen = of, 0
			}
			names[r.id], parents[r.id], told[r.id] = r.name(), [2]int64{seed, pollen}, r
			if season, ok := r.whole("season"); ok {
				seasons[r.id] = season
			}
			order = append(order, r)
		}
	}
	im.checkYounger(order, names, parents, seasons)
	list := make([]genetics.Parents, 0, len(parents))
	for id, p := range parents {
		list = append(list, genetics.Parents{ID: names[id], Seed: names[p[0]], Pollen: names[p[1]]})
	}
	generation := genetics.Generations(list)
	inRing := func(id int64) bool { return id != 0 && generation[names[id]] == "" } // or it descends from one that is
	done := map[int64]bool{}
	for _, r := range order {
		// Up from a plant without a generation, by parents without one, comes a ring.
		var way []int64
		for id := r.id; inRing(id) && !done[id]; {
			done[id] = true
			way = append(way, id)
			p := parents[id]
			if id = p[0]; !inRing(id) {
				id = p[1]
			}
			if i := slices.Index(way, id); i >= 0 {
				im.ring(way[i:], names, told)
			}
		}
	}
}

// checkYounger refuses rows of plants that are of a season before that of a parent.
func (im *importer) checkYounger(order []*importRow, names map[int64]string, parents map[int64][2]int64, seasons map[int64]int64) {
	known := map[int64]string{}
	name := func(season int64) string {
		if known[season] == "" {
			known[season], _ = im.row(seasonKind, season)[seasonKind.at("season")].(string)
		}
		return known[season]
	}
	for _, r := range order {
		for k, parent := range parents[r.id] {
			if parent == 0 || seasons[parent] == 0 || seasons[parent] == seasons[r.id] {
				continue
			}
			if own, of := name(seasons[r.id]), name(seasons[parent]); genetics.Before(own, of) {
				im.fail(r, [2]string{"seed_parent", "pollen_parent"}[k], "plant %s is of season %s, before that of its parent %s, %s; correct "+
					"the season or the parent",
					exchange.Quote(r.name()), own, exchange.Quote(names[parent]), of)
			}
		}
	}
}

// ring tells of plants of which each is a parent of the one before, and the first of the last.
func (im *importer) ring(ids []int64, plants map[int64]string, told map[int64]*importRow) {
	i := slices.IndexFunc(ids, func(id int64) bool { return told[id] != nil })
	if i < 0 {
		return // it is none of what is imported
	}
	r := told[ids[i]]
	var names []string
	for _, id := range append(slices.Clone(ids), ids[0]) {
		names = append(names, plants[id])
	}
	if len(names) > 8 {
		names = append(names[:4], append([]string{"…"}, names[len(names)-2:]...)...)
	}
	column := "seed_parent"
	if p, ok := r.whole("pollen_parent"); ok && slices.Contains(ids, p) {
		column = "pollen_parent"
	}
	im.fail(r, column, "plant %s would be its own ancestor (%s); correct the parents", exchange.Quote(r.name()), strings.Join(names,
		", child of "))
}
