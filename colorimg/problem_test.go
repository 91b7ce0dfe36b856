package colorimg_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"hueward/colorimg"
)

// TestWordsNameNoCommand: what is said here is read on the command line and on
// the page, so no text of colorimg names a command, a flag or a control.
func TestWordsNameNoCommand(t *testing.T) {
	n := 0
	err := filepath.WalkDir(".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			return err
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			return err
		}
		ast.Inspect(f, func(node ast.Node) bool {
			if _, ok := node.(*ast.ImportSpec); ok {
				return false
			}
			if l, ok := node.(*ast.BasicLit); ok && l.Kind == token.STRING {
				text, err := strconv.Unquote(l.Value)
				if n++; err != nil || strings.Contains(text, " --") || strings.HasPrefix(text, "--") ||
					strings.Contains(text, "hueward ") {
					t.Errorf("%s says %q", name, text)
				}
			}
			return true
		})
		return nil
	})
	if err != nil || n < 500 {
		t.Errorf("%d texts read, %v", n, err)
	}
}

// TestHints: a place's own words stand for what helps, the neutral ones where it
// has none, and a stored reason is understood whatever words it was stored with.
func TestHints(t *testing.T) {
	h := &colorimg.Hints{
		Flag:    map[colorimg.Flag]string{colorimg.FlagBloomTwo: "tap it"},
		Problem: map[colorimg.Code]string{colorimg.CodeNoCard: "draw it"},
	}
	small, _ := colorimg.FlagCardSmall.Words()
	two, _ := colorimg.FlagBloomTwo.Words()
	_, nearer := colorimg.FlagCardSmall.Words()
	for _, c := range []struct {
		r    colorimg.Reading
		want string
	}{
		{colorimg.Reading{Status: colorimg.OK, Flags: []colorimg.Flag{colorimg.FlagTwoColors}}, ""},
		{colorimg.Reading{Status: colorimg.Check, Flags: []colorimg.Flag{colorimg.FlagTwoColors, colorimg.FlagCardSmall,
			colorimg.FlagBloomTwo}},
			small + ": " + nearer + "; " + two + ": tap it"},
		{colorimg.Reading{Status: colorimg.Refused, Reason: "no grey card found; do as once was said"}, "no grey card found; draw it"},
		{colorimg.Reading{Status: colorimg.Refused, Reason: "empty; copy it again"}, "empty; copy it again"},
	} {
		if got := h.Reason(&c.r); got != c.want {
			t.Errorf("%s %v %q: the reason is %q, want %q", c.r.Status, c.r.Flags, c.r.Reason, got, c.want)
		}
	}
}
