package main

import (
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"html"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"hueward/colorimg/must"
)

const (
	module   = "hueward"
	moduleAt = "../.." // seen from this folder, where tests run
)

// rooms are the top-level folders with code. Each may import itself and those
// after it, never those before.
var rooms = []string{"cmd", "report", "selection", "colorimg"}

// mayImport reports whether a package may import another of this module; both
// are paths below the module.
func mayImport(from, to string) bool {
	room := func(p string) int {
		first, _, _ := strings.Cut(p, "/")
		return slices.Index(rooms, first)
	}
	inside := func(p, dir string) bool { return p == dir || strings.HasPrefix(p, dir+"/") }
	f, t := room(from), room(to)
	switch {
	case f < 0 || t < 0 || f > t:
		return false
	case inside(to, "cmd"):
		return inside(from, "cmd") // a program, not a library
	case to == "colorimg/must":
		return true // of tests, and imports nobody
	case from == "colorimg/cie":
		return false // a leaf: everybody may import it, and it imports nobody
	case inside(from, "selection") && inside(to, "colorimg"):
		// Decisions know colours, not pixels. The book also keeps readings.
		return to == "colorimg/cie" || to == "colorimg" && inside(from, "selection/book")
	}
	return true
}

// pictureImports begin the paths of packages that know pixels.
var pictureImports = []string{
	"image", "golang.org/x/image", "github.com/disintegration/imaging", "github.com/kovidgoyal/imaging", "github.com/bep/imagemeta",
	"github.com/bluenviron/mediacommon",
}

// pixelFree begin the packages that must not know pixels.
var pixelFree = []string{"colorimg/cie", "selection"}

// importsOf returns the imports of every package of the module, tests
// included, by the package's path below the module.
func importsOf(t *testing.T) map[string][]string {
	t.Helper()
	found := map[string][]string{}
	err := filepath.WalkDir(moduleAt, func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if name != moduleAt && (d.Name() == "testdata" || strings.HasPrefix(d.Name(), ".")) {
				return fs.SkipDir
			}
			return nil
		}
		if filepath.Ext(name) != ".go" {
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		dir, err := filepath.Rel(moduleAt, filepath.Dir(name))
		if err != nil {
			return err
		}
		dir = filepath.ToSlash(dir)
		for _, s := range f.Imports {
			p, err := strconv.Unquote(s.Path.Value)
			if err != nil {
				return err
			}
			found[dir] = append(found[dir], p)
		}
		return nil
	})
	must.OK(t, err)
	return found
}

func under(p string, dirs []string) bool {
	return slices.ContainsFunc(dirs, func(d string) bool { return p == d || strings.HasPrefix(p, d+"/") })
}

// TestImportDirections holds the line cmd → report → selection → colorimg.
func TestImportDirections(t *testing.T) {
	all := importsOf(t)
	for _, p := range []string{"cmd/hueward", "report", "selection", "selection/book", "colorimg", "colorimg/cie"} {
		if len(all[p]) == 0 {
			t.Errorf("no imports of %s were seen: the test does not look where it should", p)
		}
	}
	for from, imports := range all {
		slices.Sort(imports)
		for _, to := range slices.Compact(imports) {
			switch ours, in := strings.CutPrefix(to, module+"/"); {
			case in && ours == from: // its own outside tests
			case in && !mayImport(from, ours):
				t.Errorf("%s imports %s: imports go %s, never back; see DEVELOPERS.md", from, ours, strings.Join(rooms, " → "))
			case under(from, pixelFree) && under(to, pictureImports):
				t.Errorf("%s imports %s, but must know nothing of pixels", from, to)
			case to == "C":
				t.Errorf("%s needs a C compiler; the program is built without", from)
			}
		}
	}
}

// TestMayImport tries the rule itself, both ways.
func TestMayImport(t *testing.T) {
	for _, c := range []struct {
		from, to string
		want     bool
	}{
		{"cmd/hueward", "report", true},
		{"cmd/hueward", "colorimg/render", true},
		{"report", "selection", true},
		{"report", "colorimg/photo", true},
		{"report/page", "report", true},
		{"selection/book", "selection", true},
		{"selection/book", "colorimg", true},
		{"selection", "colorimg/cie", true},
		{"colorimg", "colorimg/petal", true},
		{"colorimg/petal", "colorimg/cie", true},
		{"cmd/hueward", "cmd/hueward/internal/cli", true},
		{"report", "cmd/hueward", false},
		{"report", "cmd/hueward/internal/cli", false},
		{"selection", "report", false},
		{"selection", "colorimg", false},
		{"selection/genetics", "colorimg", false},
		{"selection/book", "colorimg/photo", false},
		{"colorimg", "selection", false},
		{"colorimg/cie", "colorimg/photo", false},
		{"cmd/hueward", "tools/other", false},
		{"tools/other", "colorimg", false},
	} {
		if got := mayImport(c.from, c.to); got != c.want {
			t.Errorf("mayImport(%s, %s) = %v, want %v", c.from, c.to, got, c.want)
		}
	}
}

// topLevel lists what lies at the top of the repository: what git tracks, so
// that a book or a demo made there does not count; without git, all there is
// but what may be left by building.
func topLevel(t *testing.T) []string {
	t.Helper()
	var names []string
	if out, err := exec.Command("git", "-C", moduleAt, "ls-files").Output(); err == nil && len(out) > 0 {
		for line := range strings.Lines(string(out)) {
			first, _, _ := strings.Cut(strings.Trim(line, "\"\n"), "/")
			names = append(names, first)
		}
	} else {
		entries := must.Have(os.ReadDir(moduleAt))(t)
		for _, e := range entries {
			if !slices.Contains([]string{".git", "hueward", "hueward.exe", "hueward-demo"}, e.Name()) {
				names = append(names, e.Name())
			}
		}
	}
	slices.Sort(names)
	return slices.Compact(names)
}

// TestTopLevel holds that the repository has the rooms and pages of
// DEVELOPERS.md at its top, and nothing else.
func TestTopLevel(t *testing.T) {
	want := append([]string{
		".ci", ".gitignore", "CHANGELOG.md", "DEVELOPERS.md", "LICENSE", "README.md", "go.mod", "go.sum", "testdata",
	}, rooms...)
	slices.Sort(want)
	if d := cmp.Diff(want, topLevel(t)); d != "" {
		t.Errorf("top level of the repository (-want +got):\n%s", d)
	}
}

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
		must.OK(t, err)
	}
	slices.SortStableFunc(out, func(a, b phrase) int { return strings.Compare(a.file, b.file) })
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
	f := must.Have(parser.ParseFile(token.NewFileSet(), path, nil, 0))(t)
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
	b := must.Have(os.ReadFile(path))(t)
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
		must.OK(t, os.WriteFile(*phrasesTo, []byte(strings.TrimPrefix(b.String(), "\n")), 0o666))
	}
}
