package hints

import (
	"fmt"
	"strings"

	"hueward/selection/calendar"
)

// done are the commands that note a task as done, of its subjects.
var done = map[calendar.Kind]string{
	calendar.Bag:        "hueward head %s bag",
	calendar.Emasculate: "hueward head %s emasculate",
	calendar.Sow:        "hueward sow %s --seeds N",
	calendar.PlantOut:   "hueward sow out %s",
	calendar.SowBy:      "hueward packet test %s --seeds N",
	calendar.DryPollen:  "hueward pollen dry %s",
	calendar.UsePollen:  "hueward pollen used %s",
	calendar.Pollinate:  "hueward head %s pollinate",
	calendar.Stigmas:    "hueward head %s dry",
	calendar.Harvest:    "hueward head %s harvest --seeds N",
	calendar.Pack:       "hueward packet make %s",
	calendar.Dry:        "hueward packet dry %s",
	calendar.Test:       "hueward packet test %s --sprouted N",
	calendar.Count:      "hueward sow up %s --plants N",
}

// Done is the command that notes a task as done, of all its subjects; empty: there is
// nothing to note.
func Done(t calendar.Task) string {
	if t.Kind == calendar.Photo {
		return "hueward measure PHOTO…"
	}
	if c := done[t.Kind]; c != "" && (t.Kind == calendar.Sow || t.Kind == calendar.SowBy) && len(t.Subjects) > 1 {
		return fmt.Sprintf(c, "PACKET")
	} else if c != "" {
		return fmt.Sprintf(c, strings.Join(t.Subjects, " "))
	}
	return ""
}
