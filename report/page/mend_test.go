package page

import (
	"encoding/json"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"hueward/colorimg/cie"
	"hueward/selection/book"
	"hueward/selection/book/booktest"
)

// A wrong photo is given to another plant, to none, or taken out; each is taken back by
// the button that the page then shows. Before, a photo could only be given to a plant.
func TestWrongPhoto(t *testing.T) {
	t.Parallel()
	b, c := served(t)
	button := regexp.MustCompile(`name="change" value="([0-9]+)"`)
	photosOf := func(id string) int {
		t.Helper()
		p, err := b.Plant(t.Context(), id)
		check(t, err)
		return p.Photos
	}
	_, page := c.read("/plants/M-01")
	m := regexp.MustCompile(`href="(/photos/[0-9]+)#shows"`).FindStringSubmatch(page)
	if m == nil {
		t.Fatal("M-01's page leads to no form for a wrong photo")
	}
	photo := m[1]
	for _, step := range []struct {
		path string
		form []string
		says string
		m01  int
		m09  int
		all  int
	}{
		{photo + "/plant", []string{"plant", "M-09"}, "M-01_1.jpg shows M-09.", 0, 1, 8},
		{photo + "/plant", []string{"plant", "M-01", "none", "1"}, "M-01_1.jpg: its plant is not known now.", 0, 0, 8},
		{photo + "/remove", nil, "M-01_1.jpg is taken out of the book.", 0, 0, 7},
	} {
		status, page := c.send(step.path, step.form...)
		if status != 200 || !strings.Contains(page, step.says) {
			t.Fatalf("%s %v: status %d, want %q in %.300s", step.path, step.form, status, step.says, page)
		}
		if got := [3]int{photosOf("M-01"), photosOf("M-09"), photosIn(t, b)}; got != [3]int{step.m01, step.m09, step.all} {
			t.Errorf("%s %v: photos of M-01, M-09, all are %v", step.path, step.form, got)
		}
		change := button.FindStringSubmatch(page)
		if change == nil {
			t.Fatalf("%s %v: no button takes it back", step.path, step.form)
		}
		if status, _ := c.send("/undo", "change", change[1]); status != 200 || photosOf("M-01") != 1 || photosIn(t, b) != 8 {
			t.Errorf("%s %v: not taken back, status %d", step.path, step.form, status)
		}
	}
	if status, _ := c.send("/photos/4711/remove"); status != 404 {
		t.Errorf("a photo that is not there: status %d", status)
	}
}

// A plant that is new with a photo or a form is told, with the one that may be meant, and
// what changed nothing offers nothing older to take back. Before, both were silent.
func TestNewPlantsOnThePage(t *testing.T) {
	t.Parallel()
	b, c := served(t)
	pic := drawn(t, 33, cie.Lab{L: 76, A: 14, B: 38}, 600, 450)
	for name, want := range map[string]string{"m09_1.jpg": "New plant: m09; did you mean M-09?<", "Bild 3_1.jpg": "plant not known"} {
		_, body := c.upload("/photos", name, "image/jpeg", append(pic, name...), true)
		var a []struct{ HTML string }
		if err := json.Unmarshal([]byte(body), &a); err != nil || len(a) != 1 || !strings.Contains(a[0].HTML, want) {
			t.Errorf("%s: %v, %.900s; want %q", name, err, body, want)
		}
	}
	if _, page := c.send("/photos/2/plant", "plant", "M-1"); !strings.Contains(page, "shows M-1. New plant: M-1; did you mean M-01?<") {
		t.Errorf("a photo's new plant is not told: %.900s", page)
	}
	if _, page := c.send("/plants", "plants", "K-01..K-03 M_02"); !strings.Contains(page,
		"4 plants added to buff apricot; did you mean M-02?<") {
		t.Errorf("plants like others are not told: %.900s", page)
	}
	if _, err := b.Plant(t.Context(), "K-02"); err != nil {
		t.Error(err)
	}
	if _, page := c.send("/photos/2/plant", "plant", "m-1"); strings.Contains(page, `name="change"`) {
		t.Error("what changed nothing offers to take something older back")
	}
}

// What is ticked together is one change, taken back by one touch.
func TestTicksTogether(t *testing.T) {
	t.Parallel()
	b, c := served(t)
	button := regexp.MustCompile(`name="change" value="([0-9]+)"`)
	for path, form := range map[string][]string{
		"/pairs":  {"pair", "M-01 M-02", "pair", "M-03 M-04", "heads", "2"},
		"/plants": {"plants", "K-01..K-09 L-1"},
	} {
		before := booktest.Rows(t, b)
		_, page := c.send(path, form...)
		m := button.FindStringSubmatch(page)
		if m == nil || cmp.Equal(before, booktest.Rows(t, b)) {
			t.Fatalf("%s: nothing to take back in %.600s", path, page)
		}
		if status, page := c.send("/undo", "change", m[1]); status != 200 {
			t.Errorf("%s: not taken back, %d: %.300s", path, status, page)
		}
		if d := cmp.Diff(before, booktest.Rows(t, b)); d != "" {
			t.Errorf("%s, taken back (-before +now):\n%s", path, d)
		}
	}
}

// A plant's name and line, one that was entered twice or by mistake, and a line's name are put
// right on the page, each as one change that one touch takes back. Before a plant is taken out,
// its page says what rests on it.
func TestPutRightOnThePage(t *testing.T) {
	t.Parallel()
	b, c := served(t)
	check(t, b.AddPlant(t.Context(), book.Plant{ID: "M-99", Line: "buff apricot", Season: "2026"}))
	if _, page := c.read("/plants/M-03"); !strings.Contains(page, "M-03 has 1 photo, 1 cross on it, 2 heads, so it cannot be taken out") ||
		strings.Contains(page, "Take M-03 out") {
		t.Error("M-03's page does not say what rests on it, or offers to take it out")
	}
	if _, page := c.read("/plants/M-99"); !strings.Contains(page, "Take M-99 out of the book") {
		t.Error("M-99's page does not offer to take it out")
	}
	button := regexp.MustCompile(`name="change" value="([0-9]+)"`)
	before := booktest.Rows(t, b)
	for _, step := range []struct {
		path string
		form []string
		says string
		at   string // the page that it leads to says so
	}{
		{"/plants/M-02/mend", []string{"do", "rename", "to", "N-02"}, "M-02 is called N-02 now.", "<h1>N-02</h1>"},
		{"/plants/M-09/mend", []string{"do", "merge", "into", "m-02"}, "M-09 is part of M-02 now: nothing rested on it.", "<h1>M-02</h1>"},
		{"/plants/M-03/mend", []string{"do", "move", "line", "old cosmos"}, "M-03: line old cosmos.", "<h1>M-03</h1>"},
		{"/plants/M-99/mend", []string{"do", "remove"}, "M-99 is taken out of the book.", "<h1>Plants"},
		{"/lines", []string{"do", "move", "plants", "M-04..M-06, M-08", "line", "old cosmos"}, "M-04, M-05, M-06, M-08: line old cosmos.",
			"<h1>Plants"},
		{"/lines", []string{"do", "rename", "line", "buff apricot", "to", "apricot"}, "Line buff apricot is called apricot now.",
			"selected>apricot<"},
	} {
		status, page := c.send(step.path, step.form...)
		if status != 200 || !strings.Contains(page, step.says) || !strings.Contains(page, step.at) {
			t.Errorf("%s %v: status %d, want %q and %q in %.1500s", step.path, step.form, status, step.says, step.at, page)
			continue
		}
		m := button.FindStringSubmatch(page)
		if m == nil || cmp.Equal(before, booktest.Rows(t, b)) {
			t.Fatalf("%s %v: nothing to take back", step.path, step.form)
		}
		// Taken back on the page of a name that is gone with it.
		if status, _ := c.send("/undo", "change", m[1], "back", "/plants/N-02"); status != 200 {
			t.Errorf("%s %v: not taken back, status %d", step.path, step.form, status)
		}
		if d := cmp.Diff(before, booktest.Rows(t, b)); d != "" {
			t.Errorf("%s %v, taken back (-before +now):\n%s", step.path, step.form, d)
		}
	}
	for _, form := range [][]string{{"do", "remove"}, {"do", "rename", "to", "M-04"}, {"do", "merge", "into", "Z-9"},
		{"do", "move", "line", "none"},
		{"do", "dance"}} {
		if status, page := c.send("/plants/M-03/mend", form...); status < 400 || cmp.Diff(before, booktest.Rows(t, b)) != "" {
			t.Errorf("M-03 %v: status %d, %.300s", form, status, page)
		}
	}
}

// A tolerance that no photo could tell is refused, the least one is taken. Our own bounds.
func TestTargetTolerance(t *testing.T) {
	t.Parallel()
	b, c := served(t)
	for within, ok := range map[string]bool{"1e-320": false, "0.09": false, "0.1": true, "100": true, "101": false, "NaN": false} {
		code, page := c.send("/target", "line", "tried "+within, "lab", "40,50,20", "within", within)
		if said := strings.Contains(page, "Near enough is a Delta E from 0.1 to 100, such as 4."); said == ok {
			t.Errorf("within %s: %d, refused: %v", within, code, said)
		}
		if l, err := b.Line(t.Context(), "tried "+within); (err == nil && l.Target != nil) != ok {
			t.Errorf("within %s: the line is %v, %v; want it set: %v", within, l, err, ok)
		}
	}
}

// The wish becomes the shade of the petals' second colour, the target itself stays, and it is taken away again.
func TestSecondColour(t *testing.T) {
	t.Parallel()
	b, c := served(t)
	now := func() book.Target {
		t.Helper()
		l, err := b.Line(t.Context(), "buff apricot")
		check(t, err)
		return *l.Target
	}
	was := now()
	if _, page := c.read("/target?lab=40,50,20"); !strings.Contains(page, `name="second" value="set"`) {
		t.Fatal("the wish cannot become the second colour")
	}
	_, page := c.send("/target", "line", "buff apricot", "lab", "40,50,20", "within", "9", "aim", "hold", "second", "set")
	if !strings.Contains(page, "The second colour of buff apricot is set: ") || !strings.Contains(page, "Second colour of the petals") {
		t.Errorf("not said: %.900s", page)
	}
	want := was
	want.Second = &cie.Lab{L: 40, A: 50, B: 20}
	if got := now(); got.Lab != was.Lab || got.Within != was.Within || got.Aim != was.Aim || got.Second == nil || *got.Second != *want.Second {
		t.Errorf("the target is %+v, want %+v", got, want)
	}
	_, page = c.send("/target", "line", "buff apricot", "second", "none")
	if now().Second != nil || strings.Contains(page, "Second colour of") {
		t.Errorf("the second colour is still %v", now().Second)
	}
}
