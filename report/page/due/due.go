// Package due groups a garden's tasks as a gardener does them: all heads of one
// cross that need a bag are one task, "Bag 3 heads of X26-007", with a button for each.
//
// Start with [Groups]. The package records nothing and knows neither book nor clock.
package due

import (
	"cmp"
	"fmt"
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

// kinds say of a kind what is to be done with one or many, and what a button does: it notes a step as done, or leads to where
// that is noted.
var kinds = map[calendar.Kind]struct{ do, what, step, link, label string }{
	calendar.Bag:        {do: "Bag", what: "head", step: string(book.HeadBag), label: "Bagged"},
	calendar.Pollinate:  {do: "Pollinate", what: "head", step: string(book.HeadPollinate), label: "Pollinated"},
	calendar.Stigmas:    {do: "Look at the stigmas of", what: "head", step: string(book.HeadDry), label: "Stigmas are dry"},
	calendar.KeepBag:    {do: "Leave the bag on", what: "head"},
	calendar.Harvest:    {do: "Harvest", what: "head", step: string(book.HeadHarvest), label: "Harvested"},
	calendar.Pack:       {do: "Pack the seed of", what: "head", link: "/packets?head=%s#fill", label: "Fill a packet"},
	calendar.Dry:        {do: "Dry", what: "packet", step: PacketDry, label: "Dry and labelled"},
	calendar.Test:       {do: "Count the sprouts of", what: "packet", link: "/packets#%s", label: "Count sprouts"},
	calendar.Count:      {do: "Count the plants of", what: "sowing", link: "/packets#%s", label: "Count plants"},
	calendar.Photo:      {do: "Photograph", what: "plant", link: "/photos?plant=%s", label: "Take a photo"},
	calendar.Emasculate: {do: "Emasculate", what: "head", step: string(book.HeadEmasculate), label: "Emasculated"},
	calendar.Ripen:      {do: "Leave to the bees", what: "head"},
	calendar.Sow:        {do: "Sow", what: "packet", link: "/packets#%s", label: "Sow"},
	calendar.PlantOut:   {do: "Plant out", what: "sowing", step: PlantedOut, label: "Planted out"},
	calendar.SowBy:      {do: "Growing old:", what: "packet", link: "/packets#%s", label: "Sow or test"},
	calendar.DryPollen:  {do: "Close the pollen", what: "lot", step: PollenDry, label: "Dry and closed"},
	calendar.UsePollen:  {do: "Use the pollen", what: "lot", step: PollenUsed, label: "Used up"},
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
	w := kinds[k]
	v.Title = w.do + " " + v.Subjects[0]
	if n := len(v.Subjects); n > 1 {
		v.Title = w.do + " " + words.Count(n, w.what)
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
	k := kinds[t.Kind]
	v.Step, v.Label, v.Seeds = k.step, k.label, t.Kind == calendar.Harvest
	if k.link != "" {
		v.Link = fmt.Sprintf(k.link, t.Subjects[0])
	}
	if t.Kind == calendar.Photo && len(t.Subjects) > 1 {
		v.Link = "/photos"
	}
	return v
}
