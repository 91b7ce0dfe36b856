package book

import (
	"context"
	"database/sql"
	"fmt"
	"slices"

	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/sqlite"
)

// AddClones adds plants of the same genes as another, its tubers, cuttings or divisions,
// of a season: so many with ids that the book makes, or those of the ids given. Line,
// parents and founder group are that plant's. Those of a clone are clones of the plant
// that it is one of. It returns their ids and whose genes they have; the error wraps
// ErrDuplicate for an id that is taken.
func (b *Book) AddClones(ctx context.Context, of, season string, by CloneBy, n int, ids []string) (names []string, root string, err error) {
	if !slices.Contains(ClonesBy, by) {
		return nil, "", fmt.Errorf("%q is no way to propagate a plant", by)
	}
	if err := checkPlants(n, ids); err != nil {
		return nil, "", err
	}
	err = b.Change(ctx, func(t *record.Tx) string {
		row, _ := t.Find("plant", of)
		var genes int64
		t.Get("SELECT r.id, r.name FROM plant p JOIN plant r ON r.id = coalesce(p.clone_of_id, p.id) WHERE p.id = ?", row).Into(&genes, &root)
		seasonID := t.Season(season)
		names = t.FreeIDs(ids, season, n)
		for _, id := range names {
			t.Do(`INSERT INTO plant (name, key, line_id, season_id, seed_parent_id, pollen_parent_id, founder_group,
					founder_inbreeding, added_at, clone_of_id, cloned_by)
				SELECT ?, ?, line_id, ?, seed_parent_id, pollen_parent_id, founder_group, founder_inbreeding, ?, id, ? FROM plant WHERE id = ?`,
				id, naming.Key(id), seasonID, b.Stamp(), by, genes)
		}
		return fmt.Sprintf("%s of %s by %s: %s", plural(len(names), "plant"), root, by, nameList(names))
	})
	return names, root, err
}

func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// Genotypes are the plants that are tubers, cuttings or divisions of another, with that
// other's id: both have the same genes.
func (b *Book) Genotypes(ctx context.Context) (map[string]string, error) {
	return sqlite.Pairs[string, string](ctx, b.from, "SELECT p.name, r.name FROM plant p JOIN plant r ON r.id = p.clone_of_id")
}

// Places are where plants stand in the bed, of those of which it was said.
func (b *Book) Places(ctx context.Context) (map[string]string, error) {
	return sqlite.Pairs[string, string](ctx, b.from, "SELECT name, place FROM plant WHERE place <> ''")
}

// CrossOffspring are the plants that came of seed of crosses, by the cross's name: those of
// a line and season, or of all where these are empty.
func (b *Book) CrossOffspring(ctx context.Context, line, season string) (map[string][]string, error) {
	list, err := sqlite.Collect(ctx, b.from, `SELECT c.name, p.name FROM plant p JOIN sowing w ON w.id = p.sowing_id
		JOIN packet k ON k.id = w.packet_id JOIN "cross" c ON c.id = k.cross_id JOIN line n ON n.id = p.line_id
		JOIN season s ON s.id = p.season_id WHERE (?1 = '' OR n.key = ?1) AND (?2 = '' OR s.key = ?2) ORDER BY p.id`,
		[]any{naming.LineKey(line), naming.Key(season)}, func(rows *sql.Rows, v *[2]string) error { return rows.Scan(&v[0], &v[1]) })
	out := map[string][]string{}
	for _, v := range list {
		out[v[0]] = append(out[v[0]], v[1])
	}
	return out, err
}
