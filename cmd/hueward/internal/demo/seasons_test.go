package demo

import (
	"math/rand/v2"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"hueward/colorimg/must"
	"hueward/selection/book"
	"hueward/selection/calendar"
	"hueward/selection/garden"
)

// Whenever the demo is made, its garden is one with a winter: sown in late spring, in flower in
// summer, harvested before October, each thing entered after the one before; something is due
// today, and nothing was missed. Common practice, no source.
func TestSeasonsOfYear(t *testing.T) {
	t.Parallel()
	for _, at := range []string{"2027-01-15", "2027-04-10", "2026-07-20", "2026-08-25", "2026-09-19", "2026-11-30"} {
		t.Run(at, func(t *testing.T) {
			t.Parallel()
			ok := func(err error) {
				t.Helper()
				must.OK(t, err)
			}
			ctx := t.Context()
			today, err := time.Parse(time.DateOnly, at)
			ok(err)
			g := &grower{ctx: ctx, r: rand.New(rand.NewPCG(1, 20260701)), today: today, now: new(time.Time)}
			g.b, err = book.Create(ctx, filepath.Join(t.TempDir(), "book"), &book.Options{Now: func() time.Time { return *g.now }})
			ok(err)
			defer g.b.Close()
			ok(g.play(3))
			plants, err := g.b.Plants(ctx, book.PlantFilter{Line: apricot, Season: g.season(0)})
			ok(err)
			ok(g.due(plants[0].ID, plants[1].ID))
			*g.now = today

			within := func(what string, d time.Time, from, until string) {
				t.Helper()
				if s := d.Format("01-02"); s < from || s > until || d.After(today) {
					t.Errorf("%s on %s, want from %s to %s, and not after today", what, d.Format(time.DateOnly), from, until)
				}
			}
			sowings, err := g.b.Sowings(ctx, "")
			ok(err)
			for _, w := range sowings {
				within(w.Name+" sown", w.Sown, "05-01", "06-05")
				within(w.Name+" planted out", w.PlantedOut, "05-25", "07-05")
			}
			heads, err := g.b.Heads(ctx, "")
			ok(err)
			for _, h := range heads {
				within(h.Name+" bagged", h.Bagged, "07-05", "08-31")
				if !h.Harvested.IsZero() {
					within(h.Name+" harvested", h.Harvested, "08-05", "09-30")
				}
			}
			for _, s := range g.shots {
				within(s.name+" photographed", s.info.Taken, "07-01", "08-15")
			}
			history, err := g.b.History(ctx, 0)
			ok(err)
			if !slices.IsSortedFunc(history, func(a, b book.Change) int { return b.At.Compare(a.At) }) {
				t.Error("the history is not in order of time")
			}
			work, err := garden.Work(ctx, g.b, at[:4], today)
			ok(err)
			due := 0
			for _, task := range calendar.Due(work, today, 3) {
				switch {
				case task.Kind == calendar.Photo: // they are photographed later here
				case task.Urgency == calendar.Today && (task.Kind == calendar.Harvest || task.Kind == calendar.Test):
					due++
				case task.Urgency == calendar.Overdue:
					t.Errorf("overdue: %v %s", task.Subjects, task.Text)
				}
			}
			if due == 0 {
				t.Error("nothing to harvest or to count today")
			}
		})
	}
}
