package page

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"hueward/colorimg/cie"
	"hueward/colorimg/render"
	"hueward/colorimg/tag"
	"hueward/selection/book"
)

// phoneAt is a phone that was let in by its code, at the server's name in the network.
func phoneAt(t *testing.T) (*browserTab, *book.Book, *client) {
	t.Helper()
	bk := bookOf(t)
	c := serve(t, bk, &Options{LAN: true, Hosts: []string{shedName}})
	b := browser(t, strings.Replace(c.base, "127.0.0.1", shedName, 1))
	b.set(screens[0])
	b.join(c)
	return b, bk, c
}

func (b *browserTab) join(c *client) {
	b.t.Helper()
	b.open("/join?code=" + c.s.door.Code())
	b.do(chromedp.SendKeys(chromedp.CSS("input[name=name]"), "the phone"), chromedp.Click(chromedp.CSS("button.main")))
	b.until("in", `location.pathname === "/today"`)
}

// A phone that was sent away keeps what it has to send, says so, and sends it once it is let
// in again. It used to count the page that asks for the code as success.
func TestForgottenPhoneByTouch(t *testing.T) {
	t.Parallel()
	b, bk, c := phoneAt(t)
	was := photosIn(t, bk)
	b.open("/photos")
	b.until("ready", `document.getElementById("live").textContent.includes("by itself")`)
	c.s.door.End(c.s.door.List()[0].ID)
	b.do(chromedp.SetUploadFiles(chromedp.CSS("#add input[multiple]"), photoFiles(t, 2)), chromedp.Click(chromedp.CSS("#add button.main")))
	b.until(
		"told",
		`document.getElementById("sending-held").innerText.includes("not let in any more. Nothing is lost: 2 things wait here.")`,
	)
	b.shoot("waits-not-let-in")
	if n := photosIn(t, bk); n != was {
		t.Errorf("%d photos came in from a phone that was sent away", n-was)
	}
	b.open("/photos")
	b.until("told where the code is asked for", `location.pathname === "/join" &&
		document.getElementById("sending-all").innerText.includes("2 photos to go")`)
	b.join(c)
	b.until("sent", `document.getElementById("sending-all").innerText.includes("All sent: 2 done.")`)
	if n := photosIn(t, bk); n != was+2 {
		t.Errorf("%d photos, want 2", n-was)
	}
	b.heard() // it says that it was not let in
}

// Ticks and notes that are entered without a connection wait, outlive the page, and are
// entered once.
func TestEntriesWaitByTouch(t *testing.T) {
	t.Parallel()
	b, bk, _ := opened(t, screens[0])
	b.open("/today")
	b.until("ready", `document.getElementById("live").textContent.includes("by itself")`)
	b.offline(true)
	b.do(chromedp.Click(chromedp.CSS(`button[aria-label="Pollinated: M-03-1"]`)))
	b.until("waits", `document.getElementById("said").innerText.includes("this waits here") &&
		document.getElementById("sending-all").innerText.includes("1 entry to go")`)
	b.shoot("tick-waits")
	eval[bool](b, `const at = Date.now; Date.now = () => at() + 86400000; true`) // it waits overnight
	b.offline(false)
	b.until(
		"entered",
		`document.getElementById("sending").hidden && document.getElementById("said").innerText.includes("M-03-1 pollinated")`,
	)
	heads, err := bk.Heads(t.Context(), "2026")
	if h := headOf(heads, "M-03-1"); err != nil || len(h.Pollinated) != 1 || h.Pollinated[0].Day() != now.Day()-1 {
		t.Errorf("what waited overnight is noted as %+v, %v; want the day before", h.Pollinated, err)
	}
	// It is taken back in the same way, once, and the page stays.
	b.offline(true)
	b.do(chromedp.Click(chromedp.CSS("#said form button")))
	b.until("undo waits", `document.getElementById("said").innerText.includes("this waits here") &&
		document.querySelector("#queue li").textContent.includes("Undo: M-03-1 pollinated")`)
	b.offline(false)
	b.until("taken back", `document.getElementById("sending").hidden && document.getElementById("said").innerText.includes("Taken back: ") &&
		!document.getElementById("said").querySelector("button")`)
	if heads, err := bk.Heads(t.Context(), "2026"); err != nil || len(headOf(heads, "M-03-1").Pollinated) != 0 {
		t.Errorf("taken back M-03-1 is %+v, %v", headOf(heads, "M-03-1"), err)
	}
	// What cannot wait says so, and keeps what was typed.
	b.open("/scan")
	b.do(chromedp.SendKeys(chromedp.CSS("#typed"), "M-05"))
	b.offline(true)
	b.do(chromedp.Click(chromedp.CSS("form.typed button")))
	b.until("asked in vain", `document.getElementById("said").innerText.includes("No connection: nothing was changed. Try again.") &&
		document.getElementById("typed").value === "M-05"`)
	b.offline(false)
	b.do(chromedp.Click(chromedp.CSS("form.typed button")))
	b.until("opened", `location.pathname === "/plants/M-05"`)

	b.open("/plants/M-03")
	b.until("ready", `document.getElementById("live").textContent.includes("by itself")`)
	b.offline(true)
	b.do(chromedp.SetValue(chromedp.CSS("#note"), "sturdy in the rain"), chromedp.Click(chromedp.CSS(`form[action$="/note"] button`)))
	b.until("waits", `document.getElementById("sending-all").innerText.includes("1 entry to go")`)
	b.do(chromedp.Navigate("about:blank")) // the page is thrown out
	b.offline(false)
	b.open("/today")
	b.until("entered", `document.getElementById("sending").hidden`)
	for end := time.Now().Add(20 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		p, err := bk.Plant(t.Context(), "M-03")
		check(t, err)
		if p.Note == "sturdy in the rain" {
			break
		}
		if time.Now().After(end) {
			t.Fatalf("the note is %q", p.Note)
		}
	}
	h, err := bk.History(t.Context(), 0)
	check(t, err)
	n := map[string]int{}
	for _, c := range h {
		for _, what := range []string{"undone: ", "note on M-03"} {
			if strings.Contains(c.What, what) {
				n[what]++
			}
		}
	}
	if n["undone: "] != 1 || n["note on M-03"] != 1 {
		t.Errorf("the history has %v, want each once", n)
	}
	b.heard() // it says that there was no connection
}

// A phone's camera that throws the page out of memory loses nothing: the photo that was
// taken waits on the phone, and is sent once, as one of the plant that was said; and a page
// that is loaded anew still has the plant that was typed.
func TestThrownOutByTouch(t *testing.T) {
	t.Parallel()
	b, bk, c := opened(t, screens[0])
	b.open("/more")
	was := photosIn(t, bk)
	tab, thrownOut := chromedp.NewContext(b.ctx) // another tab of the same phone
	defer thrownOut()
	page := &browserTab{t, tab, &ear{}, c.base}
	page.set(screens[0])
	page.open("/photos")
	page.until("ready", `document.getElementById("live").textContent.includes("by itself")`)
	page.do(chromedp.SendKeys(chromedp.CSS("#add input[name=plant]"), "M-08"), chromedp.Reload())
	page.until("still typed", `document.querySelector("#add input[name=plant]").value === "M-08" &&
		document.querySelector(".shutter span").textContent === "Photograph M-08"`)
	page.until("ready", `document.getElementById("live").textContent.includes("by itself")`)
	page.offline(true)
	page.do(chromedp.SetValue(chromedp.CSS("#add input[name=plant]"), "M-09"),
		chromedp.SetUploadFiles(chromedp.CSS("#camera"), photoFiles(t, 1)))
	page.until("kept on the phone", `document.querySelector("#queue li") && !document.getElementById("answer").hidden`)
	thrownOut()
	if n := photosIn(t, bk); n != was {
		t.Fatalf("%d photos came in without a connection", n-was)
	}
	b.open("/photos")
	b.until("sent", `document.getElementById("sending-all").innerText.includes("All sent: 1 done.") &&
		document.querySelector("#recent li").innerText.includes("M-09")`)
	b.open("/photos")
	b.until("once", `waits.started && document.getElementById("sending").hidden &&
		document.querySelector("#add input[name=plant]").value === ""`)
	photos, _, err := bk.NewestPhotos(t.Context(), 1)
	if err != nil || photosIn(t, bk) != was+1 || photos[0].Plant != "M-09" || photos[0].Readings != 1 {
		t.Errorf("%d photos more, the newest %+v, %v; want one of M-09, measured once", photosIn(t, bk)-was, photos, err)
	}
}

// What was not taken is counted apart and stays in view, across a new page, until it is sent
// again or thrown away.
func TestRefusedStaysByTouch(t *testing.T) {
	t.Parallel()
	b, bk, _ := opened(t, screens[0])
	was := photosIn(t, bk)
	good := photoFiles(t, 2)
	none := filepath.Join(t.TempDir(), "letter.jpg")
	check(t, os.WriteFile(none, []byte("no photo at all"), 0o666))
	b.open("/photos")
	b.do(chromedp.SetUploadFiles(chromedp.CSS("#add input[multiple]"), append([]string{none}, good...)),
		chromedp.SendKeys(chromedp.CSS("#add input[name=plant]"), "M-09"), chromedp.Click(chromedp.CSS("#add button.main")))
	all := `document.getElementById("sending-all").innerText.includes("All sent: 2 done, 1 not taken: see below.")`
	b.until("counted apart", all)
	if got := eval[string](b, `document.querySelector("#add input[name=plant]").value + location.search`); got != "" {
		t.Errorf("after the photos were sent the field still says %q", got)
	}
	b.shoot("not-taken")
	b.open("/today")
	b.until("its number in the bar", `document.querySelector(".rooms .waiting-n").innerText.startsWith("1")`)
	row := `document.querySelector("#refused li").innerText`
	b.until("still in view", row+`.includes("letter.jpg, M-09 Not taken.")`)
	eval[bool](b, `document.querySelector("#refused li").id = "earlier"; true`)
	b.do(chromedp.Click(chromedp.CSS("#refused button:not(.plain)")))
	b.until("not taken again", row+`.includes("Not taken.") && !document.querySelector("#queue li, #earlier")`)
	b.do(chromedp.Click(chromedp.CSS("#refused button.plain")))
	if left := eval[int](b, `document.querySelectorAll("#refused li").length`); left != 1 {
		t.Error("one touch threw it away")
	}
	b.do(chromedp.Click(chromedp.CSS("#refused button.plain")))
	b.until("thrown away", `!document.querySelector("#refused li") && document.getElementById("sending").hidden`)
	b.open("/photos")
	if !eval[bool](b, `document.getElementById("sending").hidden`) {
		t.Error("it is back")
	}
	if n := photosIn(t, bk); n != was+2 {
		t.Errorf("%d photos, want 2", n-was)
	}
	// The same photo for another plant is not taken, and is when the plant is put right.
	b.do(chromedp.SetUploadFiles(chromedp.CSS("#add input[multiple]"), good[:1]),
		chromedp.SendKeys(chromedp.CSS("#add input[name=plant]"), "M-08"), chromedp.Click(chromedp.CSS("#add button.main")))
	b.until("another plant", row+`.includes("as one of plant M-09")`)
	b.do(chromedp.SetValue(chromedp.CSS("#refused input"), "M-09"), chromedp.Click(chromedp.CSS("#refused button:not(.plain)")))
	b.until("put right", `!document.querySelector("#refused li")`)
}

// A second touch while the first is under way enters nothing more, with a script as without.
func TestTwiceByTouch(t *testing.T) {
	t.Parallel()
	bk, c := served(t)
	for _, script := range []bool{true, false} {
		b := browser(t, c.base)
		b.set(screens[0])
		b.scripts(script)
		was, err := bk.Crosses(t.Context(), "")
		check(t, err)
		b.open("/crosses")
		form := `#cross form[action="/crosses"] `
		b.do(
			chromedp.SendKeys(chromedp.CSS(form+"input[name=seed]"), "M-01"),
			chromedp.SendKeys(chromedp.CSS(form+"input[name=pollen]"), "M-02"),
			chromedp.ScrollIntoView(chromedp.CSS(form+"button.main")),
		)
		at := eval[[2]float64](
			b,
			"(r => [r.x + r.width / 2, r.y + r.height / 2])(document.querySelector(`"+form+"button.main`).getBoundingClientRect())",
		)
		b.do(chromedp.MouseClickXY(at[0], at[1]), chromedp.MouseClickXY(at[0], at[1]))
		if script {
			b.until("noted", `document.querySelector("#said").innerText.includes("M-01 × M-02")`)
			b.until("nothing more", `document.getElementById("sending").hidden`)
		} else { // the second touch may have come to the page that answers the first, and lead on from there
			b.until("noted", `document.querySelector(".said") || location.pathname !== "/crosses"`)
		}
		now, err := bk.Crosses(t.Context(), "")
		if err != nil || len(now) != len(was)+1 {
			t.Errorf("script %v: a double touch made %d crosses; %v", script, len(now)-len(was), err)
		}
	}
}

// A form that is refused keeps what was typed with a script, too, and the page stays.
func TestTypedStaysByTouch(t *testing.T) {
	t.Parallel()
	bk := bookOf(t)
	b := browser(t, serve(t, bk, nil).base)
	b.set(screens[0])
	b.open("/plants")
	eval[bool](b, `document.querySelector("details.more").open = true`)
	b.do(
		chromedp.SendKeys(chromedp.CSS("input[name=plants]"), "N-1 M-01 N-2"),
		chromedp.Click(chromedp.CSS(`form[action="/plants"][method=post] button`)),
	)
	b.until("in part", `document.getElementById("said").innerText.includes("N-1, N-2 added to buff apricot")`)
	if left := eval[string](b, `document.querySelector("input[name=plants]").value`); left != "M-01" {
		t.Errorf("the field says %q, want what is left to do", left)
	}
	b.open("/plants/M-03")
	check(t, bk.SetNote(t.Context(), "M-03", "late"))
	b.do(chromedp.SetValue(chromedp.CSS("#note"), "early"), chromedp.Click(chromedp.CSS(`form[action$="/note"] button`)))
	b.until(
		"shown both",
		`document.getElementById("said").innerText.includes("now says \"late\"") && document.getElementById("note").value === "early"`,
	)
	b.do(chromedp.SetValue(chromedp.CSS("#note"), "late, then early"), chromedp.Click(chromedp.CSS(`form[action$="/note"] button`)))
	b.until("kept", `document.getElementById("said").innerText.includes("note on M-03 is kept")`)
	b.heard() // it says that the first were refused
}

// A tag in the picture that names another plant than the field is asked about: the photo is
// kept, and belongs to neither before somebody answers.
func TestTagAgainstField(t *testing.T) {
	t.Parallel()
	bk, c := served(t)
	rows, err := tag.Matrix(tag.Payload{Plant: "M-05", MM: 24}.String())
	check(t, err)
	photoOf := func(seed int64) []byte {
		s := render.Scene{
			Width:    900,
			Height:   675,
			Petal:    cie.Lab{L: 76, A: 14, B: 38},
			Form:     render.SemiDouble,
			Petals:   17,
			Ground:   render.Board,
			Diameter: 0.4,
			At:       [2]float64{0.6, 0.5},
			EV:       -0.8,
			Card:     render.CardSpec{Width: 0.13, Angle: 8},
			Seed:     seed,
			Tag:      &render.TagSpec{Modules: rows, Width: 0.18},
		}
		var pic bytes.Buffer
		check(t, only(s.JPEG(&pic, 92)))
		return pic.Bytes()
	}
	type answer struct {
		ID    int64
		Plant string
		Ask   bool
		HTML  string
	}
	send := func(pic []byte, plant string) answer {
		t.Helper()
		status, body := c.upload("/photos", "M-07_1.jpg", "image/jpeg", pic, true, "plant", plant, "request", secret())
		var a []answer
		if err := json.Unmarshal([]byte(body), &a); err != nil || status != 200 || len(a) != 1 || a[0].ID == 0 {
			t.Fatalf("status %d, %v: %.400s", status, err, body)
		}
		return a[0]
	}
	if a := send(photoOf(1), "m-05"); a.Plant != "M-05" || a.Ask {
		t.Errorf("tag and field agree: %+v", a)
	}
	a := send(photoOf(2), "M-07")
	if a.Plant != "" || !a.Ask || !strings.Contains(a.HTML, "The tag in the picture says M-05, and M-07 was typed.") {
		t.Errorf("tag and field disagree: %+v", a)
	}
	if _, page := c.read("/photos"); !strings.Contains(page, "M-05, as the tag says") || !strings.Contains(page, "M-07, as typed") {
		t.Error("the question is not on the page of photos")
	}
	if _, page := c.read("/today"); !strings.Contains(page, "whose plant is not known") {
		t.Error("nothing of it on the page of today")
	}
	// A script gets the photo's card as it is then, for the place where it was asked.
	form := url.Values{"token": {c.token()}, "back": {"/photos"}, "plant": {"M-07"}, "request": {secret()}}
	req, err := http.NewRequest(http.MethodPost, fmt.Sprintf("%s/photos/%d/plant", c.base, a.ID), strings.NewReader(form.Encode()))
	check(t, err)
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("Accept", "application/json")
	r, err := c.Do(req)
	check(t, err)
	_, body := read(t, r)
	var said struct {
		ID              int64
		Plant, To, Card string
	}
	if err := json.Unmarshal([]byte(body), &said); err != nil || said.ID != a.ID || said.Plant != "M-07" || said.To != "/photos" ||
		!strings.Contains(said.Card, `href="/plants/M-07"`) || strings.Contains(said.Card, "as the tag says") {
		t.Errorf("the answer to who says which plant it is: %v, %.900s", err, body)
	}
	if p, err := bk.PhotoNumber(t.Context(), a.ID); err != nil || p.Plant != "M-07" {
		t.Errorf("after the answer the photo shows %q, %v", p.Plant, err)
	}
	// By touch it is answered where it stands.
	next := send(photoOf(3), "M-07")
	b := browser(t, c.base)
	b.set(screens[0])
	b.open("/photos")
	card := fmt.Sprintf(`[data-photo="%d"]`, next.ID)
	if !eval[bool](b, `[...document.querySelectorAll("#recent img")].every((i) => Math.abs(i.height / i.width - 0.75) < 0.02)`) {
		t.Error("a picture that has not come yet leaves less room than it takes: what lies under it moves away from the finger")
	}
	eval[bool](b, `window.same = true`)
	b.do(chromedp.Click(chromedp.CSS(card + " .ask button")))
	b.until("answered", fmt.Sprintf(`window.same && document.querySelector('%s a[href="/plants/M-05"]') &&
		!document.querySelector('%s .ask') && document.getElementById("said").innerText.includes("shows M-05")`, card, card))
	if _, page := c.read("/photos"); strings.Contains(page, "as the tag says") {
		t.Error("it is asked again")
	}
}

// A photo that is sent twice under one request is kept once, wherever it went meanwhile, and
// does not come back when it was taken out.
func TestPhotoOnce(t *testing.T) {
	t.Parallel()
	bk, c := served(t)
	was := photosIn(t, bk)
	pic, id := drawn(t, 77, petalOf(3), 600, 450), secret()
	send := func() (status string, photo int64) {
		t.Helper()
		code, body := c.upload("/photos", "IMG_77.jpg", "image/jpeg", pic, true, "plant", "M-09", "request", id)
		var a []struct {
			ID     int64
			Status string
		}
		if err := json.Unmarshal([]byte(body), &a); err != nil || code != 200 || len(a) != 1 {
			t.Fatalf("status %d, %v: %.300s", code, err, body)
		}
		return a[0].Status, a[0].ID
	}
	_, first := send()
	c.send(fmt.Sprintf("/photos/%d/plant", first), "plant", "M-08")
	if status, again := send(); again != first || status == "refused" {
		t.Errorf("sent again after it was given to another plant: photo %d, %s", again, status)
	}
	if p, err := bk.PhotoNumber(t.Context(), first); err != nil || p.Plant != "M-08" || photosIn(t, bk) != was+1 {
		t.Errorf("the photo is of %q, %v", p.Plant, err)
	}
	c.send(fmt.Sprintf("/photos/%d/remove", first))
	if status, _ := send(); status != "gone" || photosIn(t, bk) != was {
		t.Errorf("sent again after it was taken out: %s, %d photos more", status, photosIn(t, bk)-was)
	}
}

// Buttons keep their places when what they are about changes: the second half of a double
// touch meets the same one.
func TestButtonsStayByTouch(t *testing.T) {
	t.Parallel()
	bk := bookOf(t)
	b := browser(t, serve(t, bk, nil).base)
	b.set(screens[0])
	for _, p := range []struct{ path, row, press, said string }{
		{"/heads", "#M-03-2", "button[value=bag]", "M-03-2 bagged"},
		{"/heads", "#M-03-2", "button[value=pollinate]", "M-03-2 pollinated"},
		{"/plants", "#p-M-05", `button[value="M-05 kept"]`, "M-05 is kept"},
		{"/plants", "#p-M-05", `button[value="M-05 reserve"]`, "M-05 is in reserve"},
		{"/plants/M-06", ".decide", `button[value="M-06 kept"]`, "M-06 is kept"},
	} {
		b.open(p.path)
		places := `(r => Object.fromEntries([...document.querySelectorAll("` + p.row + ` button")].map(b => [b.value,
			(q => [q.x - r.x, q.y - r.y])(b.getBoundingClientRect())])))(document.querySelector("` + p.row + `").getBoundingClientRect())`
		before := eval[map[string][2]float64](b, places)
		b.do(chromedp.Click(chromedp.CSS(p.row + " " + p.press)))
		b.until("done", `document.getElementById("said").innerText.includes("`+p.said+`")`)
		after := eval[map[string][2]float64](b, places)
		if len(before) < 3 || len(after) != len(before) {
			t.Errorf("%s: the buttons were %v, and are %v", p.said, before, after)
		}
		for name, was := range before {
			// By less than half a button: the words beside may have become longer.
			if now := after[name]; math.Abs(now[0]-was[0]) > 20 || math.Abs(now[1]-was[1]) > 20 {
				t.Errorf("%s: the button %q stood at %v, and then at %v", p.said, name, was, now)
			}
		}
	}
}
