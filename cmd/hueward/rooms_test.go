package main

// Tests of the rooms below are here, in one program with the others: to link one for each takes longer than they do.

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"
	"time"

	"charm.land/lipgloss/v2"
	"github.com/charmbracelet/colorprofile"
	"github.com/google/go-cmp/cmp"
	"github.com/spf13/cobra"
	"pgregory.net/rapid"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/hints"
	"hueward/cmd/hueward/internal/store"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/colorimg/must"
	"hueward/colorimg/tag"
	"hueward/selection/book/booktest"
	"hueward/selection/calendar"
)

// What notes a task as done names all its subjects, for every kind of task but the two that
// need nothing: a bag that stays on, and a photo, which says itself what it shows.
func TestTaskDone(t *testing.T) {
	t.Parallel()
	for _, k := range []calendar.Kind{
		calendar.Bag, calendar.Pollinate, calendar.Stigmas, calendar.Harvest, calendar.Pack, calendar.Dry, calendar.Test, calendar.Count,
		calendar.Emasculate, calendar.PlantOut, calendar.DryPollen, calendar.UsePollen,
	} {
		if got := hints.Done(calendar.Task{Kind: k, Subjects: []string{"M-1-1", "M-2-1"}}); !strings.HasPrefix(got, "hueward ") ||
			!strings.Contains(got, " M-1-1 M-2-1") {
			t.Errorf("%s: %q does not name its subjects", k, got)
		}
	}
	if got := hints.Done(calendar.Task{Kind: calendar.KeepBag, Subjects: []string{"M-1-1"}}); got != "" {
		t.Errorf("a bag that stays on: %q, want nothing", got)
	}
	for _, k := range []calendar.Kind{calendar.Sow, calendar.SowBy} { // one packet at a time
		if got := hints.Done(calendar.Task{Kind: k, Subjects: []string{"P1", "P2"}}); !strings.Contains(got, " PACKET ") {
			t.Errorf("%s of two packets: %q", k, got)
		}
		if got := hints.Done(calendar.Task{Kind: k, Subjects: []string{"P1"}}); !strings.Contains(got, " P1 ") {
			t.Errorf("%s of a packet: %q", k, got)
		}
	}
	if got := hints.Done(calendar.Task{Kind: calendar.Photo, Subjects: []string{"M-1"}}); got != "hueward measure PHOTO…" {
		t.Errorf("a photo: %q", got)
	}
}

func TestDayWritten(t *testing.T) {
	a := cli.New(strings.NewReader(""), io.Discard, io.Discard, nil, "")
	a.Now = func() time.Time { return time.Date(2026, 3, 1, 0, 30, 0, 0, time.FixedZone("", 3*3600)) }
	for s, want := range map[string]string{"": "2026-03-01", "Today": "2026-03-01", "yesterday": "2026-02-28",
		"2026-02-14": "2026-02-14", "14.2.": "2026-02-14",
		"-2d": "2026-02-27", "25/2/2026": "2026-02-25"} {
		if got, err := a.Day("on", s); err != nil || got.Format(time.DateOnly) != want {
			t.Errorf("Day(%q) = %v, %v, want %s", s, got, err, want)
		}
	}
	for _, s := range []string{"2026-03-02", "1/2/2026", "29.2.2026", "2026-02-30", "tomorrow"} {
		var u *cli.UsageError
		if got, err := a.Day("on", s); !errors.As(err, &u) || !strings.Contains(err.Error(), "--on") {
			t.Errorf("Day(%q) = %v, %v, want a usage error", s, got, err)
		}
	}
	a.Env = []string{"LANG=en_US.UTF-8", "LC_ALL=de_DE.UTF-8"}
	if got, err := a.Day("on", "1/2/2026"); err != nil || got.Format(time.DateOnly) != "2026-02-01" {
		t.Errorf("1/2/2026 in Germany = %v, %v", got, err)
	}
	if got, err := a.AnyDay("on", "tomorrow"); err != nil || got.Format(time.DateOnly) != "2026-03-02" {
		t.Errorf("tomorrow = %v, %v", got, err)
	}
}

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
		root.AddCommand(store.Commands(run)...)
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

// shown prints a small table to a made-up terminal.
func shown(profile colorprofile.Profile, width int) string {
	var b bytes.Buffer
	s := &terminal.Stream{
		Writer: &colorprofile.Writer{Forward: &b, Profile: profile}, Terminal: true,
		Swatches: profile >= colorprofile.ANSI256, Width: width,
	}
	s.Table([]terminal.Column{{Swatch: true}, {Head: "plant"}, {Head: "hex"}, {Head: "why", Wide: 60}}, [][]string{
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
		if got := terminal.New(&bytes.Buffer{}, test.env).Swatches; got != test.want {
			t.Errorf("with %q: swatches = %v, want %v", test.env, got, test.want)
		}
	}
}

// The code in the terminal is the one that was meant: its half blocks, read back as
// modules, are those of the code, with four light ones around.
func TestTerminalCode(t *testing.T) {
	const link = "http://192.168.178.21:8459/join?code=ABCD2345"
	var out bytes.Buffer
	(&terminal.Stream{Writer: &out}).QR(link)
	want := must.Have(tag.Matrix(link))(t)
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

// JSON and CSV have the names of a listing's fields, and nothing where something is not known; what is added for people
// and CSV alone stays out of JSON.
func TestListing(t *testing.T) {
	l := terminal.Listing{Fields: "plant,seeds,inbreeding,days,undone,on", None: "No plants."}
	none := l
	l.Add("M-01", new(0), new(0.25), []string{"2026-07-01", "2026-07-02"}, true, time.Date(2026, 7, 3, 0, 0, 0, 0, time.UTC)).Also("left", 3)
	l.Add("<a>,b", (*int)(nil), (*float64)(nil), []string{}, false, time.Time{})
	few := l
	few.CSV, few.Columns = "left,plant", []terminal.Column{{Head: "name", Of: "plant"}, {Head: "left"}}
	for _, c := range []struct {
		terminal.Listing
		terminal.Output
		want string
	}{
		{l, terminal.Output{CSV: true},
			"plant,seeds,inbreeding,days,undone,on\nM-01,0,0.25,2026-07-01 2026-07-02,true,2026-07-03\n\"<a>,b\",,,,false,\n"},
		{few, terminal.Output{CSV: true}, "left,plant\n3,M-01\n,\"<a>,b\"\n"},
		{few, terminal.Output{}, "name   left\n───────────\nM-01   3\n<a>,b\n"},
		{l, terminal.Output{JSON: true}, `[
  {
    "plant": "M-01",
    "seeds": 0,
    "inbreeding": 0.25,
    "days": [
      "2026-07-01",
      "2026-07-02"
    ],
    "undone": true,
    "on": "2026-07-03"
  },
  {
    "plant": "<a>,b",
    "seeds": null,
    "inbreeding": null,
    "days": [],
    "undone": false,
    "on": ""
  }
]
`},
		{none, terminal.Output{}, "No plants.\n"}, {none, terminal.Output{JSON: true}, "[]\n"},
		{none, terminal.Output{CSV: true}, l.Fields + "\n"},
	} {
		var b bytes.Buffer
		if err := (&terminal.Stream{Writer: &b}).List(&c.Output, c.Listing, nil); err != nil || b.String() != c.want {
			t.Errorf("%+v: %q, %v; want %q", c.Output, b.String(), err, c.want)
		}
	}
}

// The short way of laying out a table prints what the long one does.
func TestPlainTable(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 4).Draw(t, "columns")
		var columns []terminal.Column
		heads := []string{"plant", "L*", "größe", "a longer head", ""} // the first has a head
		for i := range n {
			columns = append(columns, terminal.Column{
				Head:  rapid.SampledFrom(heads[:len(heads)-max(0, 1-i)]).Draw(t, "head"),
				Right: rapid.Bool().Draw(t, "right"), Words: rapid.Bool().Draw(t, "words"),
			})
		}
		cell := rapid.SampledFrom([]string{"", "M-01", "3", " x", "y ", "first\nsecond", "1\r\n2\n3", "tab\there", "Ünïcödé", "日本", "🌼",
			"a longer note, of words"})
		rows := rapid.SliceOfN(rapid.SliceOfN(cell, n, n), 1, 6).Draw(t, "rows")
		var short, long bytes.Buffer
		(&terminal.Stream{Writer: &short}).Table(columns, rows)
		(&terminal.Stream{Writer: &long, Swatches: true}).Table(columns, rows) // no column has any, but they rule out the short way
		if d := cmp.Diff(long.String(), short.String()); d != "" {
			t.Fatalf("%q (-long +short):\n%s", rows, d)
		}
	})
}

// No line of a table is wider than the terminal, of 80 columns or a phone's 45, and no cell is lost,
// however many columns there are and whatever they hold.
func TestTableFits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		width := rapid.SampledFrom([]int{80, 45}).Draw(t, "width")
		n := rapid.IntRange(1, 12).Draw(t, "columns")
		var columns []terminal.Column
		for range n {
			columns = append(columns, terminal.Column{
				Head:  rapid.SampledFrom([]string{"plant", "L*", "größe", "than the target", "passes on", ""}).Draw(t, "head"),
				Right: rapid.Bool().Draw(t, "right"), Words: rapid.Bool().Draw(t, "words"), Says: rapid.Bool().Draw(t, "says"),
			})
		}
		cell := rapid.SampledFrom([]string{"", "M-01", "1.2–3.4", "first\nsecond", "tab\there", "日本", "calendula, the F2 of orange by cream",
			"its offspring are predicted among the nearest 6 of 24; itself 5.2 away, because its seed parent's family is darker",
			strings.Repeat("x", 100)})
		rows := rapid.SliceOfN(rapid.SliceOfN(cell, n, n), 1, 4).Draw(t, "rows")
		var out bytes.Buffer
		(&terminal.Stream{Writer: &out, Terminal: true, Width: width}).Table(columns, rows)
		letters := func(s string) string { // without blanks, and what bold heads are written with
			return strings.NewReplacer(" ", "", "\t", "", "\n", "", "─", "").Replace(s)
		}
		for line := range strings.Lines(out.String()) {
			if w := lipgloss.Width(strings.TrimSuffix(line, "\n")); w > width {
				t.Fatalf("a line of %d characters in a terminal of %d:\n%s", w, width, out.String())
			}
		}
		got, want := map[rune]int{}, map[rune]int{}
		for _, r := range letters(out.String()) {
			got[r]++
		}
		for _, row := range rows {
			for _, c := range row {
				for _, r := range letters(c) {
					want[r]++
				}
			}
		}
		for r, k := range want {
			if got[r] < k {
				t.Fatalf("%d of %q are shown, of %d:\n%s", got[r], r, k, out.String())
			}
		}
	})
}

// A sentence that does not fit beside its row goes below it, without the column's head; what else
// does not fit follows behind its head, so that a phone's 45 columns take two lines a row.
func TestTableBelow(t *testing.T) {
	columns := []terminal.Column{{Head: "", Right: true}, {Head: "plant"}, {Head: "advice"}, {Head: "passes on", Right: true}, {Head: "95 %",
		Right: true},
		{Head: "itself", Right: true}, {Head: "photos", Right: true}, {Head: "why", Says: true}}
	rows := [][]string{{"1", "M-02", "keep", "1.2", "0.5–1.6", "3.4", "2", "among the nearest 6 of 24 by what it passes on"}}
	for width, want := range map[int]string{
		80: `
   plant  advice  passes on     95 %  itself  photos
────────────────────────────────────────────────────
1  M-02   keep          1.2  0.5–1.6     3.4       2
    among the nearest 6 of 24 by what it passes on
`,
		45: `
   plant  advice  passes on     95 %  itself
────────────────────────────────────────────
1  M-02   keep          1.2  0.5–1.6     3.4
    photos 2; among the nearest 6 of 24 by
    what it passes on
`,
	} {
		var out bytes.Buffer
		s := &terminal.Stream{Writer: &out, Terminal: true, Width: width}
		s.Table(columns, rows)
		if d := cmp.Diff(want[1:], strings.NewReplacer("\x1b[1m", "", "\x1b[m", "").Replace(out.String())); d != "" {
			t.Errorf("at %d (-want +got):\n%s", width, d)
		}
	}
}

// No line breaks within a date or a name, where it has room for them.
func TestWrapWhole(t *testing.T) {
	t.Parallel()
	for says, want := range map[string][]string{
		"stigmas dry 2026-11-11, 26-017P and M-07": {"stigmas dry", "2026-11-11, 26-017P", "and M-07"},
		strings.Repeat("x-", 20):                   {strings.Repeat("x-", 10), strings.Repeat("x-", 10)}, // wider than the line itself
	} {
		var out bytes.Buffer
		s := &terminal.Stream{Writer: &out, Terminal: true, Width: 24}
		s.Table([]terminal.Column{{Head: "", Right: true}, {Head: "plant"}, {Head: "why", Says: true}}, [][]string{{"1", "M-01", says}})
		if below := "\n    " + strings.Join(want, "\n    ") + "\n"; !strings.Contains(out.String(), below) {
			t.Errorf("want %q below its row in\n%s", below, out.String())
		}
	}
}
