package page

import (
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"hueward/selection/book"
)

// At midnight every page is another version, so that those who left it open see the new day.
func TestNewDay(t *testing.T) {
	t.Parallel()
	late := now
	s := New(bookOf(t), &Options{Now: func() time.Time { return late }})
	version := func() string {
		v, err := s.version(t.Context())
		check(t, err)
		return v
	}
	today := version()
	if late = now.Add(10 * time.Hour); version() != today {
		t.Error("the evening is another version")
	}
	if late = now.AddDate(0, 0, 1); version() == today {
		t.Error("the next day is the same version")
	}
}

// What somebody has begun on a page stays when another device's news come in the midst of it,
// and when they are asked for: what is typed, chosen and filtered, and who changed it
// meanwhile is still asked about. Nothing moves under a finger.
func TestBegunWhileNewsCome(t *testing.T) {
	t.Parallel()
	b, bk, c := opened(t, screens[0])
	other := newDevice(t, c.s, c.base)
	decides := func(what string) {
		t.Helper()
		if status, _ := other.send("/status", "set", what); status != 200 {
			t.Fatalf("the other device's decision: status %d", status)
		}
	}
	listen := func(path string) {
		t.Helper()
		b.open(path)
		b.until("listening", `document.getElementById("live").textContent.includes("by itself")`)
	}

	// A note that is begun while they are on their way.
	listen("/plants/M-03")
	eval[bool](b, `window.asked = 0; window.gate = new Promise(ok => { window.letIn = ok });
		window.fetch = (f => async (...a) => { asked++; await gate; return f(...a) })(fetch); true`)
	decides("M-02 kept")
	b.until("on their way", `asked > 0`)
	b.do(chromedp.SendKeys(chromedp.CSS("#note"), "sturdy"))
	eval[bool](b, `letIn(); true`)
	b.until("told", `!document.getElementById("news").hidden`)
	check(t, bk.SetNote(t.Context(), "M-03", "late"))
	b.do(chromedp.Click(chromedp.CSS("#fetch-news")))
	b.until("fetched", `document.getElementById("news").hidden`)
	if got := eval[string](b, `document.getElementById("note").value`); got != "sturdy" {
		t.Errorf("the note that was being written is %q", got)
	}
	b.do(chromedp.Click(chromedp.CSS(`form[action$="/note"] button`)))
	b.until("asked about the other's", `document.getElementById("said").innerText.includes("now says \"late\"")`)

	// What is filled in for one head stays when another's is sent.
	listen("/heads")
	b.do(chromedp.SendKeys(chromedp.CSS(`#M-03-1 input[name=seeds]`), "12"), chromedp.SetValue(chromedp.CSS("#add-head select"), "dry"),
		chromedp.Click(chromedp.CSS("#M-03-2 button[value=bag]")))
	b.until("bagged", `document.querySelector("#M-03-2 button[value=bag]").disabled`)
	if got := eval[string](b, `document.querySelector("#M-03-1 input[name=seeds]").value +
		document.querySelector("#add-head select").value`); got != "12dry" {
		t.Errorf("what was filled in for another head is %q, want 12 seeds and dry", got)
	}

	// The filter of the list, with the cursor in it.
	listen("/plants")
	b.do(chromedp.SendKeys(chromedp.CSS("#sift"), "M-05"))
	decides("M-05 kept")
	b.until("shown", `document.querySelector("#p-M-05 .s-kept")`)
	if got := eval[string](b, `[document.activeElement.id, document.getElementById("sift").value, document.activeElement.selectionStart,
		document.querySelectorAll("#rows li:not([hidden])").length].join(" ")`); got != "sift M-05 4 1" {
		t.Errorf("the focus, the filter, its cursor and the rows shown are %q", got)
	}

	// Under a finger nothing changes before it is lifted.
	at := eval[[2]float64](b, `(r => [r.x + r.width / 2, r.y + r.height / 2])(
		document.querySelector('button[value="M-05 reserve"]').getBoundingClientRect())`)
	b.do(chromedp.MouseEvent(input.DispatchMouseEventTypeMousePressed, at[0], at[1], chromedp.ButtonLeft, chromedp.ClickCount(1)))
	decides("M-05 passed")
	b.until("heard", `later !== ""`)
	if !eval[bool](b, `!!document.querySelector("#p-M-05 .s-kept")`) {
		t.Error("the page changed under a finger")
	}
	b.do(chromedp.MouseEvent(input.DispatchMouseEventTypeMouseReleased, at[0], at[1], chromedp.ButtonLeft, chromedp.ClickCount(1)))
	b.until("the finger's", `document.querySelector("#p-M-05 .s-reserve")`)
	if p, err := bk.Plant(t.Context(), "M-05"); err != nil || p.Status != book.Reserve {
		t.Errorf("M-05 is %+v, %v", p, err)
	}
}
