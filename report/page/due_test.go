package page

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"hueward/report/page/due"
	"hueward/selection/calendar"
)

// Heads of one cross that want the same are one task with all of them; what lies ahead
// has no step; each packet stays by itself. Common practice, no source.
func TestTasksGrouped(t *testing.T) {
	t.Parallel()
	day := time.Date(2026, 7, 20, 0, 0, 0, 0, time.UTC)
	soon := day.AddDate(0, 0, 2)
	g := &calendar.Garden{Heads: []calendar.Head{{Name: "M-1-1", Cross: "X26-007"}, {Name: "M-1-2", Cross: "X26-007"}, {Name: "M-2-1",
		Cross: "X26-008"}, {Name: "M-3-1"}}}
	task := func(k calendar.Kind, u calendar.Urgency, on time.Time, of ...string) calendar.Task {
		return calendar.Task{Kind: k, Urgency: u, Due: on, Until: on, Subjects: of, Text: "do it"}
	}
	got := due.Groups(g, []calendar.Task{
		task(calendar.Bag, calendar.Today, day, "M-1-1"), task(calendar.Bag, calendar.Today, day, "M-2-1"),
		task(calendar.Bag, calendar.Today, day, "M-1-2"), task(calendar.Bag, calendar.Today, day, "M-3-1"),
		task(calendar.Dry, calendar.Today, day, "P-1"), task(calendar.Dry, calendar.Today, day, "P-2"),
		task(calendar.Photo, calendar.Today, day, "M-5", "M-6"),
		task(calendar.Pollinate, calendar.Soon, soon, "M-1-1"), task(calendar.KeepBag, calendar.Watch, soon, "M-2-1"),
	}, day)
	type row struct {
		Group, Title, Step, Link string
		Of                       []string
	}
	var rows []row
	for _, g := range got {
		for _, v := range g.Tasks {
			rows = append(rows, row{g.Words, v.Title, v.Step, v.Link, v.Subjects})
		}
	}
	want := []row{
		{"Today", "Bag 2 heads of X26-007", "bag", "", []string{"M-1-1", "M-1-2"}},
		{"Today", "Bag M-2-1 of X26-008", "bag", "", []string{"M-2-1"}},
		{"Today", "Bag M-3-1", "bag", "", []string{"M-3-1"}},
		{"Today", "Dry P-1", due.PacketDry, "", []string{"P-1"}},
		{"Today", "Dry P-2", due.PacketDry, "", []string{"P-2"}},
		{"Today", "Photograph 2 plants", "", "/photos", []string{"M-5", "M-6"}},
		{"In the next days", "Pollinate M-1-1 of X26-007", "", "", []string{"M-1-1"}},
		{"Leave as it is", "Leave the bag on M-2-1 of X26-008", "", "", []string{"M-2-1"}},
	}
	if d := cmp.Diff(want, rows); d != "" {
		t.Errorf("the tasks (-want +got):\n%s", d)
	}
}

// The form of a crop has a field for each of its values, once: none that is added to crops is
// missing from the page.
func TestCropFields(t *testing.T) {
	t.Parallel()
	_, text := serve(t, bookOf(t), nil).read("/crops/calendula")
	_, text, _ = strings.Cut(text, "<main")
	text, _, _ = strings.Cut(text, "</main>")
	for _, name := range calendar.FieldNames() {
		if n := strings.Count(text, `name="`+name+`"`); n != 1 {
			t.Errorf("the page has %d fields for %s, want 1", n, name)
		}
	}
}
