package page

import (
	"context"
	"strconv"
	"strings"
	"time"

	"hueward/report/page/due"
	"hueward/report/page/enter"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/calendar"
	"hueward/selection/garden"
)

// mostAgo is how long ago something may have been entered that comes now, in seconds.
const mostAgo = 60 * 24 * 3600

// now is when the request's form was filled in: what waited on a device says how long ago, as its clock may be wrong.
func (q *request) now() time.Time {
	ago, err := strconv.ParseInt(q.r.PostForm.Get("ago"), 10, 64)
	if err != nil || ago < 0 || ago > mostAgo {
		ago = 0
	}
	return q.opt.Now().Add(-time.Duration(ago) * time.Second)
}

// dayNow is the garden's date: midnight UTC stands for it, as in the book.
func (q *request) dayNow() time.Time {
	y, m, d := q.now().Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// today lists what the garden needs.
func (q *request) today() error {
	season := q.seasonNow()
	groups := query(q, func(ctx context.Context) ([]due.Group, error) {
		return remember(ctx, q.Server, "today "+season+words.Day(q.dayNow()), func(ctx context.Context) ([]due.Group, error) {
			g, err := garden.Work(ctx, q.Server.b, season, q.dayNow())
			if err != nil {
				return nil, err
			}
			return due.Groups(g, calendar.Due(g, q.dayNow(), 3), q.dayNow()), nil
		})
	})
	photos := query(q, q.b.Unassigned)
	crops, err := enter.CropsPageOf(q.ctx(), q.b, q.dayNow())
	if err != nil {
		return err
	}
	line, _ := q.lineNow()
	noTarget, noColours := line == nil || line.Target == nil, false
	if newest, _, err := q.b.NewestPhotos(q.ctx(), 1); err != nil {
		return err
	} else if len(newest) == 0 && line != nil {
		noColours = len(query(q, func(ctx context.Context) ([]book.Reading, error) { return q.b.Readings(ctx, line.Name, "") })) == 0
	}
	return q.render("today", "Today", struct {
		Groups  []due.Group
		Unknown int // photos whose plant is not known
		Day     string
		Unsaid  []string // lines whose crop was not said
		NoFrost bool
		// What comes first where a line is new.
		NoTarget, NoColours bool
	}{groups, len(photos), q.opt.Now().Format("Monday, 2 January 2006"), crops.Unsaid(), crops.Frost.IsZero(), noTarget,
		noColours || line == nil})
}

// todayDone ticks one task off.
func (q *request) todayDone() error {
	step, subject := q.r.PostFormValue("step"), q.r.PostFormValue("subject")
	names := strings.Fields(subject)
	if len(names) == 0 {
		return wrongf("Say what was done, and to which.")
	}
	f := q.filled()
	d := f.Day("on")
	if f.Err != nil {
		return f.Err
	}
	did, err := "", error(nil)
	switch step {
	case due.PacketDry:
		did = "dry"
		_, err = q.b.FixPackets(q.ctx(), names, book.PacketFix{Dried: &d})
	case due.PlantedOut:
		did = "planted out"
		err = q.b.PlantOut(q.ctx(), d, names...)
	case due.PollenDry:
		did = "dry"
		_, err = q.b.FixPollen(q.ctx(), names, book.PollenFix{Dried: &d})
	case due.PollenUsed:
		did = "used up"
		_, err = q.b.FixPollen(q.ctx(), names, book.PollenFix{UsedUp: &d})
	default:
		return q.doHead(step, subject, "")
	}
	if err != nil {
		return err
	}
	q.done("%s: %s.", strings.Join(names, ", "), did)
	return q.back("/today")
}

// stepWords are what was done with a head.
var stepWords = map[book.HeadStep]string{
	book.HeadBag: "bagged", book.HeadEmasculate: "emasculated", book.HeadPollinate: "pollinated",
	book.HeadDry: "stigmas dry", book.HeadHarvest: "harvested",
	book.HeadLost: "lost",
}

func (q *request) doHead(step, subject, cross string) error {
	did := stepWords[book.HeadStep(step)]
	if did == "" || strings.TrimSpace(subject) == "" {
		return wrongf("Say which head, and what was done.")
	}
	f := q.filled()
	on, seeds := f.Day("on"), f.Count("seeds")
	if f.Err != nil {
		return f.Err
	}
	if book.HeadStep(step) != book.HeadHarvest {
		seeds = nil
	}
	n, err := garden.NoteHeads(q.ctx(), q.b, book.HeadDone{Heads: strings.Fields(subject), Step: book.HeadStep(step), On: on, Seeds: seeds,
		Cross: cross, Note: q.r.PostFormValue("note")}, q.now())
	if err != nil {
		return err
	}
	said := []string{strings.Join(words.Each(n.Heads, func(h book.Head) string { return h.Name }), ", ") + " " + did}
	if seeds != nil {
		said[0] += ", " + words.Count(*seeds, "seed")
	}
	said = append(said, n.Odd...)
	if n.Open != "" {
		said = append(said, words.Sentence(n.Open))
	}
	if len(n.Selfs) > 0 {
		said = append(said, "Own pollen of "+strings.Join(n.Selfs, ", ")+" was not kept out, so some of the offspring will be selfs")
	}
	text := strings.Join(said, ". ")
	q.done("%s", words.Sentence(text))
	return q.back("/today")
}
