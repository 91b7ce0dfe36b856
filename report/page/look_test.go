package page

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"hueward/report/page/find"
	"hueward/selection/book"
)

// With names of 40 letters no page scrolls sideways, at any width of a screen from 320 px.
// Before, tables did.
func TestLongNames(t *testing.T) {
	t.Parallel()
	bk := bookOf(t)
	ctx := t.Context()
	long := "Mmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmm-1" // 40 letters, wide ones
	other := strings.ReplaceAll(long, "m", "W")
	for i, id := range []string{long, other} {
		check(t, bk.AddPlant(ctx, book.Plant{ID: id, Line: "buff apricot", Season: "2026", SeedParent: "M-91",
			PollenParent: "M-92"}))
		check(t, bk.AddInstrumentReading(ctx, book.InstrumentReading{Plant: id, Season: "2026", Source: "spectrophotometer", Lab: petalOf(5 +
			i), SE: 0.3,
			At: now}))
	}
	if _, _, err := bk.AddCross(ctx, book.Cross{SeedParent: long, PollenParent: other, Season: "2026", MadeOn: now.AddDate(0, 0, -4)},
		3); err != nil {
		t.Fatal(err)
	}
	c := serve(t, bk, &Options{LAN: true, Hosts: []string{"192.0.2.7"}})
	b := browser(t, c.base)
	widths := []int64{320, 640, 1024, 1600}
	if full {
		widths = append(widths, 393, 899, 1280)
	}
	for i, path := range append([]string{"/plants/" + long, "/crosses?seed=" + long, "/crosses?seed=" + long + "&pollen=" + other,
		"/photos?plant=" + long,
		"/plants?has=mmm"}, allPages...) {
		if !full && i > 4 && path != "/plants" && path != "/pairs" && path != "/heads" && path != "/target" && path != "/today" &&
			path != "/photos/3" {
			continue
		}
		b.open(path)
		for _, w := range widths {
			b.do(chromedp.EmulateViewport(w, 800))
			if wide := eval[int64](b, "document.documentElement.scrollWidth"); wide > w {
				t.Errorf("%s: %d px wide on %d: %s", path, wide, w, eval[string](b, fmt.Sprintf(
					`[...document.querySelectorAll("main *")].filter(e => e.getBoundingClientRect().right > %d)
						.slice(0, 3).map(e => e.outerHTML.slice(0, 90)).join(" | ")`, w)))
			}
		}
	}
}

// Beside a line with a long name its only season stays in one piece, and a page that wants a target leads to it.
// Before, the season stood on end, a digit a line.
func TestLongLine(t *testing.T) {
	t.Parallel()
	bk, err := book.Create(t.Context(), filepath.Join(t.TempDir(), "book"), &book.Options{Now: clock})
	check(t, err)
	defer bk.Close()
	for _, line := range []string{strings.Repeat("Mm", 40), "other"} {
		check(t, bk.AddPlant(t.Context(), book.Plant{ID: line[:2], Line: line, Season: "2026"}))
	}
	b := browser(t, serve(t, bk, nil).base)
	b.do(chromedp.EmulateViewport(320, 800))
	b.open("/pairs")
	if high := eval[float64](b, `document.querySelector(".where .one").getBoundingClientRect().height`); high > 40 {
		t.Errorf("the season beside a long line is %.0f px high", high)
	}
	if link := eval[string](b, `document.querySelector(".note a").getAttribute("href")`); link != "/target" {
		t.Errorf("where a line has no target, %q is linked", link)
	}
	if b.open("/today"); !eval[bool](b, `!!document.querySelector(".start a[href='/target']")`) {
		t.Error("today does not say that a new line wants a target first")
	}
	check(t, bk.SetTarget(t.Context(), "other", book.Target{Aim: book.Move, Lab: petalOf(3), Within: 4, Source: "--lab"}))
	b.open("/plants?line=other")
	if link := eval[string](b, `document.querySelector(".note a").getAttribute("href")`); link != "/photos" {
		t.Errorf("where no plant has a colour, %q is linked", link)
	}
	// A plant's name is as high as a finger needs: WCAG 2.2, 2.5.5, 44 px.
	if !eval[bool](b, `(() => { const a = document.querySelector(".rows a"), r = a.getBoundingClientRect(), m = (r.top + r.bottom) / 2;
		return [m - 21.5, m + 21.5].every(y => document.elementFromPoint(r.left + 5, y) === a) })()`) {
		t.Error("a touch beside a plant's name does not open it")
	}
	if b.open("/today"); eval[string](b, `[...document.querySelectorAll(".start a")].map(a => a.getAttribute("href")).join()`) != "/photos" {
		t.Error("today does not say that a line with a target wants photos next")
	}
}

// The size of text that a device's settings ask for counts everywhere: all of it grows alike.
func TestTextSize(t *testing.T) {
	t.Parallel()
	b, _, _ := opened(t, screens[0])
	sizes := func() []float64 {
		return eval[[]float64](b, `["body", "h1", ".rows a", ".rows small", ".rows button", ".rooms a", ".where select"]
			.map(s => parseFloat(getComputedStyle(document.querySelector(s)).fontSize))`)
	}
	b.open("/plants")
	usual := sizes()
	standard := int64(32) // 16 is usual: twice as large, WCAG 2.2, 1.4.4, resize text
	check(t, only(chromedp.Call(b.ctx, cdppage.SetFontSizes,
		cdppage.SetFontSizesParams{FontSizes: &cdppage.FontSizes{Standard: standard}})))
	b.open("/plants")
	for i, s := range sizes() {
		if k := s / usual[i]; k < 1.3 {
			t.Errorf("text %d grows by %.2f where the device asks for 2", i, k)
		}
	}
	for _, path := range []string{"/plants", "/today", "/plants/M-03", "/photos/3", "/pairs", "/drift"} {
		b.open(path)
		for _, w := range []int64{320, 390} {
			b.do(chromedp.EmulateViewport(w, 800))
			if wide := eval[int64](b, "document.documentElement.scrollWidth"); wide > w {
				t.Errorf("with large text %s is %d px wide on %d", path, wide, w)
			}
			if high := eval[float64](b, `Math.max(0, ...[...document.querySelectorAll(".foot")]
				.filter(e => getComputedStyle(e).position === "sticky").map(e => e.offsetHeight / innerHeight))`); high > 0.3 {
				t.Errorf("with large text the buttons of %s cover %.0f %% of the screen", path, 100*high)
			}
			if cut := eval[[]string](b, `[...document.querySelectorAll(".rows button, .rooms .thumb a")]
				.filter(e => e.scrollWidth > e.clientWidth).map(e => e.textContent)`); len(cut) > 0 {
				t.Errorf("with large text %q do not hold their words on %d px", cut, w)
			}
		}
	}
}

// The filter finds while somebody types what the server finds: plants, crosses and packets,
// by 26-1 for X26-001, and with and without marks.
func TestFilterWhileTyping(t *testing.T) {
	t.Parallel()
	bk := bookOf(t)
	for _, id := range []string{"Mueller-3", "Weiß-4", "Blue-1", "M-70", "X-107"} {
		check(t, bk.AddPlant(t.Context(), book.Plant{ID: id, Line: "buff apricot", Season: "2026"}))
	}
	c := serve(t, bk, nil)
	b := browser(t, c.base)
	b.set(screens[0])
	b.open("/plants")
	names := eval[[]string](b, `[...document.querySelectorAll("#rows a, #others a")].map(a => a.textContent)`)
	if len(names) < 14 {
		t.Fatalf("the page has %q", names)
	}
	for _, typed := range []string{"26-1", "m-7", "M-07", "müller", "muller", "MUELLER", "weiss", "weiß", "e-1",
		"x26", "p26", "", "nothing", "7"} {
		got, err := chromedp.Run(b.ctx, chromedp.Evaluate[[]string](fmt.Sprintf(`(() => { const f = document.getElementById("sift"); f.value = %q;
			f.dispatchEvent(new Event("input", {bubbles: true}));
			return new Promise(ok => requestAnimationFrame(() => requestAnimationFrame(() => ok([...document.querySelectorAll("#rows a, #others a")]
				.filter(a => !a.closest("[hidden]")).map(a => a.textContent))))); })()`, typed), chromedp.EvalAwaitPromise))
		check(t, err)
		var want []string
		for _, n := range names {
			packetOrCross := strings.HasPrefix(n, "X26") || strings.HasPrefix(n, "P26")
			if find.Has(n, typed) && (typed != "" || !packetOrCross) {
				want = append(want, n)
			}
		}
		if strings.Join(got, " ") != strings.Join(want, " ") {
			t.Errorf("%q shows %q, want %q", typed, got, want)
		}
	}
	// Without a script the server does it.
	if _, page := c.read("/plants?has=26-1"); !strings.Contains(page, "X26-001") || strings.Contains(page, `id="p-M-01"`) {
		t.Error("the server does not find X26-001 by 26-1, or finds M-01")
	}
}

// A name that is typed is offered from those of the book, also where they could not be had when the first field was begun.
func TestNamesOffered(t *testing.T) {
	t.Parallel()
	b, _, _ := opened(t, screens[0])
	b.open("/crosses")
	eval[bool](b, `const had = fetch; let failed = false; fetch = () => { fetch = had; failed = true; return Promise.reject(); }; true`)
	b.do(chromedp.Focus(chromedp.CSS("#cross input[name=pollen]")))
	b.until("asked for", `failed`)
	eval[bool](b, `document.activeElement.blur(); true`)
	b.do(chromedp.Focus(chromedp.CSS("#cross input[name=pollen]")))
	b.until("offered", `[...document.querySelectorAll("#known option")].some(o => o.value === "M-05")`)
}

// A page that is not there at once says so, before it is.
func TestAtWork(t *testing.T) {
	t.Parallel()
	b, _, _ := opened(t, screens[0])
	b.open("/more")
	eval[bool](b, `addEventListener("beforeunload", () => {}); works(); true`)
	b.until("at work", `document.getElementById("working")?.textContent.includes("Working")`)
	eval[bool](b, `rests(); true`)
	if eval[bool](b, `!!document.getElementById("working")`) {
		t.Error("the bar stays")
	}
	start := time.Now()
	b.do(chromedp.Click(chromedp.CSS(`main a[href="/pairs"]`)))
	b.until("there", `location.pathname === "/pairs" && document.querySelector("input[name=pair]")`)
	t.Logf("pairs after %v", time.Since(start))
}
