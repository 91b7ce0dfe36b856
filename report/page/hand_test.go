package page

import (
	"bytes"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/dom"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"hueward/colorimg/tag"
	"hueward/selection/book"
)

// hand works a page by touch, and counts its taps. A camera that is opened gives it the
// next of its pictures: taking it is the camera's own matter.
type hand struct {
	*browserTab
	taps   int
	camera chan string
}

func newHand(b *browserTab) *hand {
	b.t.Helper()
	h := &hand{browserTab: b, camera: make(chan string, 4)}
	check(b.t, only(chromedp.Call(b.ctx, emulation.SetTouchEmulationEnabled,
		emulation.SetTouchEmulationEnabledParams{Enabled: true})))
	if err := chromedp.Listen(b.ctx, func(ev any) {
		if ev, ok := ev.(*cdppage.EventFileChooserOpened); ok {
			go chromedp.Call(b.ctx, dom.SetFileInputFiles, dom.SetFileInputFilesParams{Files: []string{<-h.camera}, BackendNodeID: ev.BackendNodeID})
		}
	}); err != nil {
		b.t.Fatal(err)
	}
	check(b.t, only(chromedp.Call(b.ctx, cdppage.SetInterceptFileChooserDialog,
		cdppage.SetInterceptFileChooserDialogParams{Enabled: true})))
	return h
}

// tap touches the middle of what a selector finds, as it is scrolled to where a thumb
// reaches; nothing may lie over it, and on a phone it is at least 48 pixels high.
func (h *hand) tap(sel string) {
	h.t.Helper()
	js := fmt.Sprintf(`(() => {
		const e = document.querySelector(%q);
		if (!e) return [0, 0, 0, 0];
		let r = e.getBoundingClientRect();
		if (r.top < 0 || r.bottom > innerHeight - 70) { e.scrollIntoView({block: "center"}); r = e.getBoundingClientRect(); }
		const x = r.x + r.width / 2, y = r.y + r.height / 2, on = document.elementFromPoint(x, y);
		return [x, y, r.height, on && (e.contains(on) || on.contains(e)) ? 1 : 2];
	})()`, sel)
	h.until("there is "+sel, fmt.Sprintf(`document.querySelector(%q)`, sel))
	at := eval[[4]float64](h.browserTab, js)
	least := 48.0
	if eval[int](h.browserTab, "innerWidth") > 1000 { // a laptop's list of rooms: WCAG 2.2, 2.5.8, target size (minimum)
		least = 24
	}
	switch {
	case at[3] != 1:
		h.shoot("failed-tap")
		h.t.Fatalf("%s is covered by something else", sel)
	case at[2] < least-0.5:
		h.t.Errorf("%s is %.0f pixels high, want %.0f", sel, at[2], least)
	}
	h.touch(at[0], at[1])
	h.taps++
}

func (h *hand) touch(x, y float64) {
	h.t.Helper()
	for _, e := range []input.DispatchTouchEventParams{
		{Type: input.DispatchTouchEventTypeTouchStart, TouchPoints: []*input.TouchPoint{{X: x, Y: y}}},
		{Type: input.DispatchTouchEventTypeTouchEnd, TouchPoints: []*input.TouchPoint{}},
	} {
		check(h.t, only(chromedp.Call(h.ctx, input.DispatchTouchEvent, e)))
	}
}

// job begins a job on a page; its end compares the taps with the most that it may take.
func (h *hand) job(path string) {
	h.t.Helper()
	h.open(path)
	h.taps = 0
}

func (h *hand) took(what string, most int) {
	h.t.Helper()
	h.t.Logf("%s: %d taps", what, h.taps)
	if h.taps > most {
		h.t.Errorf("%s took %d taps, want at most %d", what, h.taps, most)
	}
}

// The five jobs by thumb, in at most so many taps: what is due 0; a pollination ticked 1,
// staying where one was; a plant kept 1; a photo and its result 2 and the camera's; a cross
// with its heads 4, by picks and by scans.
func TestFiveJobs(t *testing.T) {
	on(t, func(t *testing.T, b *browserTab, bk *book.Book, c *client) {
		h := newHand(b)
		h.job("/")
		h.until("due", `location.pathname === "/today" && document.querySelector("main").innerText.includes("Pollinate M-03-1 of X26-001")`)
		h.took("what is due", 0)

		for i := range 8 { // more to scroll past
			if _, _, err := bk.AddCross(t.Context(), book.Cross{SeedParent: fmt.Sprintf("M-0%d", i%4+4), PollenParent: "M-08", Season: "2026",
				MadeOn: now.AddDate(0, 0, -2)}, 4); err != nil {
				t.Fatal(err)
			}
		}
		h.job("/today")
		was := eval[float64](b, `document.querySelector('button[value="M-03-1"]').scrollIntoView({block: "center"}); scrollY`)
		h.tap(`button[value="M-03-1"]`)
		h.until("ticked", `document.querySelector('button[value="M-03-1"][aria-disabled]') &&
			document.querySelector("#said").innerText.includes("M-03-1 pollinated")`)
		if at := eval[float64](b, `scrollY`); at != was {
			t.Errorf("the page went from %v to %v when a task was ticked", was, at)
		}
		h.took("a pollination ticked", 1)
		checker := axe(t)
		if checker != "" { // the buttons for all heads of a cross, too
			for _, f := range b.faults(checker) {
				t.Errorf("today: axe: %s", f)
			}
		}
		h.tap(`button[value="M-03-1"]`) // once more: nothing
		if heads, err := bk.Heads(t.Context(), "2026"); err != nil || len(headOf(heads, "M-03-1").Pollinated) != 1 {
			t.Errorf("after two taps M-03-1 is %+v, %v", headOf(heads, "M-03-1"), err)
		}

		h.job("/plants")
		box := eval[[4]float64](b, `(r => [r.x, r.y, r.width, r.height])(
			document.querySelector('button[value="M-05 kept"]').getBoundingClientRect())`)
		h.tap(`button[value="M-05 kept"]`)
		h.until("kept", `document.querySelector("#p-M-05 .s-kept") && document.querySelector("#said").innerText.includes("is kept")`)
		if again := eval[[4]float64](b,
			`(r => [r.x, r.y, r.width, r.height])(document.querySelector('button[value="M-05 kept"]').getBoundingClientRect())`); again != box {
			t.Errorf("the button moved from %v to %v", box, again)
		}
		h.took("a plant kept", 1)
		h.tap(`button[value="M-04 passed"]`)
		h.until("dropped", `document.querySelector("#p-M-04 .s-passed")`)
		if p, err := bk.Plant(t.Context(), "M-04"); err != nil || p.Status != book.Passed {
			t.Errorf("M-04 is %+v, %v", p, err)
		}

		h.job("/today")
		h.camera <- photoFiles(t, 1)[0]
		if s := eval[string](b, `getComputedStyle(document.querySelector(".only-bar")).display`); s == "none" { // a laptop has no bar
			h.tap(`.rooms a[href="/photos"]`)
		} else {
			h.tap(`.thumb a[href="/photos"]`)
		}
		h.tap(`.shutter`)
		h.until("answered", `document.querySelector("#answer:not([hidden]) #answer-card")?.innerText.includes("from the target")`)
		h.took("a photo and its result", 2)
		eval[any](b, `heard("what another device entered"), null`) // news come; the answer stays
		h.until("news wait", `!document.querySelector("#news").hidden`)
		b.shoot("hand-answer-" + filepath.Base(t.Name()))
		if checker != "" {
			for _, f := range b.faults(checker) {
				t.Errorf("the answer: axe: %s", f)
			}
		}
		text := eval[string](b, `document.querySelector("#answer").innerText`)
		for _, want := range []string{"L*", "Next plant", "Again", "Wrong plant", "Correct"} {
			if !strings.Contains(text, want) {
				t.Errorf("the answer lacks %q: %q", want, text)
			}
		}

		h.job("/plants/M-03")
		h.tap(`a[href^="/crosses?seed"]`)
		h.tap(`.chips a[href$="pollen=M-06#cross"]`)
		h.until("both parents", `document.querySelector("#cross input[name=pollen][value='M-06']")`)
		h.tap(`#cross button.main`)
		h.until("crossed", `document.querySelector("#said")?.innerText.includes("M-03 × M-06")`)
		h.took("a cross by picks", 4)

		h.job("/scan")
		h.camera <- tagPicture(t, "M-03")
		h.tap(`.shutter`)
		h.until("the seed parent", `location.pathname === "/plants/M-03"`)
		h.tap(`a[href^="/crosses?seed"]`)
		h.camera <- tagPicture(t, "M-07")
		h.tap(`#cross .shutter`)
		h.until("the pollen parent", `document.querySelector("#cross input[name=pollen][value='M-07']")`)
		h.tap(`#cross button.main`)
		h.until("crossed by scans", `document.querySelector("#said")?.innerText.includes("M-03 × M-07")`)
		h.took("a cross by scans", 4)
		crosses, err := bk.Crosses(t.Context(), "2026")
		if err != nil || len(crosses) != 11 || crosses[9].Heads != 3 || crosses[10].Heads != 3 {
			t.Errorf("the crosses are %+v, %v", crosses, err)
		}
	})
}

func headOf(heads []book.Head, name string) book.Head {
	for _, h := range heads {
		if h.Name == name {
			return h
		}
	}
	return book.Head{}
}

// tagPicture is a picture of a plant's tag.
func tagPicture(t *testing.T, plant string) string {
	t.Helper()
	return codePicture(t, plant+".png", tag.Payload{Plant: plant, MM: 24})
}

func codePicture(t *testing.T, name string, p tag.Payload) string {
	t.Helper()
	rows, err := tag.Matrix(p.String())
	check(t, err)
	side := 8 * (len(rows) + 2*tag.Quiet)
	im := image.NewGray(image.Rect(0, 0, side, side))
	draw.Draw(im, im.Rect, image.White, image.Point{}, draw.Src)
	for y, row := range rows {
		for x, dark := range row {
			if at := image.Pt(x+tag.Quiet, y+tag.Quiet).Mul(8); dark {
				draw.Draw(im, image.Rectangle{at, at.Add(image.Pt(8, 8))}, image.Black, image.Point{}, draw.Src)
			}
		}
	}
	var out bytes.Buffer
	check(t, png.Encode(&out, im))
	name = filepath.Join(t.TempDir(), name)
	check(t, os.WriteFile(name, out.Bytes(), 0o666))
	return name
}

// A stroke shows its new outline before it is kept, and "Measure again" keeps it; the book is
// not asked to keep what is only looked at.
func TestCorrectByThumb(t *testing.T) {
	on(t, func(t *testing.T, b *browserTab, bk *book.Book, c *client) {
		h := newHand(b)
		h.open("/photos/3")
		before := eval[string](b, `document.getElementById("outline").getAttribute("d")`)
		r, err := bk.PhotoNumber(t.Context(), 3)
		check(t, err)
		h.tap("#correct-now")
		h.tap(`[data-tool="out"]`)
		h.until("opened", `document.getElementById("stage").dataset.looked === "1"`)
		box := eval[[4]float64](b, `(r => [r.x, r.y, r.width, r.height])(document.getElementById("over").getBoundingClientRect())`)
		x, y := box[0]+box[2]*0.6, box[1]+box[3]*0.5
		for i, typ := range []input.DispatchTouchEventType{input.DispatchTouchEventTypeTouchStart, input.DispatchTouchEventTypeTouchMove,
			input.DispatchTouchEventTypeTouchMove} {
			check(t, only(chromedp.Call(b.ctx, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: typ,
				TouchPoints: []*input.TouchPoint{{X: x, Y: y + float64(20*i)}}})))
		}
		if !eval[bool](b, `!document.getElementById("lens").hidden &&
			document.getElementById("lens").style.backgroundImage.includes("large.jpg")`) {
			t.Error("no magnifier beside the finger")
		}
		b.shoot("hand-lens-" + filepath.Base(t.Name()))
		start := time.Now()
		check(t, only(chromedp.Call(b.ctx, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: input.DispatchTouchEventTypeTouchEnd,
			TouchPoints: []*input.TouchPoint{}})))
		h.until("outlined anew", `document.getElementById("outline").getAttribute("d") !== `+fmt.Sprintf("%q", before))
		t.Logf("the new outline after %v", time.Since(start))
		if now, err := bk.PhotoNumber(t.Context(), 3); err != nil || now.Readings != r.Readings {
			t.Errorf("a look made a reading: %d, before %d; %v", now.Readings, r.Readings, err)
		}
		if !eval[bool](b, `document.getElementById("lens").hidden && armed && unsentOf()`) {
			t.Error("a stroke that was not sent is not asked about")
		}
		h.until("told", `document.getElementById("tool-said").textContent.includes("keeps it")`)
		h.tap("#measure")
		h.until("kept", `document.getElementById("tool-said").textContent.includes("and kept")`)
		readings := func(want int) {
			t.Helper()
			for end := time.Now().Add(30 * time.Second); ; time.Sleep(50 * time.Millisecond) {
				now, err := bk.PhotoNumber(t.Context(), 3)
				check(t, err)
				if now.Readings == want {
					return
				}
				if now.Readings > want || time.Now().After(end) {
					t.Fatalf("%d readings, want %d", now.Readings, want)
				}
			}
		}
		readings(r.Readings + 1)

		// Without a connection a correction waits, outlives the page, and is measured once.
		b.offline(true)
		stroke := []*input.TouchPoint{{X: x, Y: y}}
		for _, e := range []input.DispatchTouchEventParams{{Type: input.DispatchTouchEventTypeTouchStart, TouchPoints: stroke},
			{Type: input.DispatchTouchEventTypeTouchEnd, TouchPoints: []*input.TouchPoint{}}} {
			check(t, only(chromedp.Call(b.ctx, input.DispatchTouchEvent, e)))
		}
		h.tap("#measure")
		h.until("waits", `document.getElementById("tool-said").textContent.includes("this waits here") && !unsentOf()`)
		b.do(chromedp.Navigate("about:blank"))
		b.offline(false)
		h.open("/photos/3")
		readings(r.Readings + 2)
		h.until("nothing waits", `document.getElementById("sending").hidden`)
		for range 2 { // nor does a repeat measure it again
			c.send("/photos/3/correct", "bloom", "360,225", "request", "aaaaaaaaaaaaaaaaaaaa")
		}
		readings(r.Readings + 3)
		b.heard() // it says that there was no connection
	})
}
