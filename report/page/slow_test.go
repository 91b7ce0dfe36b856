//go:build manual

package page

import (
	"fmt"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// slow makes the tab that of a cheap phone with bad reception: a processor four times
// slower, 400 kbit/s both ways and 400 ms for each request. The numbers are those in common use for
// "slow 3G" (WebPageTest's 3G Slow), from memory.
func (b *browserTab) slow() {
	b.t.Helper()
	check(b.t, only(chromedp.Call(b.ctx, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: 4})))
	type params struct {
		Offline  bool    `json:"offline"`
		Latency  float64 `json:"latency"`
		Download float64 `json:"downloadThroughput"`
		Upload   float64 `json:"uploadThroughput"`
	}
	command := cdp.Command[params, cdp.Empty]{Method: "Network.emulateNetworkConditions"}
	check(b.t, only(chromedp.Call(b.ctx, command, params{Latency: 400, Download: 50_000, Upload: 50_000})))
}

// TestSlowPhone tells, with go test -tags manual, how long a slow phone waits for the first
// content of each page, with nothing kept from earlier and with, and from a tap to what
// answers it, by the browser's own clock. It is a study: it says figures and fails for none.
func TestSlowPhone(t *testing.T) {
	c := serve(t, bookOf(t), nil)
	c.read("/pairs")
	b := browser(t, c.base)
	b.set(screens[0])
	b.open("/more")
	b.slow()
	first := func(path string) float64 {
		eval[bool](b, fmt.Sprintf(`location.href = %q; true`, path))
		for end := time.Now().Add(30 * time.Second); time.Now().Before(end); time.Sleep(100 * time.Millisecond) {
			ms, err := chromedp.Run(b.ctx, chromedp.Evaluate[float64](fmt.Sprintf(`location.pathname + location.search === %q
				? (performance.getEntriesByName("first-contentful-paint")[0] || {startTime: 0}).startTime : 0`, path)))
			if err == nil && ms > 0 {
				return ms
			}
		}
		t.Errorf("%s: nothing was painted", path)
		return 0
	}
	for _, path := range []string{"/today", "/photos", "/plants", "/pairs", "/plants/M-03", "/photos/3", "/scan"} {
		check(t, only(chromedp.Call(b.ctx, network.ClearBrowserCache, cdp.Empty{})))
		for _, name := range []string{"page.css", "report.css"} {
			params := network.DeleteCookiesParams{Name: keptCookie(name), URL: c.base}
			check(t, only(chromedp.Call(b.ctx, network.DeleteCookies, params)))
		}
		cold := first(path)
		eval[bool](b, `location.href = "/more"; true`)
		time.Sleep(2 * time.Second)
		warm := first(path)
		t.Logf("%-28s first content %5.0f ms, %5.0f ms when styles and scripts are kept", path, cold, warm)
	}
	b = browser(t, c.base) // each has four minutes
	b.set(screens[0])
	b.open("/more")
	b.slow()
	// From the tap to the frame that shows its answer.
	tap := func(name, path, sel, shown string) {
		b.open(path)
		b.until("there", fmt.Sprintf(`document.querySelector(%q)`, sel))
		time.Sleep(500 * time.Millisecond) // scripts are at rest
		ms, err := chromedp.Run(b.ctx, chromedp.Evaluate[float64](fmt.Sprintf(`new Promise(ok => {
			const e = document.querySelector(%q), start = performance.now();
			const look = () => requestAnimationFrame(() => { if (%s) setTimeout(() => ok(performance.now() - start)); else look(); });
			e.click();
			look();
		})`, sel, shown), chromedp.EvalAwaitPromise))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		t.Logf("%-28s %5.0f ms from tap to answer", name, ms)
	}
	tap(
		"a pollination ticked",
		"/today",
		`button[value="M-03-1"]`,
		`document.querySelector('button[value="M-03-1"]').hasAttribute("aria-disabled")`,
	)
	tap("one of 9 plants kept", "/plants", `button[value="M-05 kept"]`,
		`document.querySelector('button[value="M-05 kept"]').ariaPressed === "true"`)
	tap(
		"a plant dropped on its page",
		"/plants/M-03",
		`button[value="M-03 passed"]`,
		`document.querySelector('button[value="M-03 passed"]').ariaPressed === "true"`,
	)
	tap("another page asked for", "/more", `main a[href="/pairs"]`, `document.getElementById("working")`)
	c = serve(t, bigBook(t, 2000), nil)
	c.read("/plants?line=field")
	b = browser(t, c.base)
	b.set(screens[0])
	b.open("/more")
	b.slow()
	t.Logf("%-28s first content %5.0f ms", "2 000 plants", first("/plants?line=field"))
	tap("one of 2 000 plants kept", "/plants?line=field", `button[value="F-0009 kept"]`,
		`document.querySelector('button[value="F-0009 kept"]').ariaPressed === "true"`)
	b.until("there", `document.querySelectorAll("#rows li").length === 2000`)
	for _, typed := range []string{"f", "f-1", "f-19", ""} {
		ms, err := chromedp.Run(b.ctx, chromedp.Evaluate[float64](fmt.Sprintf(`new Promise(ok => {
			const f = document.getElementById("sift"), start = performance.now();
			f.value = %q;
			f.dispatchEvent(new Event("input", {bubbles: true}));
			requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(() => ok(performance.now() - start))));
		})`, typed), chromedp.EvalAwaitPromise))
		check(t, err)
		t.Logf("%-28q %5.0f ms until 2 000 plants are sifted", typed, ms)
	}
	worst, err := chromedp.Run(b.ctx, chromedp.Evaluate[[]float64](`new Promise(ok => {
		const gaps = []; let last = performance.now(), n = 0;
		const step = () => requestAnimationFrame(t => { gaps.push(t - last); last = t; scrollBy(0, 600); 
			if (++n < 90) step(); else { gaps.sort((a, b) => a - b);
			ok([gaps[45], gaps[85], gaps[89]]); } });
		step();
	})`, chromedp.EvalAwaitPromise))
	check(t, err)
	t.Logf("scrolling 2 000 plants: a frame in %.0f ms, 95 of 100 in %.0f ms, the longest %.0f ms", worst[0], worst[1], worst[2])
}
