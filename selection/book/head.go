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

// insertHead adds a head of the plant; number 0 stands for the next free one, cross 0 for not said.
func (b *Book) insertHead(t *record.Tx, plant int64, plantName string, number int, season, cross int64) (id int64, name string) {
	if number == 0 {
		number = nextHead(t, plant, plantName)
	}
	if number > record.MaxHeads {
		t.Failf("head %d of plant %q; want 1 to %d", number, plantName, record.MaxHeads)
	}
	name = plantName + "-" + strconv.Itoa(number)
	return t.Add("head", "name, key, plant_id, number, season_id, cross_id, added_at", name, naming.Key(name), plant, number, season,
		record.OrNull(cross), b.Stamp()), name
}

// nextHead returns the number of the plant's next head. Names that are on a tag already, of a head that came from
// a merged plant or of a renamed plant's head, are passed over.
func nextHead(t *record.Tx, plant int64, plantName string) (number int) {
	t.Get("SELECT coalesce(max(number), 0) + 1 FROM head WHERE plant_id = ?", plant).Into(&number)
	for ; ; number++ {
		var taken bool
		if t.Get("SELECT EXISTS (SELECT 1 FROM head WHERE key = ?)", naming.Key(plantName+"-"+strconv.Itoa(number))).Into(&taken); !taken {
			return number
		}
	}
}

// ErrNextHead is returned for a new head whose number is not the next of its plant.
var ErrNextHead = errors.New("is not the plant's next head")

// HeadStep is one kind of work on a head.
type HeadStep string

// The steps, in the order of a season.
const (
	HeadBag        HeadStep = "bag"
	HeadEmasculate HeadStep = "emasculate" // its own pollen is kept out: anthers or disc florets taken out
	HeadPollinate  HeadStep = "pollinate"
	HeadDry        HeadStep = "dry" // its stigmas are dry: no more pollen takes
	HeadHarvest    HeadStep = "harvest"
	HeadLost       HeadStep = "lost"
)

// HeadSteps lists all steps.
var HeadSteps = []HeadStep{HeadBag, HeadEmasculate, HeadPollinate, HeadDry, HeadHarvest, HeadLost}

// HeadDone is a step that was done with heads on one day.
type HeadDone struct {
	Heads  []string // names, ranges M-07-1..M-07-3, or a plant's id for all its heads for which the step is to be done
	Step   HeadStep
	On     time.Time
	Seeds  *int   // of HeadHarvest, of each head; nil: not counted
	Cross  string // what the heads are for; empty: as it is
	Season string // of heads that the step adds
	Note   string // replaces that of the heads, unless empty
}

// DoHeads notes what was done with heads, for all of them or none. It returns them as they are now, and what is odd
// about it, such as pollen on a head that was never bagged. The seeds of a harvested head may be counted later.
// Bagging adds a head that is not in the book yet if it is its plant's next. Days must follow the order of a
// season; entering the same day again changes nothing. The error wraps ErrNotFound or ErrNextHead.
func (b *Book) DoHeads(ctx context.Context, d HeadDone) (heads []Head, odd []string, err error) {
	if !slices.Contains(HeadSteps, d.Step) {
		return nil, nil, fmt.Errorf("%q is not a step of a head", d.Step)
	}
	if err := checkCount("seeds", d.Seeds); err != nil {
		return nil, nil, err
	}
	var names []string
	err = b.Change(ctx, func(t *record.Tx) string {
		cross, plantOfCross := crossNamed(t, d.Cross)
		for _, h := range b.headRows(t, d) {
			if cross != 0 {
				if plantOfCross != h.plant {
					t.Failf("head %q is not of cross %q's seed parent", h.name, d.Cross)
				}
				t.Do("UPDATE head SET cross_id = ? WHERE id = ?", cross, h.id)
			}
			if said := h.do(t, d); said != "" {
				odd = append(odd, said)
			}
			if d.Note != "" {
				t.Do("UPDATE head SET note = ? WHERE id = ?", d.Note, h.id)
			}
			names = append(names, h.name)
		}
		return fmt.Sprintf("%s: %s %s", nameList(names), headWords[d.Step], d.On.Format(time.DateOnly))
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

// nameList joins the names, leaving out the middle of a long list.
func nameList(names []string) string {
	if len(names) > 6 {
		return fmt.Sprintf("%s … %s (%d)", strings.Join(names[:3], ", "), names[len(names)-1], len(names))
	}
	return strings.Join(names, ", ")
}

// crossNamed returns the rows of the cross and of its seed parent; 0 and 0 for "".
func crossNamed(t *record.Tx, typed string) (row, seed int64) {
	if typed == "" {
		return 0, 0
	}
	row, _ = t.Find("cross", typed)
	t.Get(`SELECT seed_parent_id FROM "cross" WHERE id = ?`, row).Into(&seed)
	return row, seed
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

// do notes the step and returns what is odd about it.
func (h *headRow) do(t *record.Tx, d HeadDone) (odd string) {
	on := d.On.Format(time.DateOnly)
	fail := func(format string, args ...any) {
		t.Fail(remedy.Step(remedy.FixHead, h.name).Errorf("head %q: %s; correct it", h.name, fmt.Sprintf(format, args...)))
	}
	if h.lost.Valid && d.Step != HeadLost {
		fail("it was lost on %s", h.lost.String)
	}
	if h.harvested.Valid && (d.Step == HeadHarvest && (h.seeds.Valid || d.Seeds == nil && on != h.harvested.String) || d.Step == HeadLost) {
		fail("it was harvested on %s", h.harvested.String)
	}
	if h.open && d.Step == HeadPollinate && d.Cross == "" {
		odd = fmt.Sprintf("head %s is left to bees and wind: say which cross the pollen is for, or note a cross",
			h.name)
	}
	// note keeps the day of what was done once.
	note := func(column string, was sql.NullString, words string) {
		if was.Valid && was.String != on {
			fail(words+" on %s", was.String)
		}
		t.Do("UPDATE head SET "+column+" = ? WHERE id = ?", on, h.id)
	}
	switch d.Step {
	case HeadBag:
		if h.open {
			odd = fmt.Sprintf("head %s is left to bees and wind: it needs no bag, and sets little seed in one", h.name)
		}
		note("bagged_on", h.bagged, "it was bagged")
	case HeadEmasculate:
		switch {
		case h.open:
			odd = fmt.Sprintf("head %s is left to bees and wind: its own pollen does no harm there", h.name)
		case h.pollinated.Valid && h.pollinated.String < on:
			odd = fmt.Sprintf("head %s was pollinated on %s, before: its own pollen may have come first", h.name, h.pollinated.String)
		}
		note("emasculated_on", h.emasculated, "it was emasculated")
	case HeadPollinate:
		if !h.bagged.Valid && !h.open {
			odd = fmt.Sprintf("head %s was never bagged: other pollen may have come first", h.name)
		}
		t.Do("INSERT INTO pollination (head_id, day) VALUES (?, ?) ON CONFLICT DO NOTHING", h.id, on)
	case HeadDry:
		note("stigmas_dry_on", h.dry, "its stigmas were dry")
	case HeadHarvest:
		if h.harvested.Valid { // counted since
			t.Do("UPDATE head SET seeds = ? WHERE id = ?", d.Seeds, h.id)
			return odd
		}
		t.Do("UPDATE head SET harvested_on = ?, seeds = coalesce(?, seeds) WHERE id = ?", on, d.Seeds, h.id)
	case HeadLost:
		t.Do("UPDATE head SET lost_on = ? WHERE id = ?", on, h.id)
	}
	if t.Err() == nil {
		if daysInOrder(t, h.id, h.name); t.Err() != nil {
			t.Mend(remedy.Step(remedy.FixHead, h.name), "; correct it")
		}
	}
	return odd
}

// headRows returns all heads that d.Heads stands for.
func (b *Book) headRows(t *record.Tx, d HeadDone) (out []headRow) {
	var ids []int64
	for _, typed := range t.HeadRanges(d.Heads) {
		for _, id := range b.headsMeant(t, typed, d) {
			if !slices.Contains(ids, id) {
				ids = append(ids, id)
			}
		}
	}
	for _, id := range ids {
		h := headRow{id: id}
		t.Get(`SELECT name, plant_id, bagged_on, stigmas_dry_on, harvested_on, lost_on, seeds, NOT (`+byHand+`), emasculated_on,
			(SELECT min(day) FROM pollination WHERE head_id = head.id) FROM head WHERE id = ?`, id).Into(&h.name, &h.plant, &h.bagged, &h.dry,
			&h.harvested, &h.lost, &h.seeds, &h.open, &h.emasculated, &h.pollinated)
		out = append(out, h)
	}
	return out
}

// headsMeant returns the rows that one typed name stands for: a head; or a plant's heads that are neither
// harvested nor lost and for which the step is still to be done; or a new head.
func (b *Book) headsMeant(t *record.Tx, typed string, d HeadDone) []int64 {
	row, _, err := record.Find(context.Background(), t, "head", typed)
	if !errors.Is(err, ErrNotFound) {
		t.Fail(err)
		return []int64{row}
	}
	plant, _, err2 := record.Find(context.Background(), t, "plant", typed)
	switch {
	case err2 == nil:
		open := record.All[int64](t, "SELECT id FROM head WHERE plant_id = ? AND harvested_on IS NULL AND lost_on IS NULL AND "+stepOpen[d.Step]+
			" ORDER BY number", plant)
		if len(open) == 0 {
			t.Failf("plant %q has no head for that; name one, such as %s-1", typed, typed)
		}
		return open
	case !errors.Is(err2, ErrNotFound):
		t.Fail(err2)
	case d.Step != HeadBag && d.Step != HeadEmasculate: // a bud's anthers may be taken out before its bag is tied
		t.Fail(err)
	}
	return []int64{b.newHead(t, typed, d)}
}

// stepOpen gives, as SQL, the condition that a step is still to be done for a head.
var stepOpen = map[HeadStep]string{
	HeadBag: "bagged_on IS NULL AND " + byHand, HeadPollinate: "stigmas_dry_on IS NULL AND " + byHand,
	HeadEmasculate: "emasculated_on IS NULL AND stigmas_dry_on IS NULL AND " + byHand,
	HeadDry:        "stigmas_dry_on IS NULL AND " + byHand,
	HeadHarvest:    `(bagged_on IS NOT NULL OR (SELECT kind FROM "cross" WHERE id = cross_id) = 'open')`, HeadLost: "TRUE",
}

// byHand is, as SQL, the condition that a head is not left to bees and wind.
const byHand = `coalesce((SELECT kind FROM "cross" WHERE id = cross_id), '') <> 'open'`

// newHead adds the typed head if it is its plant's next.
func (b *Book) newHead(t *record.Tx, typed string, d HeadDone) (id int64) {
	i := strings.LastIndexByte(typed, '-')
	number, err := strconv.Atoi(typed[i+1:])
	if i <= 0 || err != nil {
		t.Failf("head %q: %w", typed, ErrNotFound)
		return 0
	}
	var plant int64
	var name string
	t.In(fmt.Sprintf("head %q", typed), func() { plant, name = t.Find("plant", typed[:i]) })
	if next := nextHead(t, plant, name); number != next {
		t.Failf("head %q %w, %s-%d", typed, ErrNextHead, name, next)
	}
	id, _ = b.insertHead(t, plant, name, number, t.Season(d.Season), 0)
	return id
}

// headsNamed returns the heads of those names, in that order.
func (b *Book) headsNamed(ctx context.Context, names []string) ([]Head, error) {
	all, err := record.Heads(ctx, b.from, "h.key IN (SELECT value FROM json_each(?))", keyList(names))
	slices.SortFunc(all, func(x, y Head) int { return slices.Index(names, x.Name) - slices.Index(names, y.Name) })
	return all, err
}

// keyList returns the keys of the names as a JSON list, for SQL's json_each.
func keyList(names []string) string {
	list, _ := json.Marshal(names) // strings always are
	return naming.Key(string(list))
}

// HeadFix is what is corrected of a head; nil leaves it as it is, the zero time takes a day away.
type HeadFix struct {
	Bagged, Emasculated, StigmasDry, Harvested, Lost *time.Time
	Seeds                                            *int        // negative: not counted
	Cross                                            *string     // empty: not said
	Pollinated                                       []time.Time // days to add
	NotPollinated                                    []time.Time // days to take away
	Note                                             *string
}

// FixHead corrects a head and returns it as it is now. Its days must still follow the order of a season.
func (b *Book) FixHead(ctx context.Context, name string, fix HeadFix) (*Head, error) {
	return headRecords.fix(ctx, b, name, func(t *record.Tx, row int64, full string) string {
		correct(t, "head", row, columns{"bagged_on": fix.Bagged, "emasculated_on": fix.Emasculated, "stigmas_dry_on": fix.StigmasDry,
			"harvested_on": fix.Harvested, "lost_on": fix.Lost, "seeds": fix.Seeds, "note": fix.Note})
		for _, d := range fix.Pollinated {
			t.Do("INSERT INTO pollination (head_id, day) VALUES (?, ?) ON CONFLICT DO NOTHING", row, dayText(d))
		}
		for _, d := range fix.NotPollinated {
			if t.Do("DELETE FROM pollination WHERE head_id = ? AND day = ?", row, dayText(d)) == 0 {
				t.Failf("head %q was not pollinated on %s", full, d.Format(time.DateOnly))
			}
		}
		if fix.Cross != nil {
			fixCrossOf(t, row, full, *fix.Cross)
		}
		daysInOrder(t, row, full)
		return "head " + full + " corrected"
	})
}

func fixCrossOf(t *record.Tx, head int64, name, typed string) {
	cross, seed := crossNamed(t, typed)
	var plant int64
	var packet sql.NullString
	t.Get(`SELECT plant_id, (SELECT k.name FROM packet_head x JOIN packet k ON k.id = x.packet_id WHERE x.head_id = head.id LIMIT 1)
		FROM head WHERE id = ?`, head).Into(&plant, &packet)
	switch {
	case packet.Valid:
		t.Fail(remedy.Step(remedy.FixCross).Errorf("head %q: its seed is in packet %s, which is of a cross; correct the cross instead", name,
			packet.String))
	case cross != 0 && seed != plant:
		t.Failf("head %q is not of cross %q's seed parent", name, typed)
	}
	t.Do("UPDATE head SET cross_id = ? WHERE id = ?", record.OrNull(cross), head)
}

// daysInOrder fails if the noted days of a head are not in a possible order.
func daysInOrder(t *record.Tx, head int64, name string) {
	var days [6]sql.NullString
	var emasculated sql.NullString
	t.Get(`SELECT bagged_on, (SELECT min(day) FROM pollination WHERE head_id = head.id), (SELECT max(day) FROM pollination
		WHERE head_id = head.id), stigmas_dry_on, harvested_on, lost_on, emasculated_on FROM head WHERE id = ?`, head).
		Into(&days[0], &days[1], &days[2], &days[3], &days[4], &days[5], &emasculated)
	for i, what := range map[int]string{3: "its stigmas were dry", 4: "it was harvested"} {
		if emasculated.Valid && days[i].Valid && days[i].String < emasculated.String {
			t.Failf("head %q: emasculated on %s, after %s on %s", name, emasculated.String, what, days[i].String)
		}
	}
	words := [...]string{"bagged", "pollinated", "pollinated", "dry", "harvested"}
	last := -1
	for i := range words {
		if !days[i].Valid {
			continue
		}
		if last >= 0 && days[i].String < days[last].String {
			t.Failf("head %q: %s on %s, before it was %s on %s", name, words[i], days[i].String, words[last], days[last].String)
		}
		last = i
	}
	if days[4].Valid && days[5].Valid {
		t.Failf("head %q: harvested on %s and lost on %s; take one of them away", name, days[4].String, days[5].String)
	}
}
