package main

import (
	"cmp"
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"html"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

var phrasesTo = flag.String("phrases", "", "write every sentence that a grower reads into this file, to be read in one go")

// phrase is a sentence, or part of one, that a grower reads, and the file that says it.
type phrase struct{ file, text string }

// phrases are all that growers read: the texts in the source of the commands, the report, the page and what they say of plants, and in
// the templates. They are taken from the source itself, so that the list is never behind it.
func phrases(t *testing.T) (out []phrase) {
	t.Helper()
	for _, root := range []string{".", "../../report", "../../selection", "../../colorimg"} {
		err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
			switch {
			case err != nil:
				return err
			case d.IsDir() && (d.Name() == "testdata" || d.Name() == "booktest" || d.Name() == "render" || d.Name() == "learn"):
				return filepath.SkipDir
			case strings.HasSuffix(path, "_test.go"):
			case strings.HasSuffix(path, ".go"):
				out = append(out, spoken(t, path)...)
			case strings.HasSuffix(path, ".html"):
				out = append(out, shownIn(t, path)...)
			}
			return nil
		})
		must(t, err)
	}
	slices.SortStableFunc(out, func(a, b phrase) int { return cmp.Compare(a.file, b.file) })
	return slices.Compact(out)
}

// words3 is a text of three words and more, which has a letter in lower case: no name, no query, no markup.
var (
	words3 = regexp.MustCompile(`\pL\S* \S+ \S*\pL`)
	coded  = regexp.MustCompile(`= \?|^\s*(SELECT|INSERT|UPDATE|DELETE|CREATE|WITH|PRAGMA|JOIN|WHERE|AND|ORDER|` +
		`DROP|ON|VACUUM|ATTACH|SAVEPOINT)\s|^\s*<|[{};]\s*$|\(SELECT|default-src`)
)

// spoken are the texts of a Go file, joined where they are.
func spoken(t *testing.T, path string) (out []phrase) {
	t.Helper()
	f := need(parser.ParseFile(token.NewFileSet(), path, nil, 0))(t)
	var text func(e ast.Expr) (string, bool)
	text = func(e ast.Expr) (string, bool) {
		switch e := e.(type) {
		case *ast.BasicLit:
			if e.Kind == token.STRING {
				s, err := strconv.Unquote(e.Value)
				return s, err == nil
			}
		case *ast.BinaryExpr:
			if e.Op == token.ADD {
				x, ok := text(e.X)
				y, ok2 := text(e.Y)
				switch {
				case ok && ok2:
					return x + y, true
				case ok:
					return x + "…", true
				case ok2:
					return "…" + y, true
				}
			}
		}
		return "", false
	}
	ast.Inspect(f, func(n ast.Node) bool {
		if field, ok := n.(*ast.Field); ok && field.Tag != nil {
			return false
		}
		e, ok := n.(ast.Expr)
		if !ok {
			return true
		}
		s, ok := text(e)
		if !ok {
			return true
		}
		if words3.MatchString(s) && !coded.MatchString(s) {
			out = append(out, phrase{strings.TrimPrefix(filepath.ToSlash(path), "../../"), strings.TrimSpace(s)})
		}
		return false
	})
	return out
}

var (
	action = regexp.MustCompile(`(?s)\{\{.*?\}\}`)
	block  = regexp.MustCompile(`(?is)<(style|script)\b.*?</(style|script)>|<svg\b.*?</svg>|<!--.*?-->`)
	inline = regexp.MustCompile(`(?i)</?(b|i|a|em|strong|span|abbr|code|small)\b[^>]*>`)
	markup = regexp.MustCompile(`(?s)<[^>]*>`)
	blanks = regexp.MustCompile(`\s+`)
)

// shownIn are the texts of a template, with … for what is filled in.
func shownIn(t *testing.T, path string) (out []phrase) {
	t.Helper()
	b := need(os.ReadFile(path))(t)
	s := inline.ReplaceAllString(block.ReplaceAllString(action.ReplaceAllString(string(b), "…"), "\x00"), "")
	for part := range strings.SplitSeq(markup.ReplaceAllString(s, "\x00"), "\x00") {
		if part = blanks.ReplaceAllString(html.UnescapeString(part), " "); words3.MatchString(part) {
			out = append(out, phrase{strings.TrimPrefix(filepath.ToSlash(path), "../../"), strings.Trim(part, " …")})
		}
	}
	return out
}

// not are words and turns that no grower should read, and what to say.
var not = []struct {
	what *regexp.Regexp
	say  string
}{
	{regexp.MustCompile(`(?i)\bpass(ed)? (by|over)\b.*\bplants?\b|\bplants?\b.*\bpass(ed|es)? (by|over)\b`), `"drop" and "dropped"`},
	{regexp.MustCompile(`(?i)\bshould of\b|\bcan not\b|\binformations\b|\badvices\b|\ballows? to\b`), "idiomatic English"},
	{regexp.MustCompile(`(?i)\bplease\b|\bsorry\b|\boops\b|\bleverage|\butili[sz]e`), "what is meant, without ado"},
	{regexp.MustCompile(`\b(color|gray|favorite|center of)\b`), "British spelling, as elsewhere"},
	{regexp.MustCompile(`\pL [,;!?] |\pL\.\.\.|!!`), "no blank before a sign, … for dots"},
	{regexp.MustCompile(`(?i)\bmore inbred, over\b|\bthe form\b.*\b(single|double)\b`), "doubleness, where that is meant"},
}

// Every sentence that a grower reads keeps to plain words; with -phrases FILE they are all written there, to be read in one go.
func TestPhrases(t *testing.T) {
	t.Parallel()
	all := phrases(t)
	if len(all) < 500 {
		t.Fatalf("%d sentences; the list has lost most", len(all))
	}
	var b strings.Builder
	file := ""
	for _, p := range all {
		if p.file != file {
			file = p.file
			fmt.Fprintf(&b, "\n%s\n", file)
		}
		fmt.Fprintf(&b, "    %s\n", strings.ReplaceAll(p.text, "\n", "\n    "))
		for _, n := range not {
			if m := n.what.FindString(p.text); m != "" {
				t.Errorf("%s says %q in %q: say %s", p.file, m, p.text, n.say)
			}
		}
	}
	if *phrasesTo != "" {
		must(t, os.WriteFile(*phrasesTo, []byte(strings.TrimPrefix(b.String(), "\n")), 0o666))
	}
}
