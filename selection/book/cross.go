package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"hueward/selection/book/record"
	"hueward/selection/book/remedy"
	"hueward/selection/genetics"
)

// AddCross adds a cross and the given number of heads of its seed parent that it will be made on, and returns both as
// the book has them. The book makes the Name. An empty Line means that of the parents, and is an error if they differ.
// An empty Kind is found from the parents: self, or sib if they are full sibs, else cross; it must be given if there is
// no pollen parent. The error wraps ErrNotFound for a plant that is not in the book. Stored Pollen determines the pollen
// parent; giving another one is an error. A cross of two plants with the same genes, such as two cuttings, is a self.
func (b *Book) AddCross(ctx context.Context, c Cross, heads int) (*Cross, []Head, error) {
	if err := checkCount("seeds", c.Seeds); err != nil {
		return nil, nil, err
	}
	if heads < 0 || heads > record.MaxHeads {
		return nil, nil, fmt.Errorf("%d heads; want 0 to %d", heads, record.MaxHeads)
	}
	var names []string
	err := b.Change(ctx, func(t *record.Tx) string {
		season := t.Season(c.Season)
		stored := storedPollen(t, &c)
		seed, pollen, line := b.mates(t, &c)
		var id int64
		id, c.Name = t.AddNamed("X", "cross", c.Season, `line_id, kind, seed_parent_id, pollen_parent_id, made_on, seeds, note, added_at,
			pollen_id`, line, c.Kind, seed.id, record.OrNull(pollen.id), dayText(c.MadeOn), c.Seeds, c.Note, b.Stamp(), record.OrNull(stored))
		for range heads {
			_, name := b.insertHead(t, seed.id, seed.name, 0, season, id)
			names = append(names, name)
		}
		return fmt.Sprintf("cross %s: %s", c.Name, c.Parents())
	})
	if err != nil {
		return nil, nil, err
	}
	made, err := crossRecords.named(ctx, b, c.Name)
	if err != nil {
		return nil, nil, err
	}
	list, err := b.headsNamed(ctx, names)
	return made, list, err
}

// storedPollen returns the row of the stored pollen that the cross uses, or 0, and sets the cross's pollen parent to
// the plant it is of.
func storedPollen(t *record.Tx, c *Cross) int64 {
	if c.Pollen == "" {
		return 0
	}
	id, name := t.Find("pollen", c.Pollen)
	var plant, of, collected string
	t.Get("SELECT p.name, l.collected_on FROM pollen l JOIN plant p ON p.id = l.plant_id WHERE l.id = ?", id).Into(&plant, &collected)
	if c.PollenParent != "" {
		t.In("pollen parent", func() { _, of = t.Find("plant", c.PollenParent) })
	}
	switch {
	case c.Kind == KindOpen:
		t.Fail(errors.New("an open-pollinated head has no stored pollen; leave it out"))
	case of != "" && of != plant:
		t.Failf("pollen %q is of %s, not of %s", name, plant, of)
	case !c.MadeOn.IsZero() && c.MadeOn.Format(time.DateOnly) < collected:
		t.Failf("pollen %q was collected on %s, after the cross on %s", name, collected, c.MadeOn.Format(time.DateOnly))
	}
	c.Pollen, c.PollenParent = name, plant
	return id
}

// mate is a parent of a cross; the zero value is an unknown parent.
type mate struct {
	id           int64
	genes        int64 // row of the plant that it is a tuber, cutting or division of; else its own row
	name, line   string
	lineID       int64
	seed, pollen sql.NullInt64
}

func mateOf(t *record.Tx, what, typed string) (m mate) {
	t.In(what, func() {
		m.id, m.name = t.Find("plant", typed)
		const genes = "(SELECT coalesce(clone_of_id, id) FROM plant WHERE id = "
		t.Get(`SELECT coalesce(p.clone_of_id, p.id), p.line_id, n.name, `+genes+"p.seed_parent_id), "+genes+`p.pollen_parent_id)
			FROM plant p JOIN line n ON n.id = p.line_id WHERE p.id = ?`, m.id).Into(&m.genes, &m.lineID, &m.line, &m.seed, &m.pollen)
	})
	return m
}

// mates looks up the parents and completes names, kind and line of the cross.
func (b *Book) mates(t *record.Tx, c *Cross) (seed, pollen mate, line int64) {
	seed = mateOf(t, "seed parent", c.SeedParent)
	c.SeedParent = seed.name
	if c.PollenParent != "" {
		if pollen = mateOf(t, "pollen parent", c.PollenParent); pollen.genes == seed.genes { // a self, whichever of its tubers the pollen is from
			pollen = seed
		}
		c.PollenParent = pollen.name
	}
	if t.Err() != nil {
		return seed, pollen, 0
	}
	known := pollen.id != 0
	switch {
	case c.Kind == "" && !known:
		t.Fail(errors.New("no pollen parent; name it, or say that it is open-pollinated or that the pollen is unknown"))
	case c.Kind == "":
		c.Kind = kindOf(seed, pollen)
	case c.Kind == KindOpen && known:
		t.Fail(errors.New("an open-pollinated head has no known pollen parent; leave it out"))
	case c.Kind == KindSelf && !known:
		pollen, c.PollenParent = seed, seed.name
	case known && (c.Kind == KindSelf) != (pollen.id == seed.id):
		t.Failf("%s × %s is no %s", seed.name, pollen.name, c.Kind)
	}
	switch {
	case c.Line != "":
		line, _ = b.ensureLine(t, c.Line)
		return seed, pollen, line
	case pollen.id != 0 && pollen.lineID != seed.lineID:
		t.Fail(remedy.Step(remedy.SayLine).Errorf("the parents are of two lines, %q and %q; say which line the offspring belong to",
			seed.line, pollen.line))
	}
	c.Line = seed.line
	return seed, pollen, seed.lineID
}

// kindOf returns the kind of a cross between the two.
func kindOf(seed, pollen mate) Kind {
	switch {
	case pollen.id == seed.id:
		return KindSelf
	case genetics.FullSibs([2]sql.NullInt64{seed.seed, seed.pollen}, [2]sql.NullInt64{pollen.seed, pollen.pollen}, sql.NullInt64{}):
		return KindSib
	}
	return KindCross
}

// CrossFix holds corrections of a cross; a nil field leaves its value as it is.
type CrossFix struct {
	PollenParent *string    // empty: not known
	MadeOn       *time.Time // zero: not said
	Seeds        *int       // negative: not counted
	Note         *string
}

// FixCross corrects a cross. A corrected pollen parent becomes that of the cross's offspring in the book, too; the error
// wraps [record.ErrOwnAncestor] if the new parent descends from one of them.
func (b *Book) FixCross(ctx context.Context, name string, fix CrossFix) (*Cross, error) {
	return crossRecords.fix(ctx, b, name, func(t *record.Tx, row int64, full string) string {
		if fix.PollenParent != nil {
			b.fixPollen(t, row, *fix.PollenParent)
		}
		correct(t, "cross", row, columns{"made_on": fix.MadeOn, "seeds": fix.Seeds, "note": fix.Note})
		return "cross " + full + " corrected"
	})
}

func (b *Book) fixPollen(t *record.Tx, cross int64, typed string) {
	c := Cross{PollenParent: typed}
	t.Get(`SELECT p.name, n.name FROM "cross" c JOIN plant p ON p.id = c.seed_parent_id JOIN line n ON n.id = c.line_id
		WHERE c.id = ?`, cross).Into(&c.SeedParent, &c.Line)
	if typed == "" {
		c.Kind = KindCross
	}
	_, pollen, _ := b.mates(t, &c)
	id := record.OrNull(pollen.id)
	const children = " FROM plant p JOIN sowing w ON w.id = p.sowing_id JOIN packet k ON k.id = w.packet_id WHERE k.cross_id = ?2"
	var grown []int64
	if id != nil {
		t.Each("SELECT p.id, p.name"+children, []any{nil, cross}, func(scan func(to ...any)) {
			var row int64
			var name string
			scan(&row, &name)
			t.NotOwnAncestor(row, name, pollen.id, pollen.name)
			grown = append(grown, row)
		})
	}
	// Stored pollen of another plant cannot have been used.
	t.Do(`UPDATE "cross" SET pollen_parent_id = ?1, kind = ?2, pollen_id = (SELECT l.id FROM pollen l
		WHERE l.id = "cross".pollen_id AND l.plant_id = ?1) WHERE id = ?3`, id, c.Kind, cross)
	t.Do("WITH of_it (id) AS (SELECT p.id"+children+") UPDATE plant SET pollen_parent_id = ?1 WHERE id IN of_it OR clone_of_id IN of_it",
		id, cross)
	for _, row := range grown {
		t.NotBefore(row, "id")
	}
}

// checkCount returns an error for a count below 0 or above maxCount.
func checkCount(what string, n *int) error {
	if n != nil && (*n < 0 || *n > maxCount) {
		return fmt.Errorf("%d %s; want 0 to %d", *n, what, maxCount)
	}
	return nil
}

// maxCount is the largest accepted count of seeds, against mistyping: our own choice.
const maxCount = 10_000_000
