package book

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/sqlite"
)

// OpenWork is what of a season still wants something done.
type OpenWork struct {
	Heads   []Head   // neither lost nor in a packet
	Packets []Packet // not dry, or with a germination test that is not read
	Sowings []Sowing // of which no plants were noted, or that are not planted out
	Plants  []OpenPlant
}

// OpenPlant is a plant of the season that is neither passed nor lost.
type OpenPlant struct {
	ID, Line string
	Sown     time.Time // zero: not known
	Added    time.Time // when it was entered
	Photos   int       // of the season
}

// OpenWork returns what of the season is open; tests and sowings of every season
// too, when they began on since or later.
func (b *Book) OpenWork(ctx context.Context, season string, since time.Time) (*OpenWork, error) {
	var w OpenWork
	var err error
	if w.Heads, err = record.Heads(ctx, b.from,
		"s.key = ? AND h.lost_on IS NULL AND NOT EXISTS (SELECT 1 FROM packet_head WHERE head_id = h.id)",
		naming.Key(season)); err != nil {
		return nil, err
	}
	if w.Packets, err = record.Packets(ctx, b.from, `s.key = ?1 AND k.dried_on IS NULL
		OR EXISTS (SELECT 1 FROM germination_test WHERE packet_id = k.id AND read_on IS NULL AND started_on >= ?2)`, naming.Key(season),
		dayText(since)); err != nil {
		return nil, err
	}
	if w.Sowings, err = record.Sowings(ctx, b.from, "w.sown_on >= ? AND (w.planted_out_on IS NULL OR NOT EXISTS (SELECT 1 FROM plant "+
		"WHERE sowing_id = w.id))",
		dayText(since)); err != nil {
		return nil, err
	}
	w.Plants, err = sqlite.Collect(ctx, b.from, `SELECT p.name, n.name, w.sown_on, substr(p.added_at, 1, 10), (SELECT count(*) FROM photo f
		WHERE f.plant_id = p.id AND f.season_id = p.season_id)
		FROM plant p JOIN line n ON n.id = p.line_id JOIN season s ON s.id = p.season_id LEFT JOIN sowing w ON w.id = p.sowing_id
		WHERE s.key = ? AND p.status IN ('growing', 'kept', 'reserve') ORDER BY p.id`, []any{naming.Key(season)}, func(rows *sql.Rows,
		p *OpenPlant) error {
		return rows.Scan(&p.ID, &p.Line, record.AsDay(&p.Sown), record.AsDay(&p.Added), &p.Photos)
	})
	return &w, err
}

// Identity is the same for a book for ever, and differs between books: its first
// line and when that was entered. It is empty of a book without a line.
func (b *Book) Identity(ctx context.Context) (id string, err error) {
	err = b.from.QueryRowContext(ctx, "SELECT name || ' ' || added_at FROM line ORDER BY id LIMIT 1").Scan(&id)
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	return id, sqlite.Wrap(err)
}
