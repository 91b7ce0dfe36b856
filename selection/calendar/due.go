package calendar

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"
)

// Garden is what was noted, as far as it matters for what is due. A zero time
// means that it did not happen yet, or was not said.
type Garden struct {
	Heads   []Head
	Packets []Packet
	Sowings []Sowing
	Plants  []Plant
	Pollen  []Pollen
	Frost   time.Time         // the last frost that is nearest to the day; zero: not said
	Crops   map[string]Crop   // of each line; lines that are not in it take "other"
	Places  map[string]string // in the bed, of heads and plants; those that are not in it were not said
}

// Head is one flower head.
type Head struct {
	Name, Line, Cross string
	CrossWords        string    // its parents, to tell it by
	Noted             time.Time // the day its cross was made
	Open              bool      // left to bees and wind
	OwnPollen         bool      // of a cross of two plants: own pollen is to be kept out, where the crop needs it
	Emasculated       time.Time
	Bagged            time.Time
	Pollinated        []time.Time // in order
	Dry               time.Time   // its stigmas
	Harvested, Lost   time.Time
	Packed            bool // its seed is in a packet
}

// Packet is one lot of seed.
type Packet struct {
	Name, Line  string
	Own         bool // seed of this garden: it has to be dried
	Made, Dried time.Time
	Left        bool        // it has seed left, as far as is known
	Ripe        bool        // its seed may be sown this spring: it grew before
	Sown        bool        // it was sown this season
	Tests       []time.Time // days on which germination tests began that are not read yet
}

// Sowing is seed that was sown.
type Sowing struct {
	Name, Line string
	Sown       time.Time
	Plants     int  // noted so far
	Out        bool // planted out, or sown where it flowers
}

// Plant is a plant of the season that is neither passed nor lost.
type Plant struct {
	Name, Line string
	Sown       time.Time // zero: not known; the day it was noted counts instead
	Noted      time.Time
	Photos     int // of this season
}

// Kind is what is to be done.
type Kind string

// The kinds of a task.
const (
	Bag        Kind = "bag"
	Emasculate Kind = "emasculate" // keep its own pollen out
	Pollinate  Kind = "pollinate"
	Stigmas    Kind = "stigmas"  // see whether they are dry
	KeepBag    Kind = "keep-bag" // leave it on: nothing to do yet
	Ripen      Kind = "ripen"    // left to bees and wind: nothing to do yet
	Harvest    Kind = "harvest"
	Pack       Kind = "pack"
	Dry        Kind = "dry"
	Test       Kind = "test" // read a germination test
	Count      Kind = "count"
	Photo      Kind = "photo"
	Sow        Kind = "sow"
	PlantOut   Kind = "plant-out"
	SowBy      Kind = "sow-by"     // seed that grows too old
	DryPollen  Kind = "dry-pollen" // close it and put it into a refrigerator
	UsePollen  Kind = "use-pollen"
)

// Urgency is how soon a task wants to be done.
type Urgency string

// The urgencies, the most urgent first.
const (
	Overdue Urgency = "overdue"
	Today   Urgency = "today"
	Soon    Urgency = "soon"
	Watch   Urgency = "watch" // nothing to do, but not to forget
)

// Urgencies are all of them, in that order.
var Urgencies = []Urgency{Overdue, Today, Soon, Watch}

// Task is one thing to do.
type Task struct {
	Kind     Kind
	Subjects []string // heads, packets, sowings or plants
	Line     string
	Due      time.Time // the first day for it
	Until    time.Time // the last day that is good for it; Due where there is but one
	Urgency  Urgency
	Text     string   // what to do, in words, without the subjects
	Places   []string // in the bed, of each subject, empty where it was not said; nil: of none it was
}

// days is the day so many days later.
func days(t time.Time, n int) time.Time { return t.AddDate(0, 0, n) }

// between is how many days lie from a to b.
func between(a, b time.Time) int { return int(b.Sub(a).Hours()+0.5) / 24 }

// Due lists what the garden needs on the day, and on the ahead days after it, the most urgent first; then by day, kind
// and name. What one head needs depends on nothing but that head and its crop.
func Due(g *Garden, day time.Time, ahead int) []Task {
	var out []Task
	add := func(t Task) {
		if t.Until.IsZero() {
			t.Until = t.Due
		}
		switch {
		case t.Kind == KeepBag || t.Kind == Ripen:
			t.Urgency = Watch
		case t.Until.Before(day):
			t.Urgency = Overdue
		case !t.Due.After(day):
			t.Urgency = Today
		case !t.Due.After(days(day, ahead)):
			t.Urgency = Soon
		default:
			return
		}
		t.Places = g.places(t.Subjects)
		out = append(out, t)
	}
	for _, h := range g.Heads {
		c := g.crop(h.Line)
		if t, ok := headTask(h, c, day); ok {
			add(t)
		}
		if _, said := g.Crops[h.Line]; said {
			if t, ok := emasculateTask(h, c); ok {
				add(t)
			}
		}
	}
	for _, p := range g.Packets {
		c := g.crop(p.Line)
		if p.Own && p.Dried.IsZero() && !p.Made.IsZero() {
			add(Task{Kind: Dry, Subjects: []string{p.Name}, Line: p.Line, Due: days(p.Made, c.Dry),
				Text: "dry it in paper, in moving air; then label it, close it and put it away cool"})
		}
		for _, began := range p.Tests {
			add(Task{Kind: Test, Subjects: []string{p.Name}, Line: p.Line, Due: days(began, c.Sprout.Low), Until: days(began, c.Sprout.High),
				Text: "count what has sprouted in its germination test"})
		}
	}
	for _, s := range g.Sowings {
		if s.Plants == 0 && !s.Sown.IsZero() {
			c := g.crop(s.Line)
			add(Task{Kind: Count, Subjects: []string{s.Name}, Line: s.Line, Due: days(s.Sown, c.ComeUp), Until: days(s.Sown, 2*c.ComeUp),
				Text: "count the plants that came up"})
		}
	}
	for _, t := range slices.Concat(g.sowTasks(day), g.plantOutTasks(), g.sowByTasks(day), g.pollenTasks(day)) {
		add(t)
	}
	for _, t := range photoTasks(g) {
		if !days(t.Until, bloomOver).Before(day) {
			add(t)
		}
	}
	slices.SortStableFunc(out, func(a, b Task) int {
		return cmp.Or(cmp.Compare(slices.Index(Urgencies, a.Urgency), slices.Index(Urgencies, b.Urgency)),
			a.Due.Compare(b.Due), cmp.Compare(slices.Index(kinds, a.Kind), slices.Index(kinds, b.Kind)))
	})
	return out
}

// kinds in the order of a season.
var kinds = []Kind{Sow, PlantOut, DryPollen, UsePollen, Emasculate, Bag, Pollinate, Stigmas, Harvest, Pack, Dry, Test, Count, Photo,
	SowBy, KeepBag, Ripen}

// places are where the subjects stand; nil: of none it was said.
func (g *Garden) places(subjects []string) []string {
	var out []string
	for i, s := range subjects {
		if p := g.Places[s]; p != "" {
			if out == nil {
				out = make([]string, len(subjects))
			}
			out[i] = p
		}
	}
	return out
}

// Where names each subject with its place in the bed, where that was said; those that stand
// together are named together: "M-03-1, M-03-2 (bed 3, row 2)".
func (t *Task) Where() []string {
	if t.Places == nil {
		return t.Subjects
	}
	var out []string
	for i, s := range t.Subjects {
		last := i == len(t.Subjects)-1
		if t.Places[i] != "" && (last || t.Places[i+1] != t.Places[i]) {
			s += " (" + t.Places[i] + ")"
		}
		out = append(out, s)
	}
	return out
}

// mostPlaces is how many places a task tells.
const mostPlaces = 9

// Place says where the subjects stand in the bed: once where they stand together, else of each; empty: it was not said.
func (t *Task) Place() string {
	var out []string
	for i, p := range t.Places {
		if p == "" {
			continue
		}
		if slices.ContainsFunc(t.Places, func(q string) bool { return q != p }) {
			p = t.Subjects[i] + " " + p
		}
		if slices.Contains(out, p) {
			continue
		}
		if len(out) == mostPlaces {
			out = append(out, "…")
			break
		}
		out = append(out, p)
	}
	return strings.Join(out, "; ")
}

func (g *Garden) crop(line string) Crop {
	if c, ok := g.Crops[line]; ok {
		return c
	}
	c, _ := Named(other)
	return c
}

// of names the parents of a head's cross, to be said behind what is to be done.
func (h *Head) of() string {
	if h.CrossWords == "" {
		return ""
	}
	return ", " + h.CrossWords
}

// headTask is what a head needs next; ok is false when nothing.
func headTask(h Head, c Crop, day time.Time) (t Task, ok bool) {
	t = Task{Subjects: []string{h.Name}, Line: h.Line}
	n := len(h.Pollinated)
	of := h.of()
	switch {
	case !h.Lost.IsZero():
		return t, false
	case !h.Harvested.IsZero():
		t.Kind, t.Due, t.Until = Pack, h.Harvested, days(h.Harvested, 7)
		t.Text = "put its seed into a paper packet, with its name on" + of
		return t, !h.Packed
	case h.Open:
		return openTask(h, c, day)
	case h.Bagged.IsZero() && n == 0:
		if h.Noted.IsZero() {
			return t, false
		}
		t.Kind, t.Due, t.Until = Bag, h.Noted, days(h.Noted, max(1, c.Opens.High))
		t.Text = "bag it before it opens" + of
	case n == 0:
		t.Kind, t.Due, t.Until = Pollinate, days(h.Bagged, c.Opens.Low+c.First.Low), days(h.Bagged, c.Opens.High+c.First.High)
		t.Text = fmt.Sprintf("pollinate when its stigmas show%s: day 1 of %d", of, c.Days)
	case n < c.Days && h.Dry.IsZero() && between(h.Pollinated[n-1], day) <= stale:
		t.Kind, t.Due = Pollinate, days(h.Pollinated[n-1], 1)
		t.Text = fmt.Sprintf("pollinate again%s: day %d of %d", of, n+1, c.Days)
		if missed := between(t.Due, day); missed > 0 {
			t.Text += fmt.Sprintf("; %d %s missed", missed, plural("day", missed))
		}
	default:
		last := h.Pollinated[n-1]
		ripe := days(last, c.Ripe.Low)
		switch {
		case !day.Before(ripe):
			t.Kind, t.Due, t.Until = Harvest, ripe, days(last, c.Ripe.High)
			t.Text = "likely ripe: " + c.Look
		case h.Dry.IsZero():
			t.Kind, t.Due, t.Until = Stigmas, days(last, 1), days(last, max(stale, c.Days))
			t.Text = "see whether its stigmas are dry; keep the bag on"
		default:
			t.Kind, t.Due = KeepBag, ripe
			t.Text = "keep the bag on; likely ripe from " + ripe.Format(time.DateOnly)
		}
	}
	return t, true
}

// stale is how many days without pollen make the rest not worth the walk: the
// stigmas are likely dry. Common practice, no source.
const stale = 4

// notedToFlower is how many days after a plant of unknown sowing was noted a photo of
// it is asked for: most are noted as seedlings. A guess.
const notedToFlower = 30

// bloomOver is how many days after the usual weeks of bloom a photo is no longer asked for. A guess.
const bloomOver = 60

func plural(s string, n int) string {
	if n == 1 {
		return s
	}
	return s + "s"
}

// photoTasks are one for each line and day of sowing, of plants that should be in
// flower and have no photo of this season.
func photoTasks(g *Garden) []Task {
	var out []Task
	at := map[string]int{}
	for _, p := range g.Plants {
		if p.Photos > 0 || p.Sown.IsZero() && p.Noted.IsZero() {
			continue
		}
		c := g.crop(p.Line)
		from, until := days(p.Sown, c.Flower.Low), days(p.Sown, c.Flower.High+30)
		if p.Sown.IsZero() {
			from, until = days(p.Noted, notedToFlower), days(p.Noted, notedToFlower+60)
		}
		k := p.Line + "\x00" + from.Format(time.DateOnly) + until.Format(time.DateOnly)
		i, ok := at[k]
		if !ok {
			i = len(out)
			at[k] = i
			out = append(out, Task{Kind: Photo, Line: p.Line, Due: from, Until: until,
				Text: "photograph a fresh bloom beside the card; no photo this season yet"})
		}
		out[i].Subjects = append(out[i].Subjects, p.Name)
	}
	return out
}

// Grouped puts tasks that differ in nothing but their subject together, in the
// order of the first of them. Those that ask for a number of each stay apart.
func Grouped(tasks []Task) []Task {
	var out []Task
	at := map[string]int{}
	for _, t := range tasks {
		k := strings.Join([]string{string(t.Kind), t.Line, t.Due.Format(time.DateOnly), t.Until.Format(time.DateOnly), t.Text}, "\x01")
		i, ok := at[k]
		if !ok || t.Kind == Test || t.Kind == Count {
			at[k] = len(out)
			t.Subjects = slices.Clone(t.Subjects)
			out = append(out, t)
			continue
		}
		if out[i].Places != nil || t.Places != nil {
			out[i].Places = append(out[i].AllPlaces(), t.AllPlaces()...)
		}
		out[i].Subjects = append(out[i].Subjects, t.Subjects...)
	}
	return out
}

// AllPlaces are the places, one of each subject, empty where it was not said.
func (t *Task) AllPlaces() []string {
	if t.Places == nil {
		return make([]string, len(t.Subjects))
	}
	return slices.Clone(t.Places)
}
