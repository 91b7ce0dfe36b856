package record

import (
	"context"
	"database/sql"
	"hueward/selection/book/sqlite"
	"time"
)

// CloneBy is how a plant was multiplied without seed.
type CloneBy string

// How plants are multiplied without seed.
const (
	ByTuber    CloneBy = "tuber"
	ByCutting  CloneBy = "cutting"
	ByDivision CloneBy = "division"
)

// ClonesBy are all of them.
var ClonesBy = []CloneBy{ByTuber, ByCutting, ByDivision}

// Pollen is pollen of one plant, collected to be used later.
type Pollen struct {
	Name      string // such as L26-001X
	Plant     string
	Line      string // of its plant
	Season    string
	Collected time.Time
	Dried     time.Time // zero: not dry yet, or not said
	GoodUntil time.Time // zero: as the crop says
	UsedUp    time.Time // or thrown away
	Place     string
	Note      string
	Crosses   int // made with it
}

// AllPollen is the stored pollen that where chooses of pollen l, in order of name.
func AllPollen(ctx context.Context, q sqlite.Querier, where string, args ...any) ([]Pollen, error) {
	out, err := sqlite.Collect(ctx, q, `SELECT l.name, p.name, n.name, s.name, l.collected_on, l.dried_on, l.good_until, l.used_up_on,
			l.place, l.note,
			(SELECT count(*) FROM "cross" WHERE pollen_id = l.id)
		FROM pollen l JOIN plant p ON p.id = l.plant_id JOIN line n ON n.id = p.line_id JOIN season s ON s.id = l.season_id
		WHERE `+where, args, func(rows *sql.Rows, p *Pollen) error {
		return rows.Scan(&p.Name, &p.Plant, &p.Line, &p.Season, AsDay(&p.Collected), AsDay(&p.Dried), AsDay(&p.GoodUntil), AsDay(&p.UsedUp),
			&p.Place, &p.Note, &p.Crosses)
	})
	return byName(out, err, func(p *Pollen) string { return p.Name })
}

// SeedOut is seed that left a packet otherwise than by sowing or a test.
type SeedOut struct {
	On    time.Time
	How   Out
	Seeds int
	Grams float64 // 0: not weighed
	To    string  // whom; empty: not said
	Note  string
}

// Out is how seed left a packet.
type Out string

// How seed leaves a packet.
const (
	OutGiven Out = "given"
	OutSold  Out = "sold"
	OutLost  Out = "lost" // eaten, mouldy, spilt
)

// Outs are all of them.
var Outs = []Out{OutGiven, OutSold, OutLost}

// TakenOf is how many seeds were taken from packet k, as SQL.
const TakenOf = `(SELECT coalesce(sum(seeds), 0) FROM sowing WHERE packet_id = k.id) +
	(SELECT coalesce(sum(seeds), 0) FROM germination_test WHERE packet_id = k.id) +
	(SELECT coalesce(sum(seeds), 0) FROM seed_out WHERE packet_id = k.id)`
