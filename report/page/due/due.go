// Package due puts what a garden needs together as a gardener does it: all heads of one
// cross that want a bag are one thing to do, "Bag 3 heads of X26-007", with a button for each.
//
// Start with [Groups]. It notes nothing and knows neither book nor clock.
package due

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/calendar"
)

// The steps that are not of heads: of a packet whose seed is dry, of a sowing whose plants
// are in the bed, and of stored pollen.
const (
	PacketDry  = "packet-dry"
	PlantedOut = "planted-out"
	PollenDry  = "pollen-dry"
	PollenUsed = "pollen-used"
)

// Group is what is as urgent: overdue, of today, of the next days, or to be left as it is.
type Group struct {
	Words string
	Now   bool // it can be noted as done; what lies ahead cannot
	Tasks []Task
}

// Task is one thing to do, with all that it is to be done to.
type Task struct {
	Title    string // such as "Bag 3 heads of X26-007"
	Text     string // how, as a sentence
	When     string
	Line     string
	Where    string // in the bed, of each where it differs; empty: not said
	Key      string // the same as long as the task is
	Subjects []string
	Step     string // what a button notes as done; empty: no button notes anything
	Label    string // of the button
	Seeds    bool   // the seeds of each are counted with it
	Link     string // where it is done; empty: here
	places   []string
}

// kindWords say of a kind what is to be done with one or many.
var kindWords = map[calendar.Kind][2]string{
	calendar.Bag: {"Bag", "head"}, calendar.Pollinate: {"Pollinate", "head"}, calendar.Stigmas: {"Look at the stigmas of", "head"},
	calendar.KeepBag: {"Leave the bag on", "head"}, calendar.Harvest: {"Harvest", "head"}, calendar.Pack: {"Pack the seed of", "head"},
	calendar.Dry: {"Dry", "packet"}, calendar.Test: {"Count the sprouts of", "packet"}, calendar.Count: {"Count the plants of", "sowing"},
	calendar.Photo: {"Photograph", "plant"}, calendar.Emasculate: {"Emasculate", "head"}, calendar.Ripen: {"Leave to the bees", "head"},
	calendar.Sow: {"Sow", "packet"}, calendar.PlantOut: {"Plant out", "sowing"}, calendar.SowBy: {"Growing old:", "packet"},
	calendar.DryPollen: {"Close the pollen", "lot"}, calendar.UsePollen: {"Use the pollen", "lot"},
}

var titles = map[calendar.Urgency]string{calendar.Overdue: "Overdue", calendar.Today: "Today", calendar.Soon: "In the next days",
	calendar.Watch: "Leave as it is"}

// Groups are the tasks of the day by their urgency, and within by kind and cross. tasks
// are in the order of [calendar.Due].
func Groups(g *calendar.Garden, tasks []calendar.Task, day time.Time) []Group {
	cross := map[string]string{}
	for _, h := range g.Heads {
		cross[h.Name] = h.Cross
	}
	var out []Group
	at := map[string]int{} // place of a task in the newest group
	tasks = slices.Clone(tasks)
	slices.SortStableFunc(tasks, func(a, b calendar.Task) int {
		return cmp.Compare(slices.Index(calendar.Urgencies, a.Urgency), slices.Index(calendar.Urgencies, b.Urgency))
	})
	for _, t := range tasks {
		if len(out) == 0 || out[len(out)-1].Words != titles[t.Urgency] {
			out = append(out, Group{Words: titles[t.Urgency], Now: t.Urgency == calendar.Today || t.Urgency == calendar.Overdue})
			clear(at)
		}
		last := &out[len(out)-1]
		of := cross[t.Subjects[0]]
		key := strings.Join([]string{string(t.Kind), of, t.Line, t.Due.Format(time.DateOnly), t.Text}, "\x01")
		if i, ok := at[key]; ok && t.Kind != calendar.Test && t.Kind != calendar.Count && t.Kind != calendar.Dry {
			v := &last.Tasks[i]
			v.Subjects, v.places = append(v.Subjects, t.Subjects...), append(v.places, t.AllPlaces()...)
			v.Where = (&calendar.Task{Subjects: v.Subjects, Places: v.places}).Place()
			v.name(t.Kind, of)
			continue
		}
		at[key] = len(last.Tasks)
		last.Tasks = append(last.Tasks, task(t, of, last.Now, day))
	}
	return out
}

// name makes the title of what is to be done with so many.
func (v *Task) name(k calendar.Kind, cross string) {
	w := kindWords[k]
	v.Title = w[0] + " " + v.Subjects[0]
	if n := len(v.Subjects); n > 1 {
		v.Title = w[0] + " " + words.Count(n, w[1])
	}
	if cross != "" {
		v.Title += " of " + cross
	}
}

// task is a task with what notes it as done, where that can be noted now.
func task(t calendar.Task, cross string, now bool, day time.Time) Task {
	v := Task{Text: t.Text, Line: t.Line, Subjects: slices.Clone(t.Subjects), places: t.AllPlaces(), Key: string(t.Kind) + "-" + t.Subjects[0]}
	v.Where = t.Place()
	v.name(t.Kind, cross)
	switch {
	case t.Urgency == calendar.Overdue:
		v.When = "by " + words.Day(t.Until)
	case t.Urgency == calendar.Soon:
		v.When = "from " + words.Day(t.Due)
	case t.Urgency == calendar.Today && t.Until.After(day):
		v.When = "until " + words.Day(t.Until)
	}
	if !now {
		return v
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
		v.Step, v.Label = PacketDry, "Dry and labelled"
	case calendar.Pack:
		v.Link, v.Label = "/packets?head="+t.Subjects[0]+"#fill", "Fill a packet"
	case calendar.Test:
		v.Link, v.Label = "/packets#"+t.Subjects[0], "Count sprouts"
	case calendar.Count:
		v.Link, v.Label = "/packets#"+t.Subjects[0], "Count plants"
	case calendar.Emasculate:
		v.Step, v.Label = string(book.HeadEmasculate), "Emasculated"
	case calendar.PlantOut:
		v.Step, v.Label = PlantedOut, "Planted out"
	case calendar.DryPollen:
		v.Step, v.Label = PollenDry, "Dry and closed"
	case calendar.UsePollen:
		v.Step, v.Label = PollenUsed, "Used up"
	case calendar.Sow:
		v.Link, v.Label = "/packets#"+t.Subjects[0], "Sow"
	case calendar.SowBy:
		v.Link, v.Label = "/packets#"+t.Subjects[0], "Sow or test"
	case calendar.Photo:
		v.Link, v.Label = "/photos", "Take a photo"
		if len(t.Subjects) == 1 {
			v.Link = "/photos?plant=" + t.Subjects[0]
		}
	}
	return v
}
