package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"hueward/cmd/hueward/internal/hints"
	"hueward/colorimg"
	"hueward/colorimg/must"
	"hueward/report/guide"
)

// TestDevelopers holds DEVELOPERS.md and the package comments to the tree: the map has each
// folder with Go files, what is named is there, and the commands for figures run tests that exist.
func TestDevelopers(t *testing.T) {
	t.Parallel()
	folders := map[string]bool{}
	files := map[string]bool{} // and folders
	var tests []string
	isTest := regexp.MustCompile(`(?m)^func ((?:Test|Benchmark)\w+)\(`)
	comments := map[string]string{} // of packages, by their files
	err := filepath.WalkDir(moduleAt, func(file string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name, err := filepath.Rel(moduleAt, file)
		if err != nil {
			return err
		}
		name = filepath.ToSlash(name)
		if d.IsDir() && name == ".git" {
			return fs.SkipDir
		}
		files[name] = true
		if !strings.HasSuffix(name, ".go") || strings.Contains(name, "testdata/") {
			return nil
		}
		folders[path.Dir(name)] = true
		text, err := os.ReadFile(file)
		for _, m := range isTest.FindAllSubmatch(text, -1) {
			tests = append(tests, string(m[1]))
		}
		if d.Name() == "doc.go" {
			comments[name], _, _ = strings.Cut(string(text), "\npackage ")
		}
		return err
	})
	must.OK(t, err)
	text := must.Have(os.ReadFile(filepath.Join(moduleAt, "DEVELOPERS.md")))(t)
	guide := string(text)
	if n := strings.Count(guide, "\n"); n > 250 {
		t.Errorf("DEVELOPERS.md has %d lines, want 250 at most", n)
	}
	for f := range folders {
		if !strings.Contains(guide, "`"+f+"`") && !described(f, comments) {
			t.Errorf("the map of DEVELOPERS.md lacks the folder %s", f)
		}
	}
	made := regexp.MustCompile("NAME|000N|^.artefacts") // to be written, or left out by git
	for _, m := range regexp.MustCompile("`([a-z.]+(?:/[A-Za-z0-9_.-]+)+)`").FindAllStringSubmatch(guide, -1) {
		if !files[m[1]] && !made.MatchString(m[1]) {
			t.Errorf("DEVELOPERS.md names %s, which is not there", m[1])
		}
	}
	// A test by its name, or a part of one as -run and -bench take it.
	named := regexp.MustCompile("`(Test[A-Z]\\w+)`").FindAllStringSubmatch(guide, -1)
	for _, m := range regexp.MustCompile(`-(?:run|bench) '?([A-Za-z0-9()|\\]+)`).FindAllStringSubmatch(guide, -1) {
		if m[1] == "TestX" {
			continue
		}
		for part := range strings.FieldsFuncSeq(m[1], func(r rune) bool { return strings.ContainsRune(`()|\`, r) }) {
			named = append(named, []string{"", part})
		}
	}
	all := strings.Join(tests, " ")
	if len(named) < 30 {
		t.Errorf("%d tests found in DEVELOPERS.md, want all that it names", len(named))
	}
	for _, m := range named {
		if !strings.Contains(all, m[1]) {
			t.Errorf("DEVELOPERS.md names the test %s, which is not there", m[1])
		}
	}
	for file, comment := range comments {
		for _, m := range regexp.MustCompile(`[a-z][a-z0-9_/]*\.go\b`).FindAllString(comment, -1) {
			if !files[path.Join(path.Dir(file), m)] {
				t.Errorf("the comment of %s names %s, which is not there", file, m)
			}
		}
	}
}

// described reports whether the comment of a package above the folder speaks of it, or of one
// on the way to it, as [net] or ./learn.
func described(folder string, comments map[string]string) bool {
	for above := path.Dir(folder); above != "."; above = path.Dir(above) {
		first, _, _ := strings.Cut(strings.TrimPrefix(folder, above+"/"), "/")
		comment := comments[above+"/doc.go"]
		if strings.Contains(comment, "["+first+"]") || strings.Contains(comment, "./"+first) {
			return true
		}
	}
	return false
}

// allFlags reads the flags that a reading can carry from the source, so that a
// new one cannot be left out here.
func allFlags(t *testing.T) []colorimg.Flag {
	t.Helper()
	f := must.Have(parser.ParseFile(token.NewFileSet(), moduleAt+"/colorimg/flags.go", nil, 0))(t)
	var flags []colorimg.Flag
	ast.Inspect(f, func(n ast.Node) bool {
		v, ok := n.(*ast.ValueSpec)
		if !ok {
			return true
		}
		if typ, ok := v.Type.(*ast.Ident); !ok || typ.Name != "Flag" || len(v.Values) != 1 {
			return true
		}
		s := must.Have(strconv.Unquote(v.Values[0].(*ast.BasicLit).Value))(t)
		flags = append(flags, colorimg.Flag(s))
		return true
	})
	if len(flags) < 10 {
		t.Fatalf("%d flags found in the source, want all", len(flags))
	}
	return flags
}

// TestFlagsDocumented holds that the guide has a row for every flag, in the
// words that the program uses.
func TestFlagsDocumented(t *testing.T) {
	topic, _ := guide.Named("flags")
	rows := map[string]string{} // by their first cell, the others joined by "|"
	for line := range strings.Lines(topic.Source()) {
		cells := strings.Split(strings.Trim(strings.TrimSpace(line), "|"), "|")
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
		}
		rows[cells[0]] = strings.Join(cells[1:], "|")
	}
	for _, f := range allFlags(t) {
		what, todo := hints.Photo.OfFlag(f)
		if todo == "" {
			t.Errorf("flag %s has no words", f)
		}
		if got, want := rows["`"+string(f)+"`"], what+"|"+todo; got != want {
			t.Errorf("the guide, flag %s: row is %q, want %q", f, got, want)
		}
	}
}
