package page

import (
	"html/template"

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
	}{text, guide.Topics})
}
