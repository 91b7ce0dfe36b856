package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"strconv"
	"strings"
	"testing"

	"hueward/cmd/hueward/internal/hints"
	"hueward/colorimg"
	"hueward/report/guide"
)

// allFlags reads the flags that a reading can carry from the source, so that a
// new one cannot be left out here.
func allFlags(t *testing.T) []colorimg.Flag {
	t.Helper()
	f := need(parser.ParseFile(token.NewFileSet(), moduleAt+"/colorimg/flags.go", nil, 0))(t)
	var flags []colorimg.Flag
	ast.Inspect(f, func(n ast.Node) bool {
		v, ok := n.(*ast.ValueSpec)
		if !ok {
			return true
		}
		if typ, ok := v.Type.(*ast.Ident); !ok || typ.Name != "Flag" || len(v.Values) != 1 {
			return true
		}
		s := need(strconv.Unquote(v.Values[0].(*ast.BasicLit).Value))(t)
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
