package record

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"hueward/selection/book/naming"
	"hueward/selection/book/remedy"
	"hueward/selection/book/sqlite"
)

// MaxHeads is the most heads of a plant that are believed.
const MaxHeads = 999

// SeedOf finds where the packet's seed is from, and completes its cross, line,
// seeds and season.
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

// harvest finds the heads of the packet, their one cross, and their seeds.
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

// HeadRanges spreads each as [HeadRange] does.
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

// HeadRange spreads M-07-1..M-07-3, or M-07-1..3, into names of heads, and M-07..M-09
// into those of plants; anything else stays as it is.
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
	if sqlite.Said(err) { // not looked up: the disk failed
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
