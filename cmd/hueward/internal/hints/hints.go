// Package hints puts into the words of the command line what the packages below say
// is wrong: which flag or command helps.
package hints

import (
	"errors"
	"fmt"
	"strings"

	"hueward/colorimg"
	"hueward/selection/calendar"
	"hueward/selection/garden"
	"hueward/selection/intake"
)

// Photo are the command line's words for what helps a photo.
var Photo = &colorimg.Hints{
	Flag: map[colorimg.Flag]string{
		colorimg.FlagCardTwo:       "check that the outline is on the card; if not, give --card x,y,w,h",
		colorimg.FlagCardUncertain: "check that the outline is on the card; if not, give --card x,y,w,h",
		colorimg.FlagBloomTwo:      "check that the right bloom is outlined; if not, give --bloom x,y",
		colorimg.FlagTagUnreadable: "name the plant with --plant; next time clean the tag and hold it flat and near",
		colorimg.FlagTagOther:      "see which is right, and say it with --plant",
		colorimg.FlagTagTwo:        "see which is right, and say it with --plant; next time keep other tags out",
	},
	Problem: map[colorimg.Code]string{
		colorimg.CodeNoCard:    "give --card x,y,w,h, or lay a card beside the bloom and photograph it again",
		colorimg.CodeCardPlace: "give --card x,y,w,h in pixels of the photo as displayed",
		colorimg.CodeNoPatches: "give --corners x1,y1,…,x4,y4, check that the file of patches is the right one, or photograph it again",
		colorimg.CodeNoBloom:   "give --bloom x,y, or put a plain board behind the bloom and photograph it again",
	},
}

// Refusal is the one line of a refused photo: where, what, what to do.
func Refusal(e *colorimg.RefusedError) string {
	return fmt.Sprintf("%s: %s", e.File, Photo.Of(e.Problem))
}

// Unkept says why a photo that was measured is not in the book.
func Unkept(p *intake.Problem) string {
	who := "plant " + p.Plant
	if p.Tagged {
		who += ", which the tag in the picture names,"
	}
	var ask *garden.AskError
	switch {
	case p.Code == intake.BadName && p.Tagged:
		return "the tag in the picture says " + p.Err.Error() + "; or name the plant with --plant"
	case p.Code == intake.NewNoLine && errors.As(p.Err, &ask):
		return fmt.Sprintf("%s is new; %v with --line", who, p.Err)
	case p.Code == intake.NewNoLine:
		return fmt.Sprintf("%s is new; %s", who, Line(p.Err))
	case p.Code == intake.OtherPlant:
		return fmt.Sprintf("the same photo is in the book already, as one of plant %s; see which of the two it shows", p.Plant)
	}
	return p.Error()
}

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

// Done is the command that notes a task as done, of all its subjects; empty: there is nothing to note.
func Done(t calendar.Task) string {
	if t.Kind == calendar.Photo {
		return "hueward measure PHOTO…"
	}
	of := strings.Join(t.Subjects, " ")
	if (t.Kind == calendar.Sow || t.Kind == calendar.SowBy) && len(t.Subjects) > 1 {
		of = "PACKET" // one at a time
	}
	if done[t.Kind] == "" {
		return ""
	}
	return fmt.Sprintf(done[t.Kind], of)
}
