package page

import (
	"bytes"
	"cmp"
	"compress/gzip"
	"context"
	"encoding/json"
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"hueward/colorimg/cie"
	"hueward/report"
	"hueward/report/compose"
	"hueward/report/page/enter"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/garden"
)

// view is what every page shows, with its own matter in Data.
type view struct {
	Title, Page  string
	Token, Path  string
	Book         string // a word for it, see [door.Door.Book]
	Said         *said
	Lines        []book.Line
	Seasons      []string
	Line, Season string // that are looked at; Season may be empty: the newest
	Data         any
	BookVersion  string
	Version      string
	LAN, Here    bool
	Today        string
	Styles       template.HTML
	Look         string // light, dark or sun; empty: as the device says
	Room         string // that the page belongs to
	Rooms        []roomGroup
}

// pages parses the templates when the first page is asked for, so that no other command waits for it.
var pages = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("").Funcs(report.Funcs).Funcs(template.FuncMap{
		"sentence":  words.Sentence,
		"asset":     assetPath,
		"icons":     report.Icons,
		"source":    compose.SourceWords,
		"headwords": compose.HeadWords,
		"day":       day,
		"outwords":  func(how book.Out) string { return enter.OutWords[how] },
		"request":   secret, // another for each form that is shown
		"number":    words.Number,
		"words":     func(s any) string { return strings.ReplaceAll(fmt.Sprint(s), "-", " ") },
		"swatch":    func(hex, name string) swatch { return swatch{hex, name} },
		"shade":     func(c cie.Lab) swatch { return swatch{c.Hex(), cie.Name(c)} },
		"dict": func(kv ...any) map[string]any {
			m := map[string]any{}
			for i := 0; i+1 < len(kv); i += 2 {
				m[kv[i].(string)] = kv[i+1]
			}
			return m
		},
	}).ParseFS(files, "templates/*.html"))
})

// partOfPage is what a template makes of data.
func partOfPage(name string, data any) (template.HTML, error) {
	var out strings.Builder
	err := pages().ExecuteTemplate(&out, name, data)
	return template.HTML(out.String()), err
}

// day is a day that is not broken at the end of a line.
func day(t time.Time) template.HTML {
	d := words.Day(t)
	if d == "" {
		return ""
	}
	return template.HTML("<time>" + d + "</time>")
}

// swatch is a colour with its words, for the template of that name.
type swatch struct{ Hex, Name string }

// reportStyle is the report's own style, for the parts of it that a page shows.
var reportStyle = ".report {\n" + report.StyleSheet() + "\n}\n@media (prefers-color-scheme: dark) { :root:not([data-look]) {\n" +
	nightStyle +
	"}}\n:root[data-look=dark] {\n" + nightStyle + "}\n"

// open reads what every page shows. The line looked at is the one that the device chose
// last, else the only or first one.
func (q *request) open(page, title string, data any) (*view, error) {
	v := &view{Title: title, Page: page, Token: q.door.Token(q.device.Device), Book: q.door.Book(), Path: q.r.URL.RequestURI(), Data: data,
		Version: q.opt.Version, LAN: q.opt.LAN, Here: q.device.Here, Today: q.opt.Now().Format(time.DateOnly), Look: lookOf(q.r),
		Room: roomOf(page), Rooms: rooms}
	sheets := []string{"page.css"}
	if page == "pairs" || page == "plan" || page == "drift" {
		sheets = append(sheets, "report.css")
	}
	v.Styles = styles(q.r, sheets...)
	v.Lines, v.Seasons, v.BookVersion = query(q, q.b.Lines), query(q, q.b.Seasons), query(q, q.version)
	v.Line, v.Season = q.looksAt(v.Lines, v.Seasons)
	if q.err == nil {
		v.Said = q.device.said.Swap(nil)
	}
	return v, q.err
}

// looksAt is the line and season that the device looks at; an empty season is the newest.
func (q *request) looksAt(lines []book.Line, seasons []string) (line, season string) {
	want := cmp.Or(q.device.looks.Load(), &lookedAt{})
	for _, l := range lines {
		if strings.EqualFold(l.Name, want.line) {
			line = l.Name
		}
	}
	if line == "" {
		line = firstLine(lines)
	}
	for _, s := range seasons {
		if strings.EqualFold(s, want.season) {
			season = s
		}
	}
	return line, season
}

// firstLine is the first line that has a target, else the first; empty: there is none.
func firstLine(lines []book.Line) string {
	for _, l := range lines {
		if l.Target != nil {
			return l.Name
		}
	}
	if len(lines) > 0 {
		return lines[0].Name
	}
	return ""
}

// lineNow is the line that the device looks at; nil: the book has none.
func (q *request) lineNow() (line *book.Line, season string) {
	lines := query(q, q.b.Lines)
	name, season := q.looksAt(lines, query(q, q.b.Seasons))
	if i := slices.IndexFunc(lines, func(l book.Line) bool { return l.Name == name }); i >= 0 {
		line = &lines[i]
	}
	return line, season
}

// aimed is the line that the device looks at; an error where the book has none.
func (q *request) aimed() (*book.Line, string, error) {
	l, season := q.lineNow()
	if q.err == nil && l == nil {
		return nil, "", garden.ErrNoLine
	}
	return l, season, q.err
}

// seasonOn is the season that a day belongs to.
func (q *request) seasonOn(day time.Time) string {
	return query(q, func(ctx context.Context) (string, error) { return garden.SeasonOn(ctx, q.b, "", day, q.now()) })
}

func (q *request) seasonNow() string { return q.seasonOn(q.now()) }

func (q *request) render(page, title string, data any) error {
	return q.renderStatus(http.StatusOK, page, title, data)
}

func (q *request) renderStatus(status int, page, title string, data any) error {
	v, err := q.open(page, title, data)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := pages().ExecuteTemplate(&b, page+".html", v); err != nil {
		return fmt.Errorf("make the page: %w", err)
	}
	out := b.Bytes()
	if t := q.device.typed.Swap(nil); t != nil {
		out = t.Into(out)
	}
	return q.send(status, "text/html; charset=utf-8", out)
}

// send writes a whole answer, packed where the browser takes that and it is worth it.
func (q *request) send(status int, kind string, body []byte) error {
	h := q.w.Header()
	h.Set("Content-Type", kind)
	h.Set("Vary", "Accept-Encoding, Cookie")
	if len(body) > 4096 && strings.Contains(q.r.Header.Get("Accept-Encoding"), "gzip") && !strings.HasPrefix(kind, "image/") {
		h.Set("Content-Encoding", "gzip")
		q.w.WriteHeader(status)
		z, _ := gzip.NewWriterLevel(q.w, gzip.BestSpeed)
		z.Write(body) // whoever left meanwhile gets nothing
		z.Close()
		return nil
	}
	h.Set("Content-Length", strconv.Itoa(len(body)))
	q.w.WriteHeader(status)
	q.w.Write(body)
	return nil
}

func (q *request) json(status int, v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		return err
	}
	return q.send(status, "application/json", b)
}

// attach sends a file to be saved.
func (q *request) attach(kind, name string, body []byte) error {
	q.w.Header().Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", name))
	return q.send(http.StatusOK, kind, body)
}
