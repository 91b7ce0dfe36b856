package page

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/calendar"
	"hueward/selection/garden"
)

// task is one thing to do, with what its button notes.
type task struct {
	calendar.Task
	Step  string // of a head, or "dry"; empty: the button leads elsewhere
	Link  string
	Label string // of the button
	When  string
	Seeds bool // the seeds can be entered with it
}

type taskGroup struct {
	Words string
	Now   bool
	Tasks []task
}

// dayNow is the garden's date: midnight UTC stands for it, as in the book.
func (q *request) dayNow() time.Time {
	y, m, d := q.opt.Now().Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// dayOf reads a day of a form; empty is today. What is noted has happened, so a day to
// come is refused.
func (q *request) dayOf(field string) (time.Time, error) {
	s := strings.TrimSpace(q.r.PostFormValue(field))
	if s == "" {
		return q.dayNow(), nil
	}
	d, err := time.Parse(time.DateOnly, s)
	switch {
	case err != nil:
		return d, wrongf("The day %q is not a date such as 2026-07-14.", s)
	case d.After(q.dayNow()):
		return d, wrongf("The day %s lies ahead; today is %s.", s, words.Day(q.dayNow()))
	}
	return d, nil
}

// countOf reads a count of a form; empty is none.
func (q *request) countOf(field string) (*int, error) {
	s := strings.TrimSpace(q.r.PostFormValue(field))
	if s == "" {
		return nil, nil
	}
	n, err := strconv.Atoi(s)
	if err != nil || n < 0 || n > 10_000_000 {
		return nil, wrongf("%q is not a number of %s.", s, field)
	}
	return &n, nil
}

// today lists what the garden needs.
func (q *request) today() error {
	season, err := q.seasonNow()
	if err != nil {
		return err
	}
	groups, err := remember(q.ctx(), q.Server, "today "+season+words.Day(q.dayNow()), func(ctx context.Context) ([]taskGroup, error) {
		g, err := garden.Work(ctx, q.Server.b, season, q.dayNow())
		if err != nil {
			return nil, err
		}
		return q.groups(calendar.Due(g, q.dayNow(), 3)), nil
	})
	if err != nil {
		return err
	}
	photos, err := q.b.Unassigned(q.ctx())
	if err != nil {
		return err
	}
	return q.render("today", "Today", struct {
		Groups  []taskGroup
		Unknown int // photos of which the plant is not known
		Day     string
	}{groups, len(photos), q.opt.Now().Format("Monday, 2 January 2006")})
}

func (q *request) groups(tasks []calendar.Task) []taskGroup {
	titles := map[calendar.Urgency]string{calendar.Overdue: "Overdue", calendar.Today: "Today", calendar.Soon: "In the next days",
		calendar.Watch: "Leave as it is"}
	var out []taskGroup
	for _, t := range photosTogether(tasks) {
		if len(out) == 0 || out[len(out)-1].Words != titles[t.Urgency] {
			out = append(out, taskGroup{Words: titles[t.Urgency], Now: t.Urgency == calendar.Today || t.Urgency == calendar.Overdue})
		}
		v := task{Task: t}
		switch {
		case t.Urgency == calendar.Overdue:
			v.When = "by " + words.Day(t.Until)
		case t.Urgency == calendar.Soon:
			v.When = "from " + words.Day(t.Due)
		case t.Urgency == calendar.Today && t.Until.After(q.dayNow()):
			v.When = "until " + words.Day(t.Until)
		}
		switch t.Kind {
		case calendar.Bag:
			v.Step, v.Label = string(book.HeadBag), "Bagged"
		case calendar.Pollinate:
			v.Step, v.Label = string(book.HeadPollinate), "Pollinated"
		case calendar.Stigmas:
			v.Step, v.Label = string(book.HeadDry), "Stigmas are dry"
		case calendar.Harvest:
			v.Step, v.Label, v.Seeds = string(book.HeadHarvest), "Harvested", true
		case calendar.Dry:
			v.Step, v.Label = packetDry, "Dry and labelled"
		case calendar.Pack:
			v.Link, v.Label = "/packets?head="+t.Subjects[0]+"#fill", "Fill a packet"
		case calendar.Test:
			v.Link, v.Label = "/packets#"+t.Subjects[0], "Count sprouts"
		case calendar.Count:
			v.Link, v.Label = "/packets#"+t.Subjects[0], "Count plants"
		case calendar.Photo:
			v.Link, v.Label = "/photos", "Add photos"
			if len(t.Subjects) == 1 {
				v.Link = "/photos?plant=" + t.Subjects[0]
			}
		}
		g := &out[len(out)-1]
		g.Tasks = append(g.Tasks, v)
	}
	return out
}

// photosTogether makes one task of all plants that want a photo; what heads and packets
// need is ticked off one by one.
func photosTogether(tasks []calendar.Task) []calendar.Task {
	var photos, rest []calendar.Task
	for _, t := range tasks {
		if t.Kind == calendar.Photo {
			photos = append(photos, t)
		} else {
			rest = append(rest, t)
		}
	}
	rest = append(rest, calendar.Grouped(photos)...)
	slices.SortStableFunc(rest, func(a, b calendar.Task) int {
		return cmp.Compare(slices.Index(calendar.Urgencies, a.Urgency), slices.Index(calendar.Urgencies, b.Urgency))
	})
	return rest
}

// todayDone ticks one task off.
func (q *request) todayDone() error {
	step, subject := q.r.PostFormValue("step"), q.r.PostFormValue("subject")
	if step == packetDry {
		d, err := q.dayOf("on")
		if err != nil {
			return err
		}
		if _, err := q.b.FixPackets(q.ctx(), []string{subject}, book.PacketFix{Dried: &d}); err != nil {
			return err
		}
		q.done("%s is dry.", subject)
		return q.ticked()
	}
	return q.doHead(step, subject, "")
}

func (q *request) ticked() error {
	if q.wantsJSON() {
		return q.json(http.StatusOK, map[string]any{"done": true})
	}
	return q.back("/today")
}

// stepWords are what was done with a head.
var stepWords = map[book.HeadStep]string{
	book.HeadBag: "bagged", book.HeadPollinate: "pollinated", book.HeadDry: "stigmas dry", book.HeadHarvest: "harvested",
	book.HeadLost: "lost",
}

func (q *request) doHead(step, subject, cross string) error {
	did := stepWords[book.HeadStep(step)]
	if did == "" || strings.TrimSpace(subject) == "" {
		return wrongf("Say which head, and what was done.")
	}
	on, err := q.dayOf("on")
	if err != nil {
		return err
	}
	seeds, err := q.countOf("seeds")
	if err != nil {
		return err
	}
	if book.HeadStep(step) != book.HeadHarvest {
		seeds = nil
	}
	season, err := garden.SeasonOn(q.ctx(), q.b, "", on, q.opt.Now())
	if err != nil {
		return err
	}
	heads, odd, err := q.b.DoHeads(q.ctx(), book.HeadDone{Heads: strings.Fields(subject), Step: book.HeadStep(step), On: on, Seeds: seeds,
		Cross: cross, Season: season,
		Note: q.r.PostFormValue("note")})
	if err != nil {
		return err
	}
	var names []string
	for _, h := range heads {
		names = append(names, h.Name)
	}
	text := fmt.Sprintf("%s %s", strings.Join(names, ", "), did)
	if seeds != nil {
		text += ", " + words.Count(*seeds, "seed")
	}
	for _, o := range odd {
		text += ". " + o
	}
	q.done("%s", sentence(text))
	return q.ticked()
}

// packetDry is the step of a packet whose seed is dry.
const packetDry = "packet-dry"
