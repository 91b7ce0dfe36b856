package calendar

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode/utf8"
)

var icsTasks = []Task{
	{Kind: Pollinate, Subjects: []string{"M-1-1", "M-1-2"}, Line: "buff; apricot, \\ \"old\"", Due: july(7), Until: july(9), Urgency: Today,
		Text: "pollinate again, M-1 × M-2: day 2 of 4; a very long line, „äöü“ and 花, that has to be folded more than once to be sure of it"},
	{Kind: Bag, Subjects: []string{"M-2-1"}, Line: "buff", Due: july(1), Until: july(3), Urgency: Overdue, Text: "bag\x07 it"},
}

// noted is how the second of them is noted as done.
func noted(t Task) string {
	if t.Kind == Bag {
		return "note it"
	}
	return ""
}

func write(t *testing.T, made time.Time) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := WriteICS(&b, File{Book: "book", Made: made, Do: noted}, icsTasks); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestICSLines holds RFC 5545, 3.1: lines end with CR LF, and are at most 75 octets
// long, cut between characters.
func TestICSLines(t *testing.T) {
	t.Parallel()
	out := write(t, time.Date(2026, 7, 8, 9, 30, 0, 0, time.UTC))
	lines := strings.Split(string(out), "\r\n")
	if last := lines[len(lines)-1]; last != "" {
		t.Errorf("the last line, %q, does not end", last)
	}
	for _, l := range lines {
		if len(l) > 75 || strings.ContainsAny(l, "\r\n\x07") || !utf8.ValidString(l) {
			t.Errorf("line of %d octets: %q", len(l), l)
		}
	}
	if again := write(t, time.Date(2026, 7, 8, 9, 30, 0, 0, time.UTC)); !bytes.Equal(out, again) {
		t.Error("the same file twice differs")
	}
}

// TestICSRead has another reader, Python's icalendar, read the file.
func TestICSRead(t *testing.T) {
	t.Parallel()
	py := "/usr/bin/python3" // Debian's, which has the package
	if err := exec.Command(py, "-c", "import icalendar").Run(); err != nil {
		if os.Getenv("HUEWARD_FULL") != "" {
			t.Fatalf("python3-icalendar: %v", err)
		}
		t.Skip("python3-icalendar is not installed")
	}
	type event struct {
		UID, Summary, Start, End, Description string
		Sequence                              int
	}
	read := func(made time.Time) []event {
		file := filepath.Join(t.TempDir(), "garden.ics")
		if err := os.WriteFile(file, write(t, made), 0o644); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command(py, "-c", `
import icalendar, json, sys
cal = icalendar.Calendar.from_ical(open(sys.argv[1], "rb").read())
assert str(cal["VERSION"]) == "2.0" and cal["PRODID"]
print(json.dumps([{"UID": str(e["UID"]), "Summary": str(e["SUMMARY"]), "Start": e.decoded("DTSTART").isoformat(),
    "End": e.decoded("DTEND").isoformat(), "Description": str(e["DESCRIPTION"]),
    "Sequence": int(e["SEQUENCE"])} for e in cal.walk("VEVENT")]))
`, file).Output()
		if err != nil {
			t.Fatalf("icalendar: %v %s", err, err.(*exec.ExitError).Stderr)
		}
		var events []event
		if err := json.Unmarshal(out, &events); err != nil {
			t.Fatal(err)
		}
		return events
	}
	first, later := read(time.Date(2026, 7, 8, 9, 30, 0, 0, time.UTC)), read(time.Date(2026, 7, 8, 9, 31, 0, 0, time.UTC))
	if len(first) != 3 || len(later) != 3 {
		t.Fatalf("%d and %d events, want 3", len(first), len(later))
	}
	want := event{UID: first[0].UID, Summary: "M-1-1: " + icsTasks[0].Text, Start: "2026-07-08", End: "2026-07-10",
		Description: "Line: " + icsTasks[0].Line, Sequence: first[0].Sequence}
	if first[0] != want {
		t.Errorf("read %+v\nwant %+v", first[0], want)
	}
	if late := first[2]; late.Start != "2026-07-08" || late.End != "2026-07-09" || late.Summary != "M-2-1: bag  it" ||
		late.Description != "Line: buff\nThen: note it" {
		t.Errorf("the overdue task reads %+v", late)
	}
	seen := map[string]bool{}
	for i := range first {
		if first[i].UID != later[i].UID || later[i].Sequence <= first[i].Sequence || seen[first[i].UID] {
			t.Errorf("%s: UID %s then %s, sequence %d then %d", first[i].Summary, first[i].UID, later[i].UID, first[i].Sequence, later[i].Sequence)
		}
		seen[first[i].UID] = true
	}
}
