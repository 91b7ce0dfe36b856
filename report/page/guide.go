package page

import (
	"html/template"
	"regexp"

	"hueward/colorimg"
	"hueward/report/guide"
)

// guideList lists the texts that teach the work.
func (q *request) guideList() error { return q.render("guide", "Guide", guide.Topics) }

// guideText shows one of them.
func (q *request) guideText() error {
	t, ok := guide.Named(q.r.PathValue("topic"))
	if !ok {
		return notFound("The guide has no text of that name.")
	}
	text, err := t.HTML()
	if err != nil {
		return err
	}
	return q.render("topic", t.Title, struct {
		Text   template.HTML
		Topics []guide.Topic
	}{ownHints(text), guide.Topics})
}

// flagRow is a row of the guide's table of flags: the flag, what it is, what to do.
var flagRow = regexp.MustCompile(`(<td><code>([a-z-]+)</code></td>\s*<td>[^<]*</td>\s*<td>)[^<]*`)

// ownHints says what to do about each flag in the page's words, where the guide has the commands'.
func ownHints(text template.HTML) template.HTML {
	return template.HTML(flagRow.ReplaceAllStringFunc(string(text), func(row string) string {
		m := flagRow.FindStringSubmatch(row)
		if todo, ok := hints.Flag[colorimg.Flag(m[2])]; ok {
			return m[1] + template.HTMLEscapeString(todo)
		}
		return row
	}))
}
