package refill

import (
	"net/url"
	"strings"
	"testing"

	"golang.org/x/net/html"
)

const page = `<!DOCTYPE html><html><head></head><body>
<form method="get" action="/x"><input name="a"></form>
<form method="post" action="/x"><input type="hidden" name="about" value="one"><input name="a" value="old"></form>
<details><summary>s</summary><form method="post" action="/x" id="two"><input type="hidden" name="about" value="two">
<input name="a"><input name="a"><textarea name="note">old</textarea>
<select name="s"><option>red</option><option value="b">blue</option></select>
<input type="checkbox" name="c" value="1" checked><input type="checkbox" name="c" value="2"><input type="file" name="f">
<input type="hidden" name="token" value="new"></form></details><input form="two" name="out">
</body></html>`

// Of several forms the one that was sent is filled in, as it was filled in then.
func TestForm(t *testing.T) {
	t.Parallel()
	v := url.Values{
		"about": {"two"},
		"a":     {"1", `"<2>`},
		"note":  {"x\r\ny</textarea>"},
		"s":     {"b"},
		"c":     {"2"},
		"out":   {"3"},
		"token": {"old"},
		"f":     {"evil"},
	}
	out := string((&Typed{"POST", "/x", v}).Into([]byte(page)))
	for _, want := range []string{`<input name="a" value="1"/><input name="a" value="&#34;&lt;2&gt;"/>`,
		"<textarea name=\"note\">x\ny&lt;/textarea&gt;<",
		`<option>red</option><option value="b" selected="">`, `value="1"/><input type="checkbox" name="c" value="2" checked=""/>`,
		`<input form="two" name="out" value="3"/>`, `name="token" value="new"`, `<details open="">`, `name="a" value="old"`,
		`<form method="get" action="/x"><input name="a"/></form>`, `id="two" data-typed=""`} {
		if !strings.Contains(out, want) {
			t.Errorf("the page does not hold %s:\n%s", want, out)
		}
	}
	for _, other := range []url.Values{{"about": {"three"}, "a": {"1"}}, {"z": {"1"}}} {
		if got := string((&Typed{"POST", "/x", other}).Into([]byte(page))); got != page {
			t.Errorf("%v: a page without the form changes to %s", other, got)
		}
	}
	if got := string((&Typed{"POST", "/y", v}).Into([]byte(page))); got != page {
		t.Errorf("another path changes the page to %s", got)
	}
}

// Whatever was typed, the page has the same elements afterwards: what was typed is only words.
func FuzzForm(f *testing.F) {
	for _, s := range []string{"", "<script>alert(1)</script>", `"><img src=x>`, "</textarea><b>", "\x00", "a\r\nb"} {
		f.Add(s)
	}
	elements := func(page []byte) string {
		doc, err := html.Parse(strings.NewReader(string(page)))
		if err != nil {
			return err.Error()
		}
		var names []string
		for n := range doc.Descendants() {
			if n.Type == html.ElementNode {
				names = append(names, n.Data)
			}
		}
		return strings.Join(names, " ")
	}
	want := elements([]byte(page))
	f.Fuzz(func(t *testing.T, s string) {
		out := (&Typed{"POST", "/x", url.Values{"about": {"two"}, "a": {s, s}, "note": {s}, "s": {s}, "c": {s}, "out": {s}}}).Into([]byte(page))
		if got := elements(out); got != want {
			t.Errorf("%q gives the elements %s, want %s", s, got, want)
		}
	})
}
