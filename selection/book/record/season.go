package record

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"hueward/selection/book/naming"
	"hueward/selection/book/remedy"
	"hueward/selection/book/sqlite"
)

// Records of a season. Days are at midnight UTC and stand for the garden's own date; the zero time means that it was
// not said. Of a count, nil means not counted. Names of plants, crosses, heads, packets and sowings are as the book
// keeps them.

// Kind says where a cross's pollen comes from.
type Kind string

// The kinds of a cross.
const (
	KindCross Kind = "cross" // of two plants
	KindSelf  Kind = "self"  // of a plant's own pollen
	KindSib   Kind = "sib"   // of two plants of one family
	KindOpen  Kind = "open"  // left to bees and wind: the pollen parent is not known
)

// Cross is a seed parent and where its pollen came from, in one season.
type Cross struct {
	Name         string // such as X26-003D
	Line         string // that the offspring will belong to
	Season       string
	Kind         Kind
	SeedParent   string
	PollenParent string // empty: not known, or open-pollinated
	MadeOn       time.Time
	Pollen       string // the stored pollen that was used; empty: fresh, or not said
	Seeds        *int   // in all, where no heads were noted
	Note         string
	Heads        int // how many are noted
}

// Parents returns the names of a cross's parents as one text.
func (c Cross) Parents() string {
	switch c.Kind {
	case KindSelf:
		return c.SeedParent + " selfed"
	case KindOpen:
		return c.SeedParent + " open-pollinated"
	}
	return c.SeedParent + " × " + cmp.Or(c.PollenParent, "not known")
}

// Words describes a cross: its parents and its kind.
func (c Cross) Words() string {
	if c.Kind == KindSib {
		return c.Parents() + ", sib cross"
	}
	return c.Parents()
}

// Head is one flower head of a plant, from bag to seed.
type Head struct {
	Name   string // the plant's with -1, -2, …
	Plant  string
	Number int
	Line   string // of its plant
	Season string
	Cross  string // empty: not said yet what it is for
	Kind   Kind   // of the cross; empty without one
	// Emasculated is when its own pollen was kept out: anthers or disc florets taken out.
	Emasculated time.Time
	Bagged      time.Time
	Pollinated  []time.Time // in order
	StigmasDry  time.Time
	Harvested   time.Time
	Seeds       *int
	Lost        time.Time // broken, eaten, mouldy
	Note        string
}

// Packet is one lot of seed in one envelope.
type Packet struct {
	Name         string // such as P26-003S
	Line, Season string
	Cross        string   // empty: bought, or given
	Heads        []string // whose seed is in it
	FounderGroup string   // of bought seed
	Seeds        *int
	ByWeight     bool    // Seeds was calculated from the weight, not counted
	Grams        float64 // 0: not weighed
	Sown         int     // seeds sown, tested, given away, sold or lost from it so far
	Out          []SeedOut
	Made, Dried  time.Time
	Place, Paper string
	Note         string
	Tests        []GerminationTest
}

// GerminationTest is some seeds of a packet laid out to see how many sprout.
type GerminationTest struct {
	Started  time.Time
	Seeds    int
	Read     time.Time // zero: not read yet
	Sprouted int
	Note     string
}

// Sowing is seeds of a packet sown on one day.
type Sowing struct {
	Name, Packet, Line, Season string
	Sown                       time.Time
	Seeds                      int
	Grams                      float64   // 0: not weighed
	PlantedOut                 time.Time // zero: not yet, or sown where it flowers
	Plants                     int       // that came of it so far
	Note                       string
}

// Score is one score; the newest of a plant and trait counts.
type Score struct {
	Plant, Trait string
	Value        float64
	On           time.Time
	Note         string
}

// FounderGroup is where founders came from.
type FounderGroup struct {
	Name       string
	Inbreeding *float64 // of its plants that do not say themselves
	Note       string
	Plants     int
}

// Crosses returns the crosses that the SQL in where selects, in order of name.
func Crosses(ctx context.Context, q sqlite.Querier, where string, args ...any) ([]Cross, error) {
	out, err := sqlite.Collect(ctx, q, `SELECT c.name, n.name, s.name, c.kind, sp.name, coalesce(pp.name, ''), c.made_on, c.seeds, c.note,
			coalesce((SELECT name FROM pollen WHERE id = c.pollen_id), ''),
			(SELECT count(*) FROM head WHERE cross_id = c.id)
		FROM "cross" c JOIN line n ON n.id = c.line_id JOIN season s ON s.id = c.season_id
		JOIN plant sp ON sp.id = c.seed_parent_id LEFT JOIN plant pp ON pp.id = c.pollen_parent_id
		WHERE `+where, args, func(rows *sql.Rows, c *Cross) error {
		return rows.Scan(&c.Name, &c.Line, &c.Season, &c.Kind, &c.SeedParent, &c.PollenParent, AsDay(&c.MadeOn), &c.Seeds, &c.Note, &c.Pollen,
			&c.Heads)
	})
	return byName(out, err, func(c *Cross) string { return c.Name })
}

// Heads returns the heads that the SQL in where selects, in order of name.
func Heads(ctx context.Context, q sqlite.Querier, where string, args ...any) ([]Head, error) {
	out, err := sqlite.Collect(ctx, q, `SELECT h.name, p.name, h.number, n.name, s.name, coalesce(c.name, ''), coalesce(c.kind, ''),
			h.bagged_on, h.stigmas_dry_on, h.harvested_on, h.seeds, h.lost_on, h.note, h.emasculated_on,
			(SELECT json_group_array(day ORDER BY day) FROM pollination WHERE head_id = h.id)
		FROM head h JOIN plant p ON p.id = h.plant_id JOIN line n ON n.id = p.line_id JOIN season s ON s.id = h.season_id
			LEFT JOIN "cross" c ON c.id = h.cross_id
		WHERE `+where, args, func(rows *sql.Rows, h *Head) error {
		var days []string
		err := rows.Scan(&h.Name, &h.Plant, &h.Number, &h.Line, &h.Season, &h.Cross, &h.Kind, AsDay(&h.Bagged), AsDay(&h.StigmasDry),
			AsDay(&h.Harvested), &h.Seeds, AsDay(&h.Lost), &h.Note, AsDay(&h.Emasculated), asJSON(&days))
		for _, d := range days {
			h.Pollinated = append(h.Pollinated, Day(d))
		}
		return err
	})
	return byName(out, err, func(h *Head) string { return h.Name })
}

// Packets returns the packets that the SQL in where selects, in order of name.
func Packets(ctx context.Context, q sqlite.Querier, where string, args ...any) ([]Packet, error) {
	out, err := sqlite.Collect(ctx, q, `SELECT k.name, n.name, s.name, coalesce(c.name, ''), k.founder_group, k.seeds, k.made_on, k.dried_on,
			k.place, k.paper, k.note,
			(SELECT json_group_array(h.name ORDER BY h.plant_id, h.number) FROM packet_head x JOIN head h ON h.id = x.head_id
				WHERE x.packet_id = k.id),
			(SELECT json_group_array(json_array(started_on, seeds, coalesce(read_on, ''), coalesce(sprouted, 0), note) ORDER BY id)
				FROM germination_test WHERE packet_id = k.id),
			`+TakenOf+`, k.seeds_by_weight, coalesce(k.grams, 0),
			(SELECT json_group_array(json_array(day, how, seeds, coalesce(grams, 0), to_whom, note) ORDER BY id) FROM seed_out
				WHERE packet_id = k.id)
		FROM packet k JOIN line n ON n.id = k.line_id JOIN season s ON s.id = k.season_id LEFT JOIN "cross" c ON c.id = k.cross_id
		WHERE `+where, args, func(rows *sql.Rows, p *Packet) error {
		var tests [][5]any
		var out [][6]any
		err := rows.Scan(&p.Name, &p.Line, &p.Season, &p.Cross, &p.FounderGroup, &p.Seeds, AsDay(&p.Made), AsDay(&p.Dried), &p.Place, &p.Paper,
			&p.Note, asJSON(&p.Heads), asJSON(&tests), &p.Sown, &p.ByWeight, &p.Grams, asJSON(&out))
		for _, t := range tests {
			p.Tests = append(p.Tests, GerminationTest{Started: Day(t[0].(string)), Seeds: int(t[1].(float64)), Read: Day(t[2].(string)),
				Sprouted: int(t[3].(float64)), Note: t[4].(string)})
		}
		for _, o := range out {
			p.Out = append(p.Out, SeedOut{On: Day(o[0].(string)), How: Out(o[1].(string)), Seeds: int(o[2].(float64)), Grams: o[3].(float64),
				To: o[4].(string), Note: o[5].(string)})
		}
		return err
	})
	return byName(out, err, func(p *Packet) string { return p.Name })
}

// Sowings returns the sowings that the SQL in where selects, in order of name.
func Sowings(ctx context.Context, q sqlite.Querier, where string, args ...any) ([]Sowing, error) {
	out, err := sqlite.Collect(ctx, q, `SELECT w.name, k.name, n.name, s.name, w.sown_on, w.seeds, w.note, coalesce(w.grams, 0),
			w.planted_out_on, (SELECT count(*) FROM plant WHERE sowing_id = w.id)
		FROM sowing w JOIN packet k ON k.id = w.packet_id JOIN line n ON n.id = w.line_id JOIN season s ON s.id = w.season_id
		WHERE `+where, args, func(rows *sql.Rows, w *Sowing) error {
		return rows.Scan(&w.Name, &w.Packet, &w.Line, &w.Season, AsDay(&w.Sown), &w.Seeds, &w.Note, &w.Grams, AsDay(&w.PlantedOut), &w.Plants)
	})
	return byName(out, err, func(w *Sowing) string { return w.Name })
}

// MaxHeads is the largest accepted number of a plant's heads, against mistyping: our own choice.
const MaxHeads = 999

// SeedOf returns the heads and the cross that the packet's seed is from, and completes its cross, line, seeds and season.
func (t *Tx) SeedOf(p *Packet) (heads []int64, cross int64) {
	if len(p.Heads) > 0 && p.FounderGroup != "" || p.Cross != "" && p.FounderGroup != "" {
		t.Fail(errors.New("seed of your own heads is not bought; leave the founder group out"))
	}
	heads, cross = t.harvest(p)
	if p.Cross != "" {
		row, name := t.Find("cross", p.Cross)
		if cross != 0 && row != cross {
			t.Failf("the heads are not of cross %q", p.Cross)
		}
		cross, p.Cross = row, name
	}
	if cross == 0 {
		return nil, 0
	}
	var line, season string
	var seeds *int
	t.Get(`SELECT n.name, s.name, c.seeds FROM "cross" c JOIN line n ON n.id = c.line_id JOIN season s ON s.id = c.season_id WHERE c.id = ?`,
		cross).Into(&line, &season, &seeds)
	p.Line, p.Season = cmp.Or(p.Line, line), cmp.Or(p.Season, season)
	if p.Seeds == nil && len(heads) == 0 {
		p.Seeds = seeds
	}
	return heads, cross
}

// harvest returns the rows of the packet's heads and of the cross that they must share, and sums their seeds.
func (t *Tx) harvest(p *Packet) (rows []int64, cross int64) {
	total, all := 0, len(p.Heads) > 0
	t.Every("head", t.HeadRanges(p.Heads), func(row int64, name string) {
		var of, seeds sql.NullInt64
		var harvested, in sql.NullString
		t.Get(`SELECT cross_id, seeds, harvested_on,
			(SELECT k.name FROM packet_head x JOIN packet k ON k.id = x.packet_id WHERE x.head_id = head.id LIMIT 1) FROM head WHERE id = ?`, row).
			Into(&of, &seeds, &harvested, &in)
		switch {
		case !of.Valid:
			t.Fail(remedy.Step(remedy.SayCross, name).Errorf("head %q: its pollen is not noted; say which cross it is of", name))
		case !harvested.Valid:
			t.Fail(remedy.Step(remedy.Harvest, name).Errorf("head %q is not harvested; note it first", name))
		case in.Valid && p.Seeds == nil:
			t.Fail(remedy.Step(remedy.SaySeeds).Errorf("head %q: its seed is in packet %s; say how many seeds this one gets", name, in.String))
		case cross != 0 && cross != of.Int64:
			t.Failf("head %q is of another cross than the others; make a packet of its own for it", name)
		}
		cross = of.Int64
		rows = append(rows, row)
		total += int(seeds.Int64)
		all = all && seeds.Valid
	})
	if p.Seeds == nil && all {
		p.Seeds = &total
	}
	return rows, cross
}

// HeadRanges expands each as [HeadRange] does.
func (t *Tx) HeadRanges(typed []string) (names []string) {
	for _, s := range typed {
		if t.err == nil {
			var many []string
			many, t.err = HeadRange(context.Background(), t, s)
			names = append(names, many...)
		}
	}
	return names
}

// HeadRange expands M-07-1..M-07-3, or M-07-1..3, into names of heads, and M-07..M-09
// into names of plants; anything else stays as it is.
func HeadRange(ctx context.Context, q sqlite.Querier, typed string) ([]string, error) {
	from, to, isRange := strings.Cut(typed, "..")
	if !isRange {
		return []string{typed}, nil
	}
	// N-01..N-03 may be plants, or heads of a plant N.
	plants, err := Which(ctx, q, typed)
	if err == nil {
		return plants, nil
	}
	if sqlite.Said(err) { // the query itself failed
		return nil, err
	}
	i := strings.LastIndexByte(from, '-')
	low, err1 := strconv.Atoi(from[i+1:])
	if j := strings.LastIndexByte(to, '-'); i > 0 && j > 0 && naming.Key(to[:j]) == naming.Key(from[:i]) {
		to = to[j+1:]
	}
	high, err2 := strconv.Atoi(to)
	if i <= 0 || err1 != nil || err2 != nil || low < 1 || high < low || high > MaxHeads {
		if errors.Is(err, ErrNotFound) {
			return nil, err
		}
		return nil, fmt.Errorf("range %q: want two heads of one plant, such as M-07-1..M-07-3", typed)
	}
	if _, _, e := Find(ctx, q, "plant", from[:i]); e != nil && errors.Is(err, ErrNotFound) {
		return nil, err
	}
	var names []string
	for n := low; n <= high; n++ {
		names = append(names, from[:i+1]+strconv.Itoa(n))
	}
	return names, nil
}

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

// AllPollen returns the stored pollen that the SQL in where selects, with alias l, in order of name.
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

// SeedOut is seed that left a packet other than by sowing or a test.
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

// Outs lists all ways in which seed leaves a packet.
var Outs = []Out{OutGiven, OutSold, OutLost}

// TakenOf is how many seeds were taken from packet k, as SQL.
const TakenOf = `(SELECT coalesce(sum(seeds), 0) FROM sowing WHERE packet_id = k.id) +
	(SELECT coalesce(sum(seeds), 0) FROM germination_test WHERE packet_id = k.id) +
	(SELECT coalesce(sum(seeds), 0) FROM seed_out WHERE packet_id = k.id)`
