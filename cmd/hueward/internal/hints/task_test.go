package hints

import (
	"strings"
	"testing"

	"hueward/selection/calendar"
)

// What notes a task as done names all its subjects, for every kind of task but the two that
// need nothing: a bag that stays on, and a photo, which says itself what it shows.
func TestDone(t *testing.T) {
	t.Parallel()
	for _, k := range []calendar.Kind{
		calendar.Bag, calendar.Pollinate, calendar.Stigmas, calendar.Harvest, calendar.Pack, calendar.Dry, calendar.Test, calendar.Count,
		calendar.Emasculate, calendar.PlantOut, calendar.DryPollen, calendar.UsePollen,
	} {
		if got := Done(calendar.Task{Kind: k, Subjects: []string{"M-1-1", "M-2-1"}}); !strings.HasPrefix(got, "hueward ") ||
			!strings.Contains(got, " M-1-1 M-2-1") {
			t.Errorf("%s: %q does not name its subjects", k, got)
		}
	}
	if got := Done(calendar.Task{Kind: calendar.KeepBag, Subjects: []string{"M-1-1"}}); got != "" {
		t.Errorf("a bag that stays on: %q, want nothing", got)
	}
	for _, k := range []calendar.Kind{calendar.Sow, calendar.SowBy} { // one packet at a time
		if got := Done(calendar.Task{Kind: k, Subjects: []string{"P1", "P2"}}); !strings.Contains(got, " PACKET ") {
			t.Errorf("%s of two packets: %q", k, got)
		}
		if got := Done(calendar.Task{Kind: k, Subjects: []string{"P1"}}); !strings.Contains(got, " P1 ") {
			t.Errorf("%s of a packet: %q", k, got)
		}
	}
	if got := Done(calendar.Task{Kind: calendar.Photo, Subjects: []string{"M-1"}}); got != "hueward measure PHOTO…" {
		t.Errorf("a photo: %q", got)
	}
}
