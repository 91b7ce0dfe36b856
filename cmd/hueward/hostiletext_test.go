//go:build unix

package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode"

	"hueward/colorimg/photo"
	"hueward/colorimg/render"
)

// What a terminal would obey, in notes and names of files, is shown and not sent; CSV has
// it as it is. A name of a line cannot hold it, nor what makes two names look alike.
func TestHostileText(t *testing.T) {
	t.Parallel()
	dir := writtenGarden(t)
	b := filepath.Join(dir, "b")
	in := func(status int, args ...string) (stdout, stderr string) {
		t.Helper()
		stdout, stderr = hueward(t, status, append(args, "--book", b)...)
		for _, s := range []string{stdout, stderr} {
			if i := strings.IndexFunc(s, func(r rune) bool {
				return unicode.IsControl(r) && r != '\n' && r != '\t' || unicode.Is(unicode.Bidi_Control, r)
			}); i >= 0 {
				t.Errorf("%v sends %q", args, s[max(0, i-20):min(len(s), i+20)])
			}
		}
		return stdout, stderr
	}
	const bad = "red\x1b]0;mine\x07\x1b[2Jbed\u009b31m\u202etxt"
	table := filepath.Join(dir, "notes.csv")
	must(t, os.WriteFile(table, []byte("plant,line,season,note\nM-02,buff,2026,\""+bad+"\"\n"), 0o666))
	in(statusDone, "import", table)
	if out, _ := in(statusDone, "plants"); !strings.Contains(out, `red\x1b]0;mine\x07\x1b[2Jbed\u009b31m\u202etxt`) {
		t.Errorf("plants: %q", out)
	}
	in(statusDone, "history")
	if out, _ := hueward(t, statusDone, "export", "--table", "plants", "--book", b); !strings.Contains(out, bad) {
		t.Errorf("the table lacks what was entered: %q", out)
	}
	shot := filepath.Join(dir, "a\x1b[31m\u202eb.jpg")
	need(drawFile(shot, render.Scene{Width: 320, Height: 240, EV: -0.5, Seed: 3}, photo.Info{}))(t)
	in(statusDone, "measure", shot, "--plant", "M-02")
	in(statusFailed, "import", filepath.Join(dir, "no\x1b[2Jfile.csv"))
	in(statusFailed, "target", "no\x1b[2Jline", "--lab", "70,10,10")
	in(statusUsage, "rank", "--keep", "\x1b[2J")
	in(statusUsage, "no\x1b[2Jcommand")
	for _, name := range []string{"buff\u200b", "bu\u202eff", "bu\u2066ff", "bu\u00adff", "\ufeffbuff", "bu\u2028ff", "bu\u200dff"} {
		if _, stderr := in(statusFailed, "target", name, "--lab", "70,10,10"); !strings.Contains(stderr, "not seen") {
			t.Errorf("line %q: %q", name, stderr)
		}
	}
}
