package page

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"hueward/colorimg"
	"hueward/report/guide"
	"hueward/report/words"
)

// No page tells a grower to give a flag of the command line, of a reading that an
// older version kept neither, nor to mark something by hand without saying where.
func TestHintsFitThePage(t *testing.T) {
	t.Parallel()
	source, err := os.ReadFile("../../colorimg/flags.go") // the list of all flags, so that a new one is not left out here
	check(t, err)
	flags := regexp.MustCompile(`Flag\w+ +Flag = "([a-z-]+)"`).FindAllStringSubmatch(string(source), -1)
	if len(flags) < 26 {
		t.Fatalf("%d flags found in the source, want all", len(flags))
	}
	var said []string
	for _, f := range flags {
		what, todo := hints.OfFlag(colorimg.Flag(f[1]))
		if what == f[1] || len(strings.Fields(what)) < 3 || strings.HasSuffix(todo, "say so") {
			t.Errorf("of the flag %s the page says %q, %q", f[1], what, todo)
		}
		said = append(said, todo)
	}
	for _, reason := range []string{
		"no grey card found; give --card x,y,w,h, or lay a card beside the bloom and photograph it again",
		"no grey card found; mark the card by hand, or lay a card beside the bloom and photograph it again",
		"the card given lies outside the photo or is too small to read; give --card x,y,w,h in pixels of the photo as displayed",
		"no bloom found; give --bloom x,y, or put a plain board behind the bloom and photograph it again",
		"the set of patches was not found in the photo; give --corners x1,y1,…,x4,y4, or photograph it again",
	} {
		what, todo := refusal(&colorimg.Reading{Status: colorimg.Refused, Reason: reason})
		if before, _, _ := strings.Cut(reason, "; "); what != words.Sentence(before) {
			t.Errorf("of %q the page says %q", reason, what)
		}
		said = append(said, todo)
	}
	for _, s := range said {
		if s == "" || strings.Contains(s, "--") || strings.Contains(s, "by hand") {
			t.Errorf("the page says %q", s)
		}
	}
	topic, _ := guide.Named("flags")
	text, err := topic.HTML()
	check(t, err)
	if own := string(ownHints(text)); strings.Contains(own, " --") || !strings.Contains(own, "<td>see which is right, and say it here</td>") {
		t.Errorf("the page's guide tells of the command line's flags, or not of the page:\n%s", own)
	}
	if what, todo := refusal(&colorimg.Reading{Status: colorimg.Refused, Reason: "odd thing; odd help"}); what != "Odd thing." ||
		todo != "Odd help." {
		t.Errorf("of a reason that is not known the page says %q, %q; want its own words", what, todo)
	}
}
