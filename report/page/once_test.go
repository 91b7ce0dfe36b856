package page

import (
	"encoding/json"
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"

	"hueward/selection/book"
)

var requestForm = regexp.MustCompile(`name="request" value="([^"]+)"`)

// A form that is sent twice, one after the other or at once, enters one record: a double
// tap, or a phone that never heard the answer. Filled in otherwise it is another.
func TestTwiceIsOnce(t *testing.T) {
	t.Parallel()
	b, c := served(t)
	count := map[string]func() int{
		"crosses": func() int { l, _ := b.Crosses(t.Context(), ""); return len(l) },
		"heads":   func() int { l, _ := b.Heads(t.Context(), ""); return len(l) },
		"packets": func() int { l, _ := b.Packets(t.Context(), ""); return len(l) },
		"sowings": func() int { l, _ := b.Sowings(t.Context(), ""); return len(l) },
		"plants":  func() int { l, _ := b.Plants(t.Context(), book.PlantFilter{}); return len(l) },
	}
	twice := func(path, what string, want int, kv ...string) {
		t.Helper()
		v := url.Values{"token": {c.token()}, "request": {secret()}, "back": {"/history"}}
		for i := 0; i+1 < len(kv); i += 2 {
			v.Add(kv[i], kv[i+1])
		}
		was := count[what]()
		var at sync.WaitGroup
		for range 3 {
			at.Go(func() {
				r, err := c.PostForm(c.base+path, v)
				if err != nil {
					t.Error(err)
					return
				}
				if status, page := read(t, r); status != http.StatusOK || strings.Contains(page, "Not done.") {
					t.Errorf("%s: status %d, %.300s", path, status, page)
				}
			})
		}
		at.Wait()
		if status, page := c.send(path, append(kv, "request", v.Get("request"), "back", "/history", "ago", "9")...); status != 200 ||
			!strings.Contains(page, "Noted: ") && !strings.Contains(page, "added") {
			t.Errorf("%s once more: status %d, %.300s", path, status, page)
		}
		if got := count[what]() - was; got != want {
			t.Errorf("%s four times: %d %s more, want %d", path, got, what, want)
		}
	}
	twice("/crosses", "crosses", 1, "seed", "M-01", "pollen", "M-02", "heads", "2")
	twice("/pairs", "crosses", 2, "pair", "M-01 M-04", "pair", "M-02 M-06", "heads", "1")
	twice("/heads", "heads", 1, "subject", "M-06-1", "step", "bag")
	twice("/packets", "packets", 1, "do", "fill", "bought", "old yellow", "seeds", "20")
	list, err := b.Packets(t.Context(), "")
	check(t, err)
	twice("/packets", "sowings", 1, "do", "sow", "packet", list[len(list)-1].Name, "seeds", "10")
	sowings, err := b.Sowings(t.Context(), "")
	check(t, err)
	twice("/packets", "plants", 4, "do", "up", "packet", sowings[0].Name, "seeds", "4")
	twice("/plants", "plants", 2, "plants", "N-1, N-2")

	// Filled in otherwise on the same page, which was looked back to: another cross.
	was := count["crosses"]()
	id := secret()
	c.send("/crosses", "request", id, "seed", "M-01", "pollen", "M-02")
	c.send("/crosses", "request", id, "seed", "M-01", "pollen", "M-03")
	if got := count["crosses"]() - was; got != 2 {
		t.Errorf("two crosses of one page: %d", got)
	}
	// What is taken back twice is told as taken back, and nothing offers to take that back.
	h, err := b.History(t.Context(), 1)
	check(t, err)
	back := secret()
	for range 2 {
		if _, page := c.send("/undo", "change", strconv.FormatInt(h[0].ID, 10), "request", back, "back", "/plants"); !strings.Contains(page,
			"Taken back: ") || strings.Contains(page, `name="change"`) {
			t.Errorf("taken back: %.900s", page)
		}
	}
	// Each form that is shown has an id of its own.
	seen := map[string]bool{}
	for range 2 {
		_, page := c.read("/packets")
		for _, m := range requestForm.FindAllStringSubmatch(page, -1) {
			if seen[m[1]] {
				t.Error("two forms have the same id")
			}
			seen[m[1]] = true
		}
	}
	if len(seen) < 8 {
		t.Errorf("%d forms with an id", len(seen))
	}
}

// A script hears what was done, and of a repeat what was done then.
func TestScriptHearsOnce(t *testing.T) {
	t.Parallel()
	c := serve(t, bookOf(t), nil)
	id := secret()
	var first int64
	for i := range 2 {
		req, err := http.NewRequest("POST", c.base+"/heads", strings.NewReader(url.Values{"token": {c.token()}, "request": {id},
			"subject": {"M-03-1"}, "step": {"pollinate"}}.Encode()))
		check(t, err)
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		req.Header.Set("Accept", "application/json")
		r, err := c.Do(req)
		check(t, err)
		var a struct {
			Done          bool
			Text, Version string
			Change        int64
		}
		status, body := read(t, r)
		if err := json.Unmarshal([]byte(body), &a); err != nil || status != 200 || !a.Done || !strings.Contains(a.Text, "M-03-1") ||
			a.Change == 0 || a.Version == "" {
			t.Errorf("time %d: status %d, %v, %s", i, status, err, body)
		}
		if i == 0 {
			first = a.Change
		} else if a.Change != first {
			t.Errorf("the repeat is change %d, the first was %d", a.Change, first)
		}
	}
	_, body := c.read("/taken?id=" + id + "&id=" + secret() + "&id=x")
	var a struct {
		Taken []string
		Token string
	}
	if err := json.Unmarshal([]byte(body), &a); err != nil || len(a.Taken) != 1 || a.Taken[0] != id || a.Token != c.token() {
		t.Errorf("taken: %s", body)
	}
}

// What was typed stays in its form when it could not be taken, in whichever form.
func TestTypedStays(t *testing.T) {
	t.Parallel()
	c := serve(t, bookOf(t), nil)
	for _, f := range []struct {
		path, back string
		typed      []string
		want       []string // in the page
	}{
		{"/crosses", "/crosses", []string{"seed", "M-01", "pollen", "nobody", "note", "at noon", "heads", "7", "kind", "cross"},
			[]string{`value="nobody"`, `value="at noon"`, `value="7"`, `value="M-01"`}},
		{"/heads", "/heads", []string{"subject", "Z-9", "step", "harvest", "seeds", "31", "on", "2026-07-19"},
			[]string{`value="Z-9"`, `value="31"`, `value="2026-07-19"`, `<option value="harvest" selected=""`}},
		{"/heads", "/heads", []string{"subject", "M-03-1", "step", "harvest", "seeds", "many"}, []string{`value="many"`}},
		{"/packets", "/packets", []string{"do", "fill", "bought", "x", "seeds", "some", "place", "tin 4"},
			[]string{`value="some"`, `value="tin 4"`}},
		{"/plants", "/plants", []string{"plants", "M-01 a/b"}, []string{`value="M-01 a/b"`, `<details class="more" open=""`}},
		{"/plants/M-03/score", "/plants/M-03", []string{"trait", "form", "value", "splendid"}, []string{`value="splendid"`}},
		{"/target", "/target?lab=80,10,30", []string{"lab", "80.00,10.00,30.00", "source", "given as L* a* b*", "measured", "", "line", "buff",
			"within", "wide", "aim", "hold"},
			[]string{`value="wide"`, `value="buff"`, `<option value="hold" selected=""`}},
		{"/photos/1/plant", "/photos/1", []string{"plant", "a/b"}, []string{`value="a/b"`}},
		{"/photos/1/correct", "/photos/1", []string{"bloom", "here", "card", "1,1"}, []string{`value="here"`, `value="1,1"`}},
		{"/scan", "/scan", []string{"id", "Z-77"}, []string{`value="Z-77"`}},
	} {
		var status int
		var page string
		if f.path == "/scan" {
			status, page = c.form(f.path, append(f.typed, "back", f.back)...)
		} else {
			status, page = c.send(f.path, append(f.typed, "back", f.back)...)
		}
		if status != 200 || !strings.Contains(page, "Not done.") {
			t.Errorf("%s %v: status %d, %.200s", f.path, f.typed, status, page)
		}
		for _, want := range f.want {
			if !strings.Contains(page, want) {
				t.Errorf("%s %v: the page does not hold %s", f.path, f.typed, want)
			}
		}
		// It is shown once: nobody finds it in the form another day.
		if _, page := c.read(f.back); strings.Contains(page, f.want[0]) {
			t.Errorf("%s: %s is still there", f.path, f.want[0])
		}
	}
	for path, want := range map[string]string{"/target?lab=red": `value="red"`, "/target?hex=nothing": `value="nothing"`,
		"/target?name=no+such": `value="no such"`} {
		if status, page := c.read(path); status != http.StatusBadRequest || !strings.Contains(page, want) || !strings.Contains(page,
			"Not done.") {
			t.Errorf("%s: status %d, and the page does not hold %s", path, status, want)
		}
	}
	for path, want := range map[string]string{"/print/tags.pdf?names=M-01+nobody": `value="M-01 nobody"`,
		"/print/photo-sheet.pdf?sheet=none&names=M-02": `value="M-02"`} {
		if status, page := c.read(path); status != 200 || !strings.Contains(page, want) || !strings.Contains(page, "Not done.") {
			t.Errorf("%s: status %d, and the page does not hold %s", path, status, want)
		}
	}
	// A form whose token is of another time is filled in again, too.
	r, err := c.PostForm(c.base+"/crosses", url.Values{"token": {"old"}, "seed": {"M-01"}, "note": {"long thought about"},
		"back": {"/crosses"}})
	check(t, err)
	if _, page := read(t, r); !strings.Contains(page, `value="long thought about"`) || !strings.Contains(page, "Not done.") {
		t.Errorf("after another token: %.300s", page)
	}
}

// A list of which a part failed says which was done, and leaves the rest in the form.
func TestListInPart(t *testing.T) {
	t.Parallel()
	b, c := served(t)
	_, page := c.send("/plants", "plants", "N-1 M-01 a/b N-2", "back", "/plants")
	for _, want := range []string{"Done in part.", "N-1, N-2 added to buff apricot.", "already in the book", "not a usable name",
		`value="M-01 a/b"`,
		"Undo"} {
		if !strings.Contains(page, want) {
			t.Errorf("plants in part: the page does not hold %q", want)
		}
	}
	_, page = c.send("/pairs", "pair", "M-01 M-02", "pair", "M-01 nobody", "heads", "2", "back", "/history")
	for _, want := range []string{"Done in part.", "(M-01 × M-02, sib cross) noted.", "nobody"} {
		if !strings.Contains(page, want) {
			t.Errorf("pairs in part: the page does not hold %q", want)
		}
	}
	if l, err := b.Crosses(t.Context(), ""); err != nil || len(l) != 2 {
		t.Errorf("%d crosses, want the one of before and one; %v", len(l), err)
	}
}

// Two tabs that change one note: the second is shown both, and loses neither.
func TestNoteOfTwoTabs(t *testing.T) {
	t.Parallel()
	b := bookOf(t)
	check(t, b.SetNote(t.Context(), "M-03", "tall\nlate"))
	c := serve(t, b, nil)
	was := "tall\r\nlate" // as browsers send it
	if _, page := c.send("/plants/M-03/note", "note", "tall, late, sturdy", "was", was, "back", "/plants/M-03"); !strings.Contains(page,
		"The note on M-03 is kept") {
		t.Fatalf("the first tab: %.300s", page)
	}
	_, page := c.send("/plants/M-03/note", "note", "tall, late, scented", "was", was, "back", "/plants/M-03")
	for _, want := range []string{"Not done.", "tall, late, sturdy&#34;", ">tall, late, scented</textarea>",
		`name="was" value="tall, late, sturdy"`} {
		if !strings.Contains(page, want) {
			t.Errorf("the second tab does not see %q", want)
		}
	}
	if p, err := b.Plant(t.Context(), "M-03"); err != nil || p.Note != "tall, late, sturdy" {
		t.Errorf("the note is %q, %v", p.Note, err)
	}
	c.send("/plants/M-03/note", "note", "tall, late, sturdy, scented", "was", "tall, late, sturdy", "back", "/plants/M-03")
	if p, err := b.Plant(t.Context(), "M-03"); err != nil || p.Note != "tall, late, sturdy, scented" {
		t.Errorf("put together the note is %q, %v", p.Note, err)
	}
}
