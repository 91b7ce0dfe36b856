// Package merge makes one plant of two that the book took for different ones.
package merge

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"hueward/selection/book/record"
	"hueward/selection/book/sqlite"
)

// Merged says what was done.
type Merged struct {
	Plant, Into string   // their full names; Plant is gone
	Moved       string   // what went over, as "2 photos, 1 head"; empty: nothing depended on it
	Odd         []string // what the two did not agree on, and which counts now
}

// Plants is what [book.Book.MergePlants] does, within a change.
func Plants(t *record.Tx, plant, into string) *Merged {
	out := &Merged{}
	m := merging{Tx: t, out: out}
	m.from, out.Plant = t.Find("plant", plant)
	m.to, out.Into = t.Find("plant", into)
	if m.from == m.to {
		t.Failf("plant %q: it is the same plant; name two", out.Plant)
	}
	for _, way := range [2]struct {
		child, parent         int64
		childName, parentName string
	}{{m.to, m.from, out.Into, out.Plant}, {m.from, m.to, out.Plant, out.Into}} {
		if t.Err() != nil {
			return out
		}
		if t.NotOwnAncestor(way.child, way.childName, way.parent, way.parentName); errors.Is(t.Err(), record.ErrOwnAncestor) {
			t.Instead(fmt.Errorf("plants %q and %q: %s comes of %s; as one plant it %w", out.Plant, out.Into, way.parentName, way.childName,
				record.ErrOwnAncestor))
		}
	}
	moved, err := record.RestingOn(context.Background(), t, m.from)
	t.Fail(err)
	out.Moved = moved
	for _, step := range []func(){m.facts, m.scores, m.heads, m.crosses, m.rest, m.readings} {
		step()
	}
	t.Do("DELETE FROM plant WHERE id = ?", m.from)
	t.NotBefore(m.to, "id", "seed_parent_id", "pollen_parent_id")
	return out
}

// merging is one merging of two plants, by their rows.
type merging struct {
	*record.Tx
	from, to int64
	out      *Merged
}

func (m *merging) odd(format string, args ...any) {
	m.out.Odd = append(m.out.Odd, fmt.Sprintf(format, args...))
}

// either fills in what one alone says; of two that differ, has counts.
func (m *merging) either(what string, has *string, had string) {
	if *has = cmp.Or(*has, had); had != "" && had != *has {
		m.odd("%s %s, not %s", what, *has, had)
	}
}

func (m *merging) factsOf(row int64) (f mergedFacts) {
	m.Get(`SELECT n.name, s.name, p.status, p.founder_group, p.note, p.seed_parent_id, p.pollen_parent_id,
			coalesce(sp.name, 'not known'), coalesce(pp.name, 'not known'), p.founder_inbreeding, p.sowing_id, p.clone_of_id,
			p.cloned_by, p.place, coalesce(r.name, '')
		FROM plant p JOIN line n ON n.id = p.line_id JOIN season s ON s.id = p.season_id
		LEFT JOIN plant sp ON sp.id = p.seed_parent_id LEFT JOIN plant pp ON pp.id = p.pollen_parent_id
		LEFT JOIN plant r ON r.id = p.clone_of_id WHERE p.id = ?`, row).
		Into(&f.line, &f.season, &f.status, &f.group, &f.note, &f.seed, &f.pollen, &f.seedName, &f.pollenName, &f.inbreeding, &f.sowing,
			&f.clone, &f.by, &f.place, &f.rootName)
	return f
}

// origin is where the plant comes from, in words; empty: not said.
func (f *mergedFacts) origin() string {
	switch {
	case f.clone.Valid:
		return f.by + " of " + f.rootName
	case f.seed.Valid || f.pollen.Valid:
		return fmt.Sprintf("parents %s × %s", f.seedName, f.pollenName)
	case f.group != "":
		return "founder group " + f.group
	}
	return ""
}

// facts makes one of what the two rows say.
func (m *merging) facts() {
	gone, f := m.factsOf(m.from), m.factsOf(m.to)
	m.either("line", &f.line, gone.line)
	m.either("season", &f.season, gone.season)
	if f.status == string(record.Growing) {
		f.status = gone.status
	} else if gone.status != string(record.Growing) && gone.status != f.status {
		m.odd("status %s, not %s", record.Status(f.status).Word(), record.Status(gone.status).Word())
	}
	fits := func(x, y sql.NullInt64) bool { return !x.Valid || !y.Valid || x == y }
	switch known := f.seed.Valid || f.pollen.Valid; {
	case f.clone.Valid || gone.clone.Valid: // the parents and founder group of a clone are those of the plant that it is of
		if f.origin() == "" {
			f.clone, f.by, f.seed, f.pollen, f.group, f.inbreeding = gone.clone, gone.by, gone.seed, gone.pollen, gone.group, gone.inbreeding
		} else if is, not := f.origin(), gone.origin(); not != "" && is != not {
			m.odd("%s, not %s", is, not)
		}
		if !f.sowing.Valid {
			f.sowing = gone.sowing
		}
	case !fits(f.seed, gone.seed) || !fits(f.pollen, gone.pollen):
		m.odd("parents %s × %s, not %s × %s", f.seedName, f.pollenName, gone.seedName, gone.pollenName)
	case !known && f.group != "" && (gone.seed.Valid || gone.pollen.Valid):
		m.odd("founder group %s, not parents %s × %s", f.group, gone.seedName, gone.pollenName)
	default:
		for has, had := range map[*sql.NullInt64]sql.NullInt64{&f.seed: gone.seed, &f.pollen: gone.pollen, &f.sowing: gone.sowing} {
			if !has.Valid {
				*has = had
			}
		}
		if f.seed.Valid || f.pollen.Valid {
			break
		}
		m.either("founder group", &f.group, gone.group)
		switch {
		case !f.inbreeding.Valid:
			f.inbreeding = gone.inbreeding
		case gone.inbreeding.Valid && gone.inbreeding != f.inbreeding:
			m.odd("founder inbreeding %g, not %g", f.inbreeding.Float64, gone.inbreeding.Float64)
		}
	}
	m.either("place", &f.place, gone.place)
	switch {
	case f.note == "":
		f.note = gone.note
	case gone.note != "" && !strings.Contains(f.note, gone.note):
		f.note += "; " + gone.note
	}
	if f.clone.Valid { // the tubers of a plant that turns out to be a tuber itself
		m.Do("UPDATE plant SET clone_of_id = ? WHERE clone_of_id = ?", f.clone, m.to)
	}
	m.Do(`UPDATE plant SET status = ?, seed_parent_id = ?, pollen_parent_id = ?, founder_group = ?, founder_inbreeding = ?,
		note = ?, sowing_id = ?, clone_of_id = ?, cloned_by = ?, place = ? WHERE id = ?`, f.status, f.seed, f.pollen, f.group, f.inbreeding,
		f.note, f.sowing, f.clone, f.by, f.place, m.to)
}

// scores goes over; of a trait that both were scored on, the newer score counts.
func (m *merging) scores() {
	m.Each(`SELECT t.name, coalesce(t.words ->> 0, '') FROM trait t WHERE (SELECT count(DISTINCT x.plant_id) FROM score x
		WHERE x.trait_id = t.id AND x.plant_id IN (?1, ?2)) = 2 AND (SELECT value FROM score WHERE plant_id = ?1 AND trait_id = t.id
			ORDER BY id DESC LIMIT 1) <> (SELECT value FROM score WHERE plant_id = ?2 AND trait_id = t.id ORDER BY id DESC LIMIT 1)
		ORDER BY t.id`, []any{m.from, m.to}, func(scan func(to ...any)) {
		t := record.Trait{Words: []string{""}}
		scan(&t.Name, &t.Words[0])
		m.odd("%s as scored last", t.Title())
	})
	m.Do("UPDATE score SET plant_id = ? WHERE plant_id = ?", m.to, m.from)
}

// heads go over under their names, with the next free numbers.
func (m *merging) heads() {
	for _, h := range record.All[int64](m.Tx, "SELECT id FROM head WHERE plant_id = ? ORDER BY number", m.from) {
		m.Do(`UPDATE head SET plant_id = ?1, number = (SELECT coalesce(max(number), 0) + 1 FROM head WHERE plant_id = ?1)
			WHERE id = ?2`, m.to, h)
	}
}

// crosses go over; one of the two with each other is a selfing now.
func (m *merging) crosses() {
	for _, name := range record.All[string](m.Tx, `SELECT name FROM "cross" WHERE seed_parent_id IN (?1, ?2) AND pollen_parent_id IN (?1, ?2)
		AND seed_parent_id <> pollen_parent_id ORDER BY id`, m.from, m.to) {
		m.odd("cross %s is a selfing now", name)
	}
	m.Do(`UPDATE "cross" SET seed_parent_id = iif(seed_parent_id = ?1, ?2, seed_parent_id),
		pollen_parent_id = iif(pollen_parent_id = ?1, ?2, pollen_parent_id),
		kind = iif(seed_parent_id IN (?1, ?2) AND pollen_parent_id IN (?1, ?2), 'self', kind)
		WHERE seed_parent_id = ?1 OR pollen_parent_id = ?1`, m.from, m.to)
}

// rest is what simply names the other plant: photos, children, stored pollen and its tubers.
func (m *merging) rest() {
	for _, q := range [...]string{"UPDATE photo SET plant_id = ?2 WHERE plant_id = ?1", "UPDATE pollen SET plant_id = ?2 WHERE plant_id = ?1",
		"UPDATE plant SET clone_of_id = (SELECT coalesce(clone_of_id, id) FROM plant WHERE id = ?2) WHERE clone_of_id = ?1",
		"UPDATE plant SET seed_parent_id = ?2 WHERE seed_parent_id = ?1", "UPDATE plant SET pollen_parent_id = ?2 WHERE pollen_parent_id = ?1"} {
		m.Do(q, m.from, m.to)
	}
}

// readings by an instrument go over, with new sums. They note no row by themselves: each
// is taken out and put in again under its number.
func (m *merging) readings() {
	for _, r := range record.All[int64](m.Tx, "SELECT id FROM reading WHERE plant_id = ? ORDER BY id", m.from) {
		m.Remove("reading", r, r)
		var row string
		m.Get(`SELECT json_set(before, '$.plant_id', ?) FROM changed_row WHERE tbl = 'reading' AND row = ?
			AND change_id = (SELECT change_id FROM change_now) ORDER BY id DESC LIMIT 1`, m.to, r).Into(&row)
		m.PutBack("reading", r, row)
		m.Do(sqlite.SumReading, r)
	}
}

// mergedFacts is what a plant's own row says.
type mergedFacts struct {
	line, season, status, group, note string
	seed, pollen                      sql.NullInt64
	seedName, pollenName              string
	inbreeding                        sql.NullFloat64
	sowing, clone                     sql.NullInt64
	by, place, rootName               string
}
