package book

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/remedy"
)

// insertHead adds a head of the plant; number 0 stands for the next free one,
// cross 0 for not said.
func (b *Book) insertHead(tx *sql.Tx, plant int64, plantName string, number int, season, cross int64) (name string, err error) {
	if number == 0 {
		if number, err = nextHead(tx, plant, plantName); err != nil {
			return "", err
		}
	}
	if number > record.MaxHeads {
		return "", fmt.Errorf("head %d of plant %q; want 1 to %d", number, plantName, record.MaxHeads)
	}
	name = plantName + "-" + strconv.Itoa(number)
	var crossID any
	if cross != 0 {
		crossID = cross
	}
	_, err = tx.Exec("INSERT INTO head (name, key, plant_id, number, season_id, cross_id, added_at) VALUES (?, ?, ?, ?, ?, ?, ?)",
		name, naming.Key(name), plant, number, season, crossID, b.Stamp())
	return name, err
}

// nextHead is the number of the plant's next head. The name of a head that came from
// another plant, or of a plant that was called so before, is passed over: it stands on a tag.
func nextHead(tx *sql.Tx, plant int64, plantName string) (number int, err error) {
	if err := tx.QueryRow("SELECT coalesce(max(number), 0) + 1 FROM head WHERE plant_id = ?", plant).Scan(&number); err != nil {
		return 0, err
	}
	for taken := true; ; number++ {
		err := tx.QueryRow("SELECT EXISTS (SELECT 1 FROM head WHERE key = ?)", naming.Key(plantName+"-"+strconv.Itoa(number))).Scan(&taken)
		if err != nil || !taken {
			return number, err
		}
	}
}

// ErrNextHead says that a head of that number cannot be the next of its plant.
var ErrNextHead = errors.New("is not the plant's next head")

// HeadStep is one thing that is done with heads on a day.
type HeadStep string

// What is done with a head, in the order of a season.
const (
	HeadBag        HeadStep = "bag"
	HeadEmasculate HeadStep = "emasculate" // its own pollen is kept out: anthers or disc florets taken out
	HeadPollinate  HeadStep = "pollinate"
	HeadDry        HeadStep = "dry" // its stigmas are dry: no more pollen takes
	HeadHarvest    HeadStep = "harvest"
	HeadLost       HeadStep = "lost"
)

// HeadSteps are all of them.
var HeadSteps = []HeadStep{HeadBag, HeadEmasculate, HeadPollinate, HeadDry, HeadHarvest, HeadLost}

// HeadDone is a step, done with heads on one day.
type HeadDone struct {
	Heads  []string // names, ranges M-07-1..M-07-3, or a plant's id for all its heads for which the step is to be done
	Step   HeadStep
	On     time.Time
	Seeds  *int   // of HeadHarvest, of each head; nil: not counted
	Cross  string // what the heads are for; empty: as it is
	Season string // of heads that the step adds
	Note   string // replaces that of the heads, unless empty
}

// DoHeads notes what was done with heads, of all or of none, and returns them as
// they are now, and what is odd about it, such as pollen on a head that was never
// bagged. Seeds of a head that was harvested before may be counted later. Bagging adds a head that
// is not in the book yet when it is its plant's
// next. Days must follow in the order of a season; the same day twice changes
// nothing. The error wraps ErrNotFound or ErrNextHead.
func (b *Book) DoHeads(ctx context.Context, d HeadDone) (heads []Head, odd []string, err error) {
	if !slices.Contains(HeadSteps, d.Step) {
		return nil, nil, fmt.Errorf("%q is not a step of a head", d.Step)
	}
	if err := checkCount("seeds", d.Seeds); err != nil {
		return nil, nil, err
	}
	var names []string
	err = b.change(ctx, func(tx *sql.Tx) (string, error) {
		cross, plantOfCross, err := crossNamed(tx, d.Cross)
		if err != nil {
			return "", err
		}
		rows, err := b.headRows(tx, d)
		if err != nil {
			return "", err
		}
		for _, h := range rows {
			if cross != 0 {
				if plantOfCross != h.plant {
					return "", fmt.Errorf("head %q is not of cross %q's seed parent", h.name, d.Cross)
				}
				if _, err := tx.Exec("UPDATE head SET cross_id = ? WHERE id = ?", cross, h.id); err != nil {
					return "", err
				}
			}
			said, err := h.do(tx, d)
			if err != nil {
				return "", err
			}
			if said != "" {
				odd = append(odd, said)
			}
			if d.Note != "" {
				if _, err := tx.Exec("UPDATE head SET note = ? WHERE id = ?", d.Note, h.id); err != nil {
					return "", err
				}
			}
			names = append(names, h.name)
		}
		return fmt.Sprintf("%s: %s %s", nameList(names), headWords[d.Step], d.On.Format(time.DateOnly)), nil
	})
	if err != nil {
		return nil, nil, err
	}
	heads, err = b.headsNamed(ctx, names)
	return heads, odd, err
}

var headWords = map[HeadStep]string{HeadBag: "bagged", HeadEmasculate: "emasculated", HeadPollinate: "pollinated",
	HeadDry: "stigmas dry", HeadHarvest: "harvested",
	HeadLost: "lost"}

// nameList is the names, the middle of a long list left out.
func nameList(names []string) string {
	if len(names) > 6 {
		return fmt.Sprintf("%s … %s (%d)", strings.Join(names[:3], ", "), names[len(names)-1], len(names))
	}
	return strings.Join(names, ", ")
}

// crossNamed is the row of the cross and of its seed parent; 0 for "".
func crossNamed(tx *sql.Tx, typed string) (row, seed int64, err error) {
	if typed == "" {
		return 0, 0, nil
	}
	if row, _, err = record.Find(context.Background(), tx, "cross", typed); err != nil {
		return 0, 0, err
	}
	err = tx.QueryRow(`SELECT seed_parent_id FROM "cross" WHERE id = ?`, row).Scan(&seed)
	return row, seed, err
}

// headRow is a head as it is while something is done with it.
type headRow struct {
	id, plant                    int64
	name                         string
	bagged, dry, harvested, lost sql.NullString
	emasculated, pollinated      sql.NullString
	seeds                        sql.NullInt64
	open                         bool // left to bees and wind
}

// do notes the step, and says what is odd about it.
func (h *headRow) do(tx *sql.Tx, d HeadDone) (odd string, err error) {
	on := d.On.Format(time.DateOnly)
	fail := func(format string, args ...any) error {
		return remedy.Step(remedy.FixHead, h.name).Errorf("head %q: %s; correct it", h.name, fmt.Sprintf(format, args...))
	}
	if h.lost.Valid && d.Step != HeadLost {
		return "", fail("it was lost on %s", h.lost.String)
	}
	if h.harvested.Valid && (d.Step == HeadHarvest && (h.seeds.Valid || d.Seeds == nil && on != h.harvested.String) || d.Step == HeadLost) {
		return "", fail("it was harvested on %s", h.harvested.String)
	}
	if h.open && d.Step == HeadPollinate && d.Cross == "" {
		odd = fmt.Sprintf("head %s is left to bees and wind: say which cross the pollen is for, or note a cross",
			h.name)
	}
	switch d.Step {
	case HeadBag:
		if h.open {
			odd = fmt.Sprintf("head %s is left to bees and wind: it needs no bag, and sets little seed in one", h.name)
		}
		if h.bagged.Valid && h.bagged.String != on {
			return "", fail("it was bagged on %s", h.bagged.String)
		}
		_, err = tx.Exec("UPDATE head SET bagged_on = ? WHERE id = ?", on, h.id)
	case HeadEmasculate:
		if h.emasculated.Valid && h.emasculated.String != on {
			return "", fail("it was emasculated on %s", h.emasculated.String)
		}
		switch {
		case h.open:
			odd = fmt.Sprintf("head %s is left to bees and wind: its own pollen does no harm there", h.name)
		case h.pollinated.Valid && h.pollinated.String < on:
			odd = fmt.Sprintf("head %s was pollinated on %s, before: its own pollen may have come first", h.name, h.pollinated.String)
		}
		_, err = tx.Exec("UPDATE head SET emasculated_on = ? WHERE id = ?", on, h.id)
	case HeadPollinate:
		if !h.bagged.Valid && !h.open {
			odd = fmt.Sprintf("head %s was never bagged: other pollen may have come first", h.name)
		}
		_, err = tx.Exec("INSERT INTO pollination (head_id, day) VALUES (?, ?) ON CONFLICT DO NOTHING", h.id, on)
	case HeadDry:
		if h.dry.Valid && h.dry.String != on {
			return "", fail("its stigmas were dry on %s", h.dry.String)
		}
		_, err = tx.Exec("UPDATE head SET stigmas_dry_on = ? WHERE id = ?", on, h.id)
	case HeadHarvest:
		if h.harvested.Valid { // counted since
			_, err = tx.Exec("UPDATE head SET seeds = ? WHERE id = ?", record.CountOf(d.Seeds), h.id)
			return odd, err
		}
		_, err = tx.Exec("UPDATE head SET harvested_on = ?, seeds = coalesce(?, seeds) WHERE id = ?", on, record.CountOf(d.Seeds), h.id)
	case HeadLost:
		_, err = tx.Exec("UPDATE head SET lost_on = ? WHERE id = ?", on, h.id)
	}
	if err != nil {
		return "", err
	}
	if err := daysInOrder(tx, h.id, h.name); err != nil {
		return "", remedy.Step(remedy.FixHead, h.name).Errorf("%w; correct it", err)
	}
	return odd, nil
}

// headRows finds the heads that are meant.
func (b *Book) headRows(tx *sql.Tx, d HeadDone) ([]headRow, error) {
	var ids []int64
	add := func(id int64) {
		if !slices.Contains(ids, id) {
			ids = append(ids, id)
		}
	}
	for _, typed := range d.Heads {
		many, err := record.HeadRange(context.Background(), tx, typed)
		if err != nil {
			return nil, err
		}
		for _, t := range many {
			row, _, err := record.Find(context.Background(), tx, "head", t)
			if err == nil {
				add(row)
				continue
			}
			if !errors.Is(err, ErrNotFound) {
				return nil, err
			}
			open, isPlant, err2 := openHeads(tx, t, d.Step)
			if err2 != nil {
				return nil, err2
			}
			if isPlant {
				if len(open) == 0 {
					return nil, fmt.Errorf("plant %q has no head for that; name one, such as %s-1", t, t)
				}
				for _, id := range open {
					add(id)
				}
				continue
			}
			if d.Step != HeadBag && d.Step != HeadEmasculate { // a bud's anthers may be taken out before its bag is tied
				return nil, err
			}
			id, err := b.newHead(tx, t, d)
			if err != nil {
				return nil, err
			}
			add(id)
		}
	}
	out := make([]headRow, 0, len(ids))
	for _, id := range ids {
		h := headRow{id: id}
		err := tx.QueryRow(`SELECT name, plant_id, bagged_on, stigmas_dry_on, harvested_on, lost_on, seeds, NOT (`+byHand+`),
			emasculated_on,
			(SELECT min(day) FROM pollination WHERE head_id = head.id) FROM head WHERE id = ?`, id).Scan(&h.name, &h.plant, &h.bagged, &h.dry,
			&h.harvested, &h.lost, &h.seeds, &h.open, &h.emasculated,
			&h.pollinated)
		if err != nil {
			return nil, err
		}
		out = append(out, h)
	}
	return out, nil
}

// openHeads are the heads of a plant that are neither harvested nor lost, and
// for which the step still is to be done.
func openHeads(tx *sql.Tx, typed string, step HeadStep) (ids []int64, isPlant bool, err error) {
	plant, _, err := record.Find(context.Background(), tx, "plant", typed)
	if errors.Is(err, ErrNotFound) {
		return nil, false, nil
	}
	if err != nil {
		return nil, false, err
	}
	rows, err := tx.Query("SELECT id FROM head WHERE plant_id = ? AND harvested_on IS NULL AND lost_on IS NULL AND "+stepOpen[step]+" "+
		"ORDER BY number", plant)
	if err != nil {
		return nil, true, err
	}
	defer rows.Close()
	for rows.Next() {
		var id int64
		if err := rows.Scan(&id); err != nil {
			return nil, true, err
		}
		ids = append(ids, id)
	}
	return ids, true, rows.Err()
}

// stepOpen is what holds of heads for which a step still is to be done.
var stepOpen = map[HeadStep]string{
	HeadBag: "bagged_on IS NULL AND " + byHand, HeadPollinate: "stigmas_dry_on IS NULL AND " + byHand,
	HeadEmasculate: "emasculated_on IS NULL AND stigmas_dry_on IS NULL AND " + byHand,
	HeadDry:        "stigmas_dry_on IS NULL AND " + byHand,
	HeadHarvest:    `(bagged_on IS NOT NULL OR (SELECT kind FROM "cross" WHERE id = cross_id) = 'open')`, HeadLost: "TRUE",
}

// byHand holds of heads that are not left to bees and wind.
const byHand = `coalesce((SELECT kind FROM "cross" WHERE id = cross_id), '') <> 'open'`

// newHead adds the head that was typed, when it is its plant's next.
func (b *Book) newHead(tx *sql.Tx, typed string, d HeadDone) (int64, error) {
	missing := fmt.Errorf("head %q: %w", typed, ErrNotFound)
	i := strings.LastIndexByte(typed, '-')
	if i <= 0 {
		return 0, missing
	}
	number, err := strconv.Atoi(typed[i+1:])
	if err != nil {
		return 0, missing
	}
	plant, name, err := record.Find(context.Background(), tx, "plant", typed[:i])
	if err != nil {
		return 0, fmt.Errorf("head %q: %w", typed, err)
	}
	next, err := nextHead(tx, plant, name)
	if err != nil {
		return 0, err
	}
	if number != next {
		return 0, fmt.Errorf("head %q %w, %s-%d", typed, ErrNextHead, name, next)
	}
	season, err := record.EnsureSeason(tx, d.Season)
	if err != nil {
		return 0, err
	}
	if _, err := b.insertHead(tx, plant, name, number, season, 0); err != nil {
		return 0, err
	}
	var id int64
	err = tx.QueryRow("SELECT id FROM head WHERE plant_id = ? AND number = ?", plant, number).Scan(&id)
	return id, err
}

// headsNamed are the heads of those names, in that order.
func (b *Book) headsNamed(ctx context.Context, names []string) ([]Head, error) {
	keys := make([]string, len(names))
	for i, n := range names {
		keys[i] = naming.Key(n)
	}
	list, err := json.Marshal(keys)
	if err != nil {
		return nil, err
	}
	all, err := record.Heads(ctx, b.from, "h.key IN (SELECT value FROM json_each(?))", string(list))
	if err != nil {
		return nil, err
	}
	byName := map[string]Head{}
	for _, h := range all {
		byName[h.Name] = h
	}
	out := make([]Head, 0, len(names))
	for _, n := range names {
		out = append(out, byName[n])
	}
	return out, nil
}
