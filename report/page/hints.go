package page

import (
	"errors"
	"fmt"
	"html/template"

	"hueward/colorimg"
	"hueward/report/words"
	"hueward/selection"
	"hueward/selection/book/remedy"
	"hueward/selection/intake"
)

// hints are the page's words for what helps a photo.
var hints = &colorimg.Hints{
	Flag: map[colorimg.Flag]string{
		colorimg.FlagCardTwo:       "check that the outline is on the card; if not, put the corners on the card",
		colorimg.FlagCardUncertain: "check that the outline is on the card; if not, put the corners on the card",
		colorimg.FlagBloomTwo:      "check that the right bloom is outlined; if not, tap the bloom in the picture",
		colorimg.FlagTagUnreadable: "say which plant it is; next time clean the tag and hold it flat and near",
		colorimg.FlagTagOther:      "see which is right, and say it here",
		colorimg.FlagTagTwo:        "see which is right, and say it here; next time keep other tags out",
		colorimg.FlagPetalUncertain: "see whether the outline is right; if not, correct it, or photograph the bloom again in front of a " +
			"plain board",
	},
	Problem: map[colorimg.Code]string{
		colorimg.CodeNoCard:    "put the corners on the card, or lay a card beside the bloom and photograph it again",
		colorimg.CodeCardPlace: "put the corners on the card",
		colorimg.CodeNoPatches: "put the corners on the patches, check that the file of patches is the right one, or photograph it again",
		colorimg.CodeNoBloom:   "tap the bloom in the picture, or put a plain board behind the bloom and photograph it again",
	},
}

// refusal says as sentences why the reading was refused, and what to do.
func refusal(m *colorimg.Reading) (what, todo string) {
	p := hints.Of(colorimg.ProblemOf(m.Reason))
	return words.Sentence(p.What), words.Sentence(p.Todo)
}

// hintOf says as a sentence why a page has nothing to show, with a link to where that is mended.
func hintOf(err error) template.HTML {
	out := template.HTMLEscapeString(words.Sentence(err.Error()))
	switch how, _ := remedy.Of(err); {
	case how.Code == remedy.SetTarget:
		out += ` <a href="/target">Set the target</a>`
	case errors.Is(err, selection.ErrNoColors), errors.Is(err, selection.ErrNoRecords):
		out += ` <a href="/photos">Add photos</a>`
	}
	return template.HTML(out)
}

// unkept says as a sentence why a photo is not kept.
func unkept(p *intake.Problem) string {
	switch {
	case p.Code == intake.BadName && p.Tagged:
		return words.Sentence("the tag in the picture says " + p.Err.Error())
	case p.Code == intake.NewNoLine:
		return fmt.Sprintf("Plant %s is new, and the book has no line that it could belong to. Set a target first.", p.Plant)
	case p.Code == intake.OtherPlant:
		return fmt.Sprintf("The same photo is in the book already, as one of plant %s. See which of the two it shows.", p.Plant)
	}
	return words.Sentence(p.Error())
}
