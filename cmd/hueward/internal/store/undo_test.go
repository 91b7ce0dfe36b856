package store

import (
	"bytes"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"hueward/cmd/hueward/internal/cli"
	"hueward/colorimg/must"
	"hueward/selection/book/booktest"
)

// A grower at a terminal is asked before something older than the last command's change
// goes; what is not a yes keeps it.
func TestUndoAsks(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	b := booktest.Filled(t)
	for _, note := range []string{"first", "second", "third"} {
		must.OK(t, b.OneCommand().SetNote(ctx, "M-1", note))
	}
	note := func() string {
		t.Helper()
		p := must.Have(b.Plant(ctx, "M-1"))(t)
		return p.Note
	}
	for _, c := range []struct {
		answer string
		asked  bool
		left   string
		kept   bool
	}{
		{"", false, "second", false}, // the last command's own
		{"n\n", true, "second", true}, {"\n", true, "second", true}, {"", true, "second", true}, {"yep\n", true, "second", true},
		{"y\n", true, "first", false}, {" YES \n", true, "", false},
	} {
		var errs bytes.Buffer
		run := cli.New(strings.NewReader(""), &bytes.Buffer{}, &errs, nil, "")
		run.BookDir, run.Answers = b.Dir(), strings.NewReader(c.answer)
		root := &cobra.Command{Use: "hueward"}
		root.AddCommand(Commands(run)...)
		err := run.Execute(ctx, root, []string{"undo"})
		if asked := strings.Contains(errs.String(), "note on M-1 ("+booktest.Noon.Local().Format("2006-01-02")); asked != c.asked ||
			asked && !strings.Contains(errs.String(), "Take it back? [y/N] ") {
			t.Errorf("%q: asked %v: %s", c.answer, asked, errs.String())
		}
		if got := note(); got != c.left || (err != nil) != c.kept {
			t.Errorf("%q: the note is %q, %v; want %q", c.answer, got, err, c.left)
		}
	}
}
