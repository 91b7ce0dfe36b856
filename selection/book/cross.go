package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/remedy"
	"hueward/selection/genetics"
)

// AddCross notes a cross, and so many heads of its seed parent that it will be
// made on, and returns both as the book has them. Name is made by the book.
// An empty Line is that of the parents, an error when they differ. An empty
// Kind is found from the parents: self, sib where they are full sibs, else cross;
// without a pollen parent it must be said. The error wraps ErrNotFound for a plant that
// is not in the book. Stored Pollen says the pollen parent; another one is an error. A cross of
// two plants of the same genes, such as two cuttings, is a self.
func (b *Book) AddCross(ctx context.Context, c Cross, heads int) (*Cross, []Head, error) {
	if err := checkCount("seeds", c.Seeds); err != nil {
		return nil, nil, err
	}
	if heads < 0 || heads > record.MaxHeads {
		return nil, nil, fmt.Errorf("%d heads; want 0 to %d", heads, record.MaxHeads)
	}
	var names []string
	err := b.change(ctx, func(tx *sql.Tx) (string, error) {
		season, err := record.EnsureSeason(tx, c.Season)
		if err != nil {
			return "", err
		}
		stored, err := storedPollen(tx, &c)
		if err != nil {
			return "", err
		}
		seed, pollen, line, err := b.mates(tx, &c)
		if err != nil {
			return "", err
		}
		if c.Name, err = record.NextName(tx, "X", "cross", c.Season); err != nil {
			return "", err
		}
		var pollenID any
		if pollen != nil {
			pollenID = pollen.id
		}
		res, err := tx.Exec(`INSERT INTO "cross" (name, key, line_id, season_id, kind, seed_parent_id, pollen_parent_id, made_on, seeds, note,
			added_at, pollen_id)
			VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
			c.Name, naming.Key(c.Name), line, season, c.Kind, seed.id, pollenID, dayText(c.MadeOn), record.CountOf(c.Seeds),
			c.Note, b.Stamp(), stored)
		if err != nil {
			return "", err
		}
		id, err := res.LastInsertId()
		if err != nil {
			return "", err
		}
		for range heads {
			name, err := b.insertHead(tx, seed.id, seed.name, 0, season, id)
			if err != nil {
				return "", err
			}
			names = append(names, name)
		}
		return fmt.Sprintf("cross %s: %s", c.Name, crossWords(c)), nil
	})
	if err != nil {
		return nil, nil, err
	}
	made, err := b.cross(ctx, c.Name)
	if err != nil {
		return nil, nil, err
	}
	list, err := b.headsNamed(ctx, names)
	return made, list, err
}

// cross is the cross of that full name.
func (b *Book) cross(ctx context.Context, name string) (*Cross, error) {
	crosses, err := record.Crosses(ctx, b.from, "c.key = ?", naming.Key(name))
	if err != nil || len(crosses) == 0 {
		return nil, errors.Join(err, fmt.Errorf("cross %q: %w", name, ErrNotFound))
	}
	return &crosses[0], nil
}

// crossWords names the parents.
func crossWords(c Cross) string {
	switch {
	case c.Kind == KindSelf:
		return c.SeedParent + " selfed"
	case c.Kind == KindOpen:
		return c.SeedParent + " open-pollinated"
	case c.PollenParent == "":
		return c.SeedParent + " × not known"
	}
	return c.SeedParent + " × " + c.PollenParent
}

// storedPollen is the row of the stored pollen that the cross uses, whose plant is its
// pollen parent; nil for none.
func storedPollen(tx *sql.Tx, c *Cross) (row any, err error) {
	if c.Pollen == "" {
		return nil, nil
	}
	id, name, err := record.Find(context.Background(), tx, "pollen", c.Pollen)
	if err != nil {
		return nil, err
	}
	var plant, of string
	var collected string
	if err := tx.QueryRow("SELECT p.name, l.collected_on FROM pollen l JOIN plant p ON p.id = l.plant_id WHERE l.id = ?", id).
		Scan(&plant, &collected); err != nil {
		return nil, err
	}
	if c.PollenParent != "" {
		if _, of, err = record.Find(context.Background(), tx, "plant", c.PollenParent); err != nil {
			return nil, fmt.Errorf("pollen parent: %w", err)
		}
	}
	switch {
	case c.Kind == KindOpen:
		return nil, errors.New("an open-pollinated head has no stored pollen; leave it out")
	case of != "" && of != plant:
		return nil, fmt.Errorf("pollen %q is of %s, not of %s", name, plant, of)
	case !c.MadeOn.IsZero() && c.MadeOn.Format(time.DateOnly) < collected:
		return nil, fmt.Errorf("pollen %q was collected on %s, after the cross on %s", name, collected, c.MadeOn.Format(time.DateOnly))
	}
	c.Pollen, c.PollenParent = name, plant
	return id, nil
}

// mate is a parent of a cross.
type mate struct {
	id           int64
	genes        int64 // of the plant that it is a tuber, cutting or division of; else its own
	name, line   string
	lineID       int64
	seed, pollen sql.NullInt64
}

func mateOf(tx *sql.Tx, typed string) (*mate, error) {
	row, name, err := record.Find(context.Background(), tx, "plant", typed)
	if err != nil {
		return nil, err
	}
	m := &mate{id: row, name: name}
	const genes = "(SELECT coalesce(clone_of_id, id) FROM plant WHERE id = "
	err = tx.QueryRow(`SELECT coalesce(p.clone_of_id, p.id), p.line_id, n.name, `+genes+"p.seed_parent_id), "+genes+`p.pollen_parent_id)
		FROM plant p JOIN line n ON n.id = p.line_id WHERE p.id = ?`, row).
		Scan(&m.genes, &m.lineID, &m.line, &m.seed, &m.pollen)
	return m, err
}

// mates looks up the parents and completes names, kind and line of the cross.
// pollen is nil where it is not known.
func (b *Book) mates(tx *sql.Tx, c *Cross) (seed, pollen *mate, line int64, err error) {
	if seed, err = mateOf(tx, c.SeedParent); err != nil {
		return nil, nil, 0, fmt.Errorf("seed parent: %w", err)
	}
	c.SeedParent = seed.name
	if c.PollenParent != "" {
		if pollen, err = mateOf(tx, c.PollenParent); err != nil {
			return nil, nil, 0, fmt.Errorf("pollen parent: %w", err)
		}
		if pollen.genes == seed.genes { // a self, whichever of its tubers the pollen is from
			pollen = seed
		}
		c.PollenParent = pollen.name
	}
	found, err := kindOf(seed, pollen)
	switch {
	case err != nil && c.Kind == "":
		return nil, nil, 0, err
	case c.Kind == "":
		c.Kind = found
	case c.Kind == KindOpen && pollen != nil:
		return nil, nil, 0, errors.New("an open-pollinated head has no known pollen parent; leave it out")
	case c.Kind == KindSelf && pollen == nil:
		pollen, c.PollenParent = seed, seed.name
	case pollen != nil && (c.Kind == KindSelf) != (pollen.id == seed.id):
		return nil, nil, 0, fmt.Errorf("%s × %s is no %s", seed.name, pollen.name, c.Kind)
	}
	switch {
	case c.Line != "":
		line, _, err = b.ensureLine(tx, c.Line)
		return seed, pollen, line, err
	case pollen != nil && pollen.lineID != seed.lineID:
		return nil, nil, 0, remedy.Step(remedy.SayLine).Errorf("the parents are of two lines, %q and %q; say which line the offspring belong to",
			seed.line, pollen.line)
	}
	c.Line = seed.line
	return seed, pollen, seed.lineID, nil
}

// kindOf is what a cross of the two is.
func kindOf(seed, pollen *mate) (Kind, error) {
	switch {
	case pollen == nil:
		return "", errors.New("no pollen parent; say that it is open-pollinated, or by whom it is not known")
	case pollen.id == seed.id:
		return KindSelf, nil
	case genetics.FullSibs([2]sql.NullInt64{seed.seed, seed.pollen}, [2]sql.NullInt64{pollen.seed, pollen.pollen}, sql.NullInt64{}):
		return KindSib, nil
	}
	return KindCross, nil
}

// CrossFix is what is corrected of a cross; nil leaves it as it is.
type CrossFix struct {
	PollenParent *string    // empty: not known
	MadeOn       *time.Time // zero: not said
	Seeds        *int       // negative: not counted
	Note         *string
}

// FixCross corrects a cross. A corrected pollen parent is also that of the plants
// that came of it already; the error wraps ErrOwnAncestor where it descends from
// one of them.
func (b *Book) FixCross(ctx context.Context, name string, fix CrossFix) (*Cross, error) {
	var full string
	err := b.change(ctx, func(tx *sql.Tx) (string, error) {
		row, found, err := record.Find(context.Background(), tx, "cross", name)
		if err != nil {
			return "", err
		}
		full = found
		if fix.PollenParent != nil {
			if err := b.fixPollen(tx, row, *fix.PollenParent); err != nil {
				return "", err
			}
		}
		if fix.MadeOn != nil {
			if _, err := tx.Exec(`UPDATE "cross" SET made_on = ? WHERE id = ?`, dayText(*fix.MadeOn), row); err != nil {
				return "", err
			}
		}
		if fix.Seeds != nil {
			if _, err := tx.Exec(`UPDATE "cross" SET seeds = nullif(max(?, -1), -1) WHERE id = ?`, *fix.Seeds, row); err != nil {
				return "", err
			}
		}
		if fix.Note != nil {
			if _, err := tx.Exec(`UPDATE "cross" SET note = ? WHERE id = ?`, *fix.Note, row); err != nil {
				return "", err
			}
		}
		return "cross " + full + " corrected", nil
	})
	if err != nil {
		return nil, err
	}
	return b.cross(ctx, full)
}

func (b *Book) fixPollen(tx *sql.Tx, cross int64, typed string) error {
	var c Cross
	if err := tx.QueryRow(`SELECT p.name, n.name FROM "cross" c JOIN plant p ON p.id = c.seed_parent_id JOIN line n ON n.id = c.line_id
		WHERE c.id = ?`, cross).
		Scan(&c.SeedParent, &c.Line); err != nil {
		return err
	}
	c.PollenParent = typed
	if typed == "" {
		c.Kind = KindCross
	}
	_, pollen, _, err := b.mates(tx, &c)
	if err != nil {
		return err
	}
	var id any
	if pollen != nil {
		id = pollen.id
		children, err := tx.Query(`SELECT p.id, p.name FROM plant p JOIN sowing w ON w.id = p.sowing_id JOIN packet k ON k.id = w.packet_id
			WHERE k.cross_id = ?`, cross)
		if err != nil {
			return err
		}
		defer children.Close()
		for children.Next() {
			var row int64
			var name string
			if err := children.Scan(&row, &name); err != nil {
				return err
			}
			if err := record.NotOwnAncestor(tx, row, name, pollen.id, pollen.name); err != nil {
				return err
			}
		}
		if err := children.Err(); err != nil {
			return err
		}
	}
	// Stored pollen of another plant it was not.
	if _, err := tx.Exec(`UPDATE "cross" SET pollen_parent_id = ?1, kind = ?2, pollen_id = (SELECT l.id FROM pollen l
		WHERE l.id = "cross".pollen_id AND l.plant_id = ?1) WHERE id = ?3`, id, c.Kind, cross); err != nil {
		return err
	}
	_, err = tx.Exec(`WITH of_it (id) AS (SELECT p.id FROM plant p JOIN sowing w ON w.id = p.sowing_id JOIN packet k ON k.id = w.packet_id
			WHERE k.cross_id = ?2)
		UPDATE plant SET pollen_parent_id = ?1 WHERE id IN of_it OR clone_of_id IN of_it`, id, cross)
	return err
}

// checkCount refuses a count that cannot be one.
func checkCount(what string, n *int) error {
	if n != nil && (*n < 0 || *n > maxCount) {
		return fmt.Errorf("%d %s; want 0 to %d", *n, what, maxCount)
	}
	return nil
}

// maxCount is the most seeds of anything that is believed.
const maxCount = 10_000_000
