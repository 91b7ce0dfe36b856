// Package refill puts what somebody typed back into its form on a page, after the form was refused. It works on
// the finished page, so that no template has to provide for it. See [Typed.Into].
package refill

import (
	"bytes"
	"net/url"
	"slices"
	"strings"

	"golang.org/x/net/html"
)

// Typed is what was filled into a form that was sent with that method to that path.
type Typed struct {
	Method, Path string
	Values       url.Values
}

// Into puts what was typed back into its form of the page; a page without it stays as it is.
func (t *Typed) Into(page []byte) []byte {
	doc, err := html.Parse(bytes.NewReader(page))
	if err != nil {
		return page
	}
	var form *html.Node
	best := -1
	for n := range doc.Descendants() {
		if n.Type == html.ElementNode && n.Data == "form" && strings.EqualFold(attr(n, "method"), t.Method) && t.pathOf(n) == t.Path {
			if fit := t.fits(controlsOf(doc, n)); fit > best {
				form, best = n, fit
			}
		}
	}
	if form == nil {
		return page
	}
	seen := map[string]int{}
	for _, f := range controlsOf(doc, form) {
		t.fill(f, seen)
	}
	form.Attr = append(form.Attr, html.Attribute{Key: "data-typed"})
	for up := form.Parent; up != nil; up = up.Parent { // which may be folded away
		if up.Data == "details" {
			set(up, "open", true, "")
		}
	}
	var out bytes.Buffer
	if html.Render(&out, doc) != nil {
		return page
	}
	return out.Bytes()
}

func (t *Typed) pathOf(form *html.Node) string {
	path := attr(form, "action")
	path = path[:strings.IndexAny(path+"#", "?#")]
	return path
}

// controlsOf are the form's inputs, selects, text areas and buttons.
func controlsOf(doc, form *html.Node) (out []*html.Node) {
	id := attr(form, "id")
	for n := range doc.Descendants() {
		if n.Type != html.ElementNode || !slices.Contains([]string{"input", "select", "textarea", "button"}, n.Data) || attr(n, "name") == "" {
			continue
		}
		if of := attr(n, "form"); of != "" {
			if of == id {
				out = append(out, n)
			}
			continue
		}
		for up := n.Parent; up != nil; up = up.Parent {
			if up == form {
				out = append(out, n)
			}
		}
	}
	return out
}

// own are the hidden fields that say nothing of which form it is.
var own = []string{"token", "back", "request", "was", "width", "strokes"}

// fits says how many of the fields that were sent the form has; less than 0: it is another.
// Of several to one address each says in a hidden field what it is about.
func (t *Typed) fits(controls []*html.Node) int {
	n := 0
	names := map[string]bool{}
	for _, f := range controls {
		name := attr(f, "name")
		if attr(f, "type") == "hidden" && !slices.Contains(own, name) && t.Values.Get(name) != attr(f, "value") {
			return -1
		}
		if !names[name] && t.Values.Has(name) {
			n++
		}
		names[name] = true
	}
	if n == 0 {
		return -1
	}
	return n
}

func (t *Typed) fill(f *html.Node, seen map[string]int) {
	name := attr(f, "name")
	all := t.Values[name]
	nth := seen[name]
	value := ""
	if nth < len(all) {
		value = all[nth]
	}
	switch kind := attr(f, "type"); {
	case f.Data == "select":
		for o := range f.Descendants() {
			if o.Type == html.ElementNode && o.Data == "option" {
				set(o, "selected", len(all) > 0 && slices.Contains(all, optionValue(o)), "")
			}
		}
	case f.Data == "textarea":
		for c := f.FirstChild; c != nil; c = f.FirstChild {
			f.RemoveChild(c)
		}
		f.AppendChild(&html.Node{Type: html.TextNode, Data: strings.ReplaceAll(value, "\r\n", "\n")})
		seen[name]++
	case kind == "checkbox" || kind == "radio":
		set(f, "checked", slices.Contains(all, attr(f, "value")), "")
	case f.Data == "button" || kind == "hidden" || kind == "file" || kind == "image" || kind == "submit":
	case len(all) > 0:
		set(f, "value", true, value)
		seen[name]++
	}
}

func optionValue(o *html.Node) string {
	value, ok := has(o, "value")
	if !ok && o.FirstChild != nil {
		return strings.TrimSpace(o.FirstChild.Data)
	}
	return value
}

func attr(n *html.Node, name string) string {
	value, _ := has(n, name)
	return value
}

func has(n *html.Node, name string) (value string, ok bool) {
	i := slices.IndexFunc(n.Attr, func(a html.Attribute) bool { return a.Key == name })
	if i < 0 {
		return "", false
	}
	return n.Attr[i].Val, true
}

// set gives a node an attribute, or takes it away.
func set(n *html.Node, name string, there bool, value string) {
	n.Attr = slices.DeleteFunc(n.Attr, func(a html.Attribute) bool { return a.Key == name })
	if there {
		n.Attr = append(n.Attr, html.Attribute{Key: name, Val: value})
	}
}
