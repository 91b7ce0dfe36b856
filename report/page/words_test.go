package page

import (
	"go/ast"
	"go/parser"
	"go/token"
	"strconv"
	"strings"
	"testing"
)

// No page tells a grower to give a flag of the command line: not what the flags of a
// reading say, nor the hints of refusals.
func TestNoFlagsOnPages(t *testing.T) {
	n := 0
	for _, file := range []string{"flags.go", "bloom.go", "light.go", "measure.go", "correction.go"} {
		f, err := parser.ParseFile(token.NewFileSet(), "../../colorimg/"+file, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(f, func(node ast.Node) bool {
			l, ok := node.(*ast.BasicLit)
			if !ok || l.Kind != token.STRING {
				return true
			}
			text, err := strconv.Unquote(l.Value)
			if err != nil || !strings.Contains(text, " --") {
				return true
			}
			n++
			if got := onPage(text); strings.Contains(got, "--") {
				t.Errorf("%s: the page says %q", file, got)
			}
			return true
		})
	}
	if n < 6 {
		t.Errorf("%d hints name a flag of the command line, more were expected", n)
	}
}
