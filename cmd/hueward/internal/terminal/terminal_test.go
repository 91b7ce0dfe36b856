package terminal

import (
	"bytes"
	"hueward/colorimg/tag"
	"strings"
	"testing"

	"charm.land/lipgloss/v2"
	"github.com/charmbracelet/colorprofile"
)

// shown prints a small table to a made-up terminal.
func shown(profile colorprofile.Profile, width int) string {
	var b bytes.Buffer
	s := &Stream{
		Writer: &colorprofile.Writer{Forward: &b, Profile: profile}, Terminal: true,
		Swatches: profile >= colorprofile.ANSI256, Width: width,
	}
	s.Table([]Column{{Swatch: true}, {Head: "plant"}, {Head: "hex"}, {Head: "why", Wide: 60}}, [][]string{
		{"#e8a26b", "M-01", "#e8a26b", "nearest of all, and by far"},
		{"#102030", "M-02", "#102030", "far"},
	})
	return b.String()
}

func TestTableSwatches(t *testing.T) {
	full := shown(colorprofile.TrueColor, 80)
	// 232, 162, 107 is e8 a2 6b in decimal.
	if !strings.Contains(full, "48;2;232;162;107") {
		t.Errorf("no swatch in\n%s", full)
	}
	few := shown(colorprofile.ANSI, 80)
	if strings.Contains(few, "48;") {
		t.Errorf("16 colours cannot show a petal, but there is a swatch in\n%s", few)
	}
	for name, s := range map[string]string{"true colour": full, "16 colours": few} {
		for _, want := range []string{"#e8a26b", "#102030", "M-01", "nearest of all, and by far"} {
			if !strings.Contains(s, want) {
				t.Errorf("%s: %q is not beside the colour in\n%s", name, want, s)
			}
		}
	}
}

// What needs room is left out in a terminal that has none; the rest fits.
func TestTableNarrow(t *testing.T) {
	s := shown(colorprofile.TrueColor, 24)
	if w := lipgloss.Width(s); w > 24 {
		t.Errorf("table is %d characters wide, want at most 24:\n%s", w, s)
	}
	if strings.Contains(s, "why") || !strings.Contains(s, "M-02") {
		t.Errorf("want the column that needs room left out, and no other:\n%s", s)
	}
}

func TestStreamColour(t *testing.T) {
	for _, test := range []struct {
		env  []string
		want bool
	}{
		{nil, false}, // a pipe
		{[]string{"CLICOLOR_FORCE=1", "COLORTERM=truecolor", "TERM=xterm"}, true},
		{[]string{"CLICOLOR_FORCE=1", "COLORTERM=truecolor", "TERM=xterm", "NO_COLOR=1"}, false},
		{[]string{"CLICOLOR_FORCE=1", "COLORTERM=truecolor", "TERM=xterm", "NO_COLOR=please"}, false}, // no-color.org: any value
		{[]string{"CLICOLOR_FORCE=1", "COLORTERM=truecolor", "TERM=xterm", "NO_COLOR="}, true},
		{[]string{"COLORTERM=truecolor", "TERM=xterm"}, false}, // still a pipe
	} {
		if got := New(&bytes.Buffer{}, test.env).Swatches; got != test.want {
			t.Errorf("with %q: swatches = %v, want %v", test.env, got, test.want)
		}
	}
}

// The code in the terminal is the one that was meant: its half blocks, read back as
// modules, are those of the code, with four light ones around.
func TestTerminalCode(t *testing.T) {
	const link = "http://192.168.178.21:8459/join?code=ABCD2345"
	var out bytes.Buffer
	(&Stream{Writer: &out}).QR(link)
	want, err := tag.Matrix(link)
	if err != nil {
		t.Fatal(err)
	}
	var got [][]bool
	for line := range strings.Lines(out.String()) {
		var up, down []bool
		for _, r := range strings.TrimRight(line, "\n") {
			up, down = append(up, r == ' ' || r == '▄'), append(down, r == ' ' || r == '▀')
		}
		got = append(got, up, down)
	}
	n := len(want)
	if len(got) < n+8 || len(got[0]) != n+8 {
		t.Fatalf("%d × %d modules, want %d with a margin of 4", len(got[0]), len(got), n)
	}
	for y := range n + 8 {
		for x := range n + 8 {
			dark := y >= 4 && y < n+4 && x >= 4 && x < n+4 && want[y-4][x-4]
			if got[y][x] != dark {
				t.Fatalf("the module at %d, %d is dark: %v, want %v", x, y, got[y][x], dark)
			}
		}
	}
}
