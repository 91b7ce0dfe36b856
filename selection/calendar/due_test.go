package calendar

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func july(d int) time.Time { return time.Date(2026, 7, d, 0, 0, 0, 0, time.UTC) }

func marigold() Crop {
	c, _ := Named("calendula")
	return c
}

// told is a task in one line.
func told(t Task) string {
	return fmt.Sprintf("%s %s %s %s..%s | %s", t.Urgency, t.Kind, strings.Join(t.Subjects, "+"), t.Due.Format("0102"),
		t.Until.Format("0102"), t.Text)
}

// TestDue follows one head through its season, by the calendula's usual times:
// 2 to 4 days to opening, 1 to 2 more to the first pollination, 4 days in a row,
// 21 to 35 days to ripe seed. Common practice, no source.
func TestDue(t *testing.T) {
	t.Parallel()
	head := Head{Name: "M-1-1", Line: "buff", CrossWords: "M-1 × M-2", Noted: july(1)}
	with := func(f func(*Head)) Head {
		h := head
		h.Pollinated = nil
		f(&h)
		return h
	}
	pollinated := func(d ...int) Head {
		return with(func(h *Head) {
			h.Bagged = july(2)
			for _, d := range d {
				h.Pollinated = append(h.Pollinated, july(d))
			}
		})
	}
	dry := pollinated(6, 7, 8, 9)
	dry.Dry = july(10)
	for _, c := range []struct {
		name string
		head Head
		day  time.Time
		want string
	}{
		{"to bag", head, july(1), "today bag M-1-1 0701..0705 | bag it before it opens, M-1 × M-2"},
		{"late to bag", head, july(6), "overdue bag M-1-1 0701..0705 | bag it before it opens, M-1 × M-2"},
		{"bagged", with(func(h *Head) { h.Bagged = july(2) }), july(3), "soon pollinate M-1-1 0705..0708 | pollinate when its stigmas show, " +
			"M-1 × M-2: day 1 of 4"},
		{"open", with(func(h *Head) { h.Bagged = july(2) }), july(5), "today pollinate M-1-1 0705..0708 | pollinate when its stigmas show, " +
			"M-1 × M-2: day 1 of 4"},
		{"done today", pollinated(6), july(6), "soon pollinate M-1-1 0707..0707 | pollinate again, M-1 × M-2: day 2 of 4"},
		{"day 2", pollinated(6), july(7), "today pollinate M-1-1 0707..0707 | pollinate again, M-1 × M-2: day 2 of 4"},
		{"a day missed", pollinated(6, 7), july(9), "overdue pollinate M-1-1 0708..0708 | pollinate again, M-1 × M-2: day 3 of 4; 1 day missed"},
		{"too late for more", pollinated(6, 7), july(12), "overdue stigmas M-1-1 0708..0711 | see whether its stigmas are dry; keep the bag on"},
		{"all days", pollinated(6, 7, 8, 9), july(10), "today stigmas M-1-1 0710..0713 | see whether its stigmas are dry; keep the bag on"},
		{"dry", dry, july(12), "watch keep-bag M-1-1 0730..0730 | keep the bag on; likely ripe from 2026-07-30"},
		{"ripe", dry, july(30), "today harvest M-1-1 0730..0813 | likely ripe: the outer seeds are tan and curled, and drop at a touch"},
		{"over-ripe", dry, july(31 + 14), "overdue harvest M-1-1 0730..0813 | likely ripe: the outer seeds are tan and curled, and drop at a " +
			"touch"},
		{"harvested", with(func(h *Head) { h.Harvested = july(30) }), july(31), "today pack M-1-1 0730..0806 | put its seed into a paper " +
			"packet, with its name on, M-1 × M-2"},
		{"packed", with(func(h *Head) { h.Harvested = july(30); h.Packed = true }), july(31), ""},
		{"lost", with(func(h *Head) { h.Lost = july(3) }), july(4), ""},
	} {
		got := ""
		for _, task := range Due(&Garden{Heads: []Head{c.head}, Crops: map[string]Crop{"buff": marigold()}}, c.day, 3) {
			got += told(task)
		}
		if got != c.want {
			t.Errorf("%s: got  %s\nwant %s", c.name, got, c.want)
		}
	}
}

// TestDueOthers: packets, tests, sowings and plants, of a line without a crop.
func TestDueOthers(t *testing.T) {
	t.Parallel()
	g := &Garden{
		Packets: []Packet{
			{Name: "P1", Own: true, Made: july(1)}, {Name: "P2", Made: july(1)}, // the second is bought
			{Name: "P3", Own: true, Made: july(1), Dried: july(9), Tests: []time.Time{july(3), july(10)}},
		},
		Sowings: []Sowing{{Name: "S1", Sown: july(1)}, {Name: "S2", Sown: july(1), Plants: 3}},
		Plants: []Plant{{Name: "A", Line: "buff", Sown: july(1)}, {Name: "B", Line: "buff", Sown: july(1)},
			{Name: "C", Line: "buff", Sown: july(1), Photos: 1},
			{Name: "D", Line: "buff", Sown: july(2)}, {Name: "E", Line: "buff"}, {Name: "F", Line: "buff", Noted: july(2)}},
	}
	at := func(day time.Time, ahead int) []string {
		var s []string
		for _, t := range Due(g, day, ahead) {
			s = append(s, told(t))
		}
		return s
	}
	dry := "dry it in paper, in moving air; then label it, close it and put it away cool"
	sprouted := "count what has sprouted in its germination test"
	if d := cmp.Diff([]string{
		"today dry P1 0711..0711 | " + dry,
		"today test P3 0710..0717 | " + sprouted,
	}, mixed(at(july(11), 0))); d != "" {
		t.Errorf("11 July (-want +got):\n%s", d)
	}
	later := at(time.Date(2026, 8, 30, 0, 0, 0, 0, time.UTC), 2)
	if d := cmp.Diff([]string{
		"overdue count S1 0719..0806 | count the plants that came up",
		"overdue dry P1 0711..0711 | " + dry, "overdue test P3 0710..0717 | " + sprouted, "overdue test P3 0717..0724 | " + sprouted,
		"soon photo D 0831..1030 | photograph a fresh bloom beside the card; no photo this season yet",
		"today photo A+B 0830..1029 | photograph a fresh bloom beside the card; no photo this season yet",
		"today photo F 0801..0930 | photograph a fresh bloom beside the card; no photo this season yet",
	}, mixed(later)); d != "" {
		t.Errorf("30 August (-want +got):\n%s", d)
	}
}

func mixed(s []string) []string {
	slices.Sort(s)
	return s
}

// TestDueHolds draws gardens: doing what a task says makes it go away, no task
// comes before the day, the most urgent stand first, and what one head needs does
// not depend on the others.
func TestDueHolds(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		crop := rapid.SampledFrom(Crops()).Draw(t, "crop")
		g := &Garden{Crops: map[string]Crop{"l": crop}}
		for i := range rapid.IntRange(1, 12).Draw(t, "heads") {
			h := Head{Name: fmt.Sprintf("h%d", i), Line: "l", Noted: july(rapid.IntRange(1, 10).Draw(t, "noted"))}
			at := 10
			next := func(what string) time.Time {
				at += rapid.IntRange(0, 5).Draw(t, what)
				return july(at)
			}
			switch stage := rapid.IntRange(0, 5).Draw(t, "stage"); {
			case stage > 0:
				h.Bagged = next("bagged")
				if stage > 1 {
					for range rapid.IntRange(1, 6).Draw(t, "days") {
						h.Pollinated = append(h.Pollinated, next("pollinated"))
					}
				}
				if stage > 2 {
					h.Dry = next("dry")
				}
				if stage > 3 {
					h.Harvested = next("harvested")
				}
			}
			g.Heads = append(g.Heads, h)
		}
		day := july(rapid.IntRange(1, 120).Draw(t, "day"))
		ahead := rapid.IntRange(0, 30).Draw(t, "ahead")
		tasks := Due(g, day, ahead)
		last := 0
		for _, task := range tasks {
			u := slices.Index(Urgencies, task.Urgency)
			if u < last {
				t.Fatalf("%s after one less urgent", told(task))
			}
			last = u
			if task.Urgency != Watch && task.Due.After(days(day, ahead)) || task.Until.Before(task.Due) {
				t.Fatalf("%s on %s", told(task), day)
			}
			i := slices.IndexFunc(g.Heads, func(h Head) bool { return h.Name == task.Subjects[0] })
			h := g.Heads[i]
			alone := Due(&Garden{Heads: []Head{h}, Crops: g.Crops}, day, ahead)
			if len(alone) != 1 || told(alone[0]) != told(task) {
				t.Fatalf("alone %v, among others %s", alone, told(task))
			}
			switch task.Kind {
			case Bag:
				h.Bagged = day
			case Pollinate:
				h.Pollinated = append(slices.Clone(h.Pollinated), day)
			case Stigmas:
				h.Dry = day
			case Harvest:
				h.Harvested = day
			case Pack:
				h.Packed = true
			}
			for _, after := range Due(&Garden{Heads: []Head{h}, Crops: g.Crops}, day, 0) {
				if after.Kind == task.Kind && after.Urgency != Watch {
					t.Fatalf("done, yet %s", told(after))
				}
			}
		}
		n := 0
		for _, task := range Grouped(tasks) {
			n += len(task.Subjects)
		}
		if n != len(tasks) {
			t.Fatalf("%d subjects after grouping, %d tasks before", n, len(tasks))
		}
	})
}

func TestCropWith(t *testing.T) {
	t.Parallel()
	for _, c := range Crops() {
		if got, ok := Named(strings.ToUpper(strings.ReplaceAll(c.Name, "-", " "))); !ok || got != c {
			t.Errorf("Named(%q) = %v, %v", c.Name, got.Name, ok)
		}
		for _, v := range c.Values() { // what is shown can be given back
			got, err := c.With(v.Field, v.Value)
			if v.Value == "" {
				continue
			}
			if err != nil || got != c {
				t.Errorf("%s: With(%q, %q) = %v", c.Name, v.Field, v.Value, err)
			}
		}
		if c.Days < 2 || c.Ripe.Low < 14 || c.Hold < 10 || c.Look == "" || c.Isolate == "" {
			t.Errorf("%s has an unlikely value: %+v", c.Name, c)
		}
	}
	if c, ok := Named("peony"); ok || c.Name != "other" {
		t.Errorf("Named(peony) = %q, %v", c.Name, ok)
	}
	for _, bad := range [][2]string{{"days", "0"}, {"days", "x"}, {"ripe", "30-20"}, {"ripe", "-3"}, {"ripe", "1-999"}, {"colour", "red"},
		{"look", "two\nlines"}, {"", ""}} {
		if _, err := marigold().With(bad[0], bad[1]); err == nil {
			t.Errorf("With(%q, %q) was taken", bad[0], bad[1])
		}
	}
}

// FuzzCropWith: whatever is given, a crop stays one that can be worked with, and an
// error is one line.
func FuzzCropWith(f *testing.F) {
	for _, v := range marigold().Values() {
		f.Add(v.Field, v.Value)
	}
	f.Add("ripe", "28..42")
	f.Add("days", "99999999999999999999")
	f.Fuzz(func(t *testing.T, field, value string) {
		c, err := marigold().With(field, value)
		if err != nil {
			if c != marigold() || strings.Contains(strings.ReplaceAll(err.Error(), `\n`, ""), "\n") && !strings.Contains(field+value, "\n") {
				t.Errorf("refused (%v), yet changed", err)
			}
			return
		}
		for _, s := range []Span{c.Opens, c.First, c.Ripe, c.Flower, c.Seeds, c.Sprout} {
			if s.Low < 0 || s.High < s.Low {
				t.Errorf("With(%q, %q) gives the span %v", field, value, s)
			}
		}
		if c.Days < 1 || c.Hold < 1 || c.Dry < 1 || c.ComeUp < 1 {
			t.Errorf("With(%q, %q) gives %+v", field, value, c)
		}
	})
}

// A task says where its heads and plants stand in the bed: once where they stand together, of
// each where they do not, and nothing where it was not said.
func TestPlace(t *testing.T) {
	t.Parallel()
	g := &Garden{Places: map[string]string{"M-1-1": "bed 3", "M-1-2": "bed 3", "M-2-1": "bed 4"}, Heads: []Head{
		{Name: "M-1-1", Line: "buff", Noted: july(1)}, {Name: "M-1-2", Line: "buff", Noted: july(1)},
		{Name: "M-2-1", Line: "buff", Noted: july(1)}, {Name: "M-5-1", Line: "rose", Noted: july(1)},
		{Name: "M-6-1", Line: "cream", Noted: july(1)}, {Name: "M-1-3", Line: "cream", Noted: july(1)},
	}}
	g.Places["M-1-3"] = "bed 3"
	tasks := Grouped(Due(g, july(1), 0))
	if len(tasks) != 3 {
		t.Fatalf("%d tasks, want 3", len(tasks))
	}
	for i, want := range []string{"M-1-1 bed 3; M-1-2 bed 3; M-2-1 bed 4", "", "M-1-3 bed 3"} {
		if got := tasks[i].Place(); got != want {
			t.Errorf("%v stand in %q, want %q", tasks[i].Subjects, got, want)
		}
	}
	one := Task{Subjects: []string{"M-1-1", "M-1-2"}, Places: []string{"bed 3", "bed 3"}}
	if got := one.Place(); got != "bed 3" {
		t.Errorf("together they stand in %q", got)
	}
	if got := strings.Join(tasks[0].Where(), ", "); got != "M-1-1, M-1-2 (bed 3), M-2-1 (bed 4)" {
		t.Errorf("told as %q", got)
	}
}
