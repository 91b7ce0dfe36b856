package report

import (
	"bufio"
	"embed"
	"fmt"
	"html/template"
	"io"
	"strings"
	"sync"

	"hueward/report/words"
)

//go:embed templates
var templateFiles embed.FS

// Funcs are how the report's templates write numbers, colours and counts; the page's write them alike.
var Funcs = template.FuncMap{
	"num0":     func(v float64) string { return number(v, 0) },
	"num1":     func(v float64) string { return number(v, 1) },
	"num2":     func(v float64) string { return number(v, 2) },
	"lab":      labText,
	"ink":      ink,
	"chance":   chance,
	"interval": interval,
	"advice":   AdviceWord,
	"count":    words.Count,
	"base":     baseName,
	"share":    percent,
	"inc":      func(i int) int { return i + 1 },
	"last":     func(v []float64) float64 { return v[len(v)-1] },
	"width":    func(v float64) template.CSS { return template.CSS(number(100*min(max(v, 0), 1), 0) + "%") },
}

// page parses the templates when they are first needed: most commands do without.
var page = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("season.html").Funcs(Funcs).ParseFS(templateFiles, "templates/*.html"))
})

// Generator is the tag by which a report is recognised as made by hueward, so that a newer one may replace it.
const Generator = `<meta name="generator" content="hueward report">`

// Write writes the season's report to w as one HTML file in UTF-8. Nothing of s is kept or changed. An error is one of
// w, or of a thumbnail that cannot be encoded; what was written before it is of no use.
func Write(w io.Writer, s *Season) error {
	b := bufio.NewWriter(w)
	if err := write(b, s, "season.html"); err != nil {
		return err
	}
	if err := b.Flush(); err != nil {
		return fmt.Errorf("write report: %w", err)
	}
	return nil
}

// write writes a part of the report.
func write(w io.Writer, s *Season, part string) error {
	v, err := newView(s)
	if err == nil {
		err = page().ExecuteTemplate(w, part, v)
	}
	if err != nil {
		return fmt.Errorf("write report: %w", err)
	}
	return nil
}

//go:embed templates/season.css
var style string

// StyleSheet is the report's own style.
func StyleSheet() string { return style }

// Section is a part of the report that can be shown by itself.
type Section string

// The sections.
const (
	PairsSection Section = "pairs"
	PlanSection  Section = "plan"
	PastSection  Section = "past"
)

// HTML is a section of the season's report, to be put into a page that has the
// report's style, see [StyleSheet], and its icons.
func HTML(s *Season, section Section) (template.HTML, error) {
	var b strings.Builder
	b.WriteString(string(Icons()))
	err := write(&b, s, string(section))
	return template.HTML(b.String()), err
}

// Icons returns the icons of the advice, to be put once into a page that uses them.
func Icons() template.HTML {
	var b strings.Builder
	if err := page().ExecuteTemplate(&b, "icons", nil); err != nil {
		panic(err) // it is built in, and takes nothing
	}
	return template.HTML(b.String())
}
