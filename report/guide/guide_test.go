package guide

import (
	"io/fs"
	"strings"
	"testing"
)

// TestTopics: every text is a topic, begins with its title, and shows in both forms all of
// its words; nothing of its marks is left in a terminal.
func TestTopics(t *testing.T) {
	t.Parallel()
	names, err := fs.Glob(files, "topics/*.md")
	if err != nil || len(names) != len(Topics) {
		t.Errorf("%d texts, %v; want one for each of %d topics", len(names), err, len(Topics))
	}
	for _, topic := range Topics {
		page, err := topic.HTML()
		if err != nil {
			t.Errorf("%s: %v", topic.Name, err)
		}
		blocks := topic.Blocks()
		if len(blocks) == 0 || blocks[0].Kind != Heading || blocks[0].Text != topic.Title {
			t.Errorf("%s does not begin with its title %q", topic.Name, topic.Title)
			continue
		}
		for _, b := range blocks {
			for _, s := range append([]string{b.Text}, append(b.Head, flat(b.Cells)...)...) {
				if b.Kind != Code && strings.ContainsAny(s, "`|") || strings.Contains(s, "**") {
					t.Errorf("%s: marks are left in %q", topic.Name, s)
				}
				if word, _, _ := strings.Cut(s, " "); b.Kind == Paragraph && !strings.ContainsAny(word, `"'<>&:,`) &&
					!strings.Contains(string(page), word) {
					t.Errorf("%s: the page lacks %q", topic.Name, word)
				}
			}
		}
		if !strings.HasPrefix(string(page), "<h1") || strings.Contains(string(page), "| ---") || strings.Contains(string(page), "<script") {
			t.Errorf("%s as HTML: %.80s", topic.Name, page)
		}
	}
	if _, ok := Named("Photographing"); !ok {
		t.Error("a topic is not found by its name in another case")
	}
	if _, ok := Named("../topics"); ok {
		t.Error("a topic that there is not was found")
	}
}

func flat(rows [][]string) (out []string) {
	for _, r := range rows {
		out = append(out, r...)
	}
	return out
}
