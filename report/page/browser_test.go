package page

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	cdplog "github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/cdproto/target"
	"github.com/chromedp/chromedp"

	"hueward/colorimg/must"
	"hueward/selection/book"
)

// artefacts is where screenshots are kept, a folder that git leaves out.
const artefacts = "../../.artefacts/page"

// A screen is one that the pages are looked at on.
type screen struct {
	name string
	w, h int64
	look string // dark: the device's own setting; sun: what was chosen on the page
}

var screens = []screen{{"phone", 390, 844, ""}, {"laptop", 1440, 900, ""}, {"phone-dark", 390, 844, "dark"},
	{"laptop-dark", 1440, 900, "dark"}, {"phone-sun", 390, 844, "sun"}, {"laptop-sun", 1440, 900, "sun"}}

// touched are the screens that the pages are worked on: the phone, and with
// HUEWARD_FULL=1 the laptop, too.
func touched() []screen {
	if full {
		return screens[:2]
	}
	return screens[:1]
}

// browserTab is a browser with one tab, and what it complained about.
type browserTab struct {
	t   *testing.T
	ctx context.Context
	*ear
	base string
}

type ear struct {
	mu    sync.Mutex
	said  []string
	asked []string // URLs
}

func (e *ear) heard() []string {
	e.mu.Lock()
	defer e.mu.Unlock()
	out := e.said
	e.said = nil
	return out
}

// full says that everything is to be tried, on every screen.
var full = os.Getenv("HUEWARD_FULL") == "1"

// shooting says that screenshots of the pages are wanted on every screen, without the rest of full.
var shooting = os.Getenv("HUEWARD_SHOOT") == "1"

// shedName is a name of this machine in its network, for the browser alone.
const shedName = "shed.local"

// running is the browser that all tests share, each in a context of its own, as if it
// were another person's; stop ends it. nil: there is none, or HUEWARD_NO_BROWSER=1 leaves it out.
var running = sync.OnceValues(func() (ctx context.Context, stop func()) {
	if os.Getenv("HUEWARD_NO_BROWSER") == "1" {
		return nil, nil
	}
	path := must.Browser(false)
	if path == "" {
		return nil, nil
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox,
		chromedp.DisableGPU, chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true),
		// No processes kept ready for pages that no test opens.
		chromedp.Flag("disable-features", "Translate,BlinkGenPropertyTrees,SpareRendererForSitePerProcess,MediaRouter,"+
			"OptimizationHints,HttpsUpgrades"),
		chromedp.Flag("host-resolver-rules", "MAP "+shedName+" 127.0.0.1"))
	ctx, end := chromedp.NewExecAllocator(context.Background(), opts...)
	ctx, close := chromedp.NewContext(ctx)
	if err := chromedp.Do(ctx); err != nil {
		panic(err)
	}
	stopBrowser = func() { close(); end() }
	return ctx, stopBrowser
})

// stopBrowser ends the browser, if one was started.
var stopBrowser = func() {}

// browser opens a tab of a person of its own. Without a browser the test is left out,
// unless HUEWARD_FULL=1.
func browser(t *testing.T, base string) *browserTab {
	t.Helper()
	ctx, _ := running()
	if ctx == nil {
		if full {
			t.Fatal("no Chromium found: install it, or unset HUEWARD_FULL")
		}
		t.Skip("no Chromium found")
	}
	tab, stop := tabOf(ctx)
	check(t, chromedp.Do(tab))
	ctx, stopWaiting := context.WithTimeout(tab, 4*time.Minute)
	t.Cleanup(func() {
		stopWaiting()
		leave(tab, stop, !t.Failed())
	})
	b := &browserTab{t, ctx, &ear{}, base}
	err := chromedp.Listen(ctx, func(ev any) {
		b.mu.Lock()
		defer b.mu.Unlock()
		switch ev := ev.(type) {
		case *runtime.EventConsoleAPICalled:
			b.said = append(b.said, "console: "+string(ev.Type))
		case *runtime.EventExceptionThrown:
			b.said = append(b.said, "exception: "+ev.ExceptionDetails.Text)
		case *cdplog.EventEntryAdded:
			b.said = append(b.said, "log: "+ev.Entry.Text)
		case *cdppage.EventJavascriptDialogOpening:
			b.said = append(b.said, "dialog: "+ev.Message)
		case *network.EventRequestWillBeSent:
			b.asked = append(b.asked, ev.Request.URL)
		}
	})
	check(t, err)
	check(t, only(chromedp.Call(ctx, network.Enable, network.EnableParams{})))
	return b
}

// A tabLeft is one that a test has left, and whose it was.
type tabLeft struct {
	id target.ID
	of cdp.BrowserContextID
}

// tabsLeft wait for other tests: a new tab, of a new person, takes the browser three times as long as to load a page.
// There may be as many as tests run side by side.
var tabsLeft struct {
	sync.Mutex
	tabs []tabLeft
}

// tabOf is a tab of the browser: one that was left, or a new one. What a test sets for it, such as its size or to be
// without a network, goes when it is left.
func tabOf(browser context.Context) (ctx context.Context, stop func()) {
	tabsLeft.Lock()
	defer tabsLeft.Unlock()
	last := len(tabsLeft.tabs) - 1
	if last < 0 {
		return chromedp.NewContext(browser, chromedp.WithNewBrowserContext(), chromedp.WithDetachOnCancel())
	}
	left := tabsLeft.tabs[last]
	tabsLeft.tabs = tabsLeft.tabs[:last]
	ctx, stop = chromedp.NewContext(browser, chromedp.WithTargetID(left.id), chromedp.WithDetachOnCancel())
	chromedp.FromContext(ctx).BrowserContextID = left.of // for further tabs of the same person
	return ctx, stop
}

// leave gives a tab on to another test, as that of a person who has never been here: without cookies, which servers at
// other ports of this machine share; all else is kept by port. A tab that another test could not use is closed.
func leave(tab context.Context, stop func(), sound bool) {
	c := chromedp.FromContext(tab)
	ctx, stopWaiting := context.WithTimeout(tab, 10*time.Second)
	defer stopWaiting()
	if sound && chromedp.Do(ctx, chromedp.Navigate(nowhere())) == nil &&
		only(chromedp.Call(ctx, network.ClearBrowserCookies, cdp.Empty{})) == nil {
		stop()
		tabsLeft.Lock()
		defer tabsLeft.Unlock()
		tabsLeft.tabs = append(tabsLeft.tabs, tabLeft{c.Target.TargetID, c.BrowserContextID})
		return
	}
	cdp.Call(ctx, c.Browser, target.CloseTarget, target.CloseTargetParams{TargetID: c.Target.TargetID})
	stop()
}

// nowhere is where tabs that were left lie: an empty page of this machine, as another site's would be another process.
var nowhere = sync.OnceValue(func() string {
	return httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html")
	})).URL
})

// opened is a browser of that screen, for which the made-up garden's book is served.
func opened(t *testing.T, s screen) (*browserTab, *book.Book, *client) {
	t.Helper()
	bk, c := served(t)
	b := browser(t, c.base)
	b.set(s)
	return b, bk, c
}

// do takes one step after the other; one whose element a script has just put another in
// the place of is taken again.
func (b *browserTab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	for _, step := range steps {
		err := chromedp.Do(b.ctx, step)
		for tries := 0; err != nil && tries < 5 && strings.Contains(err.Error(), "Could not find node"); tries++ {
			time.Sleep(100 * time.Millisecond)
			err = chromedp.Do(b.ctx, step)
		}
		check(b.t, err)
	}
}

func eval[T any](b *browserTab, js string) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](js))
	if err != nil {
		b.t.Fatalf("%s: %v", js, err)
	}
	return v
}

// set takes on the size and colours of a screen.
func (b *browserTab) set(s screen) {
	b.t.Helper()
	scheme := "light"
	if s.look == "dark" {
		scheme = "dark"
	}
	look := network.SetCookieParams{Name: lookCookie, Value: "", URL: b.base + "/"}
	if s.look == "sun" {
		look.Value = "sun"
	}
	check(b.t, only(chromedp.Call(b.ctx, network.SetCookie, look)))
	// Of several tabs only the one in front tells its page of a field that is begun.
	check(b.t, only(chromedp.Call(b.ctx, emulation.SetFocusEmulationEnabled, emulation.SetFocusEmulationEnabledParams{Enabled: true})))
	b.do(chromedp.EmulateViewport(s.w, s.h))
	_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
	check(b.t, err)
}

func (b *browserTab) open(path string) {
	b.t.Helper()
	b.do(chromedp.Navigate(b.base + path))
}

// until waits for what a script finds true.
func (b *browserTab) until(what, js string) {
	b.t.Helper()
	end := time.Now().Add(30 * time.Second)
	for time.Now().Before(end) {
		v, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool]("document.readyState === 'complete' && !!("+js+")"))
		if err == nil && v {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	b.shoot("failed-" + what)
	b.t.Fatalf("%s: never came true: %s", what, js)
}

// shoot keeps a screenshot of the whole page, where they are wanted.
func (b *browserTab) shoot(name string) {
	b.t.Helper()
	if !full && !shooting && !strings.HasPrefix(name, "failed-") {
		return
	}
	pic, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(90))
	check(b.t, err)
	name = strings.Map(func(r rune) rune {
		if strings.ContainsRune(`/?=&#% `, r) {
			return '-'
		}
		return r
	}, name)
	check(b.t, os.MkdirAll(artefacts, 0o777))
	check(b.t, os.WriteFile(filepath.Join(artefacts, name+".jpg"), pic, 0o666))
}

// axe is the accessibility checker axe-core, a file that HUEWARD_AXE names.
func axe(t *testing.T) string {
	t.Helper()
	file := os.Getenv("HUEWARD_AXE")
	if file == "" {
		if os.Getenv("HUEWARD_FULL") == "1" {
			t.Fatal("HUEWARD_AXE does not name axe-core's axe.min.js")
		}
		return ""
	}
	b, err := os.ReadFile(file)
	check(t, err)
	return string(b)
}

// allPages are the pages of the book, each with something in.
var allPages = []string{"/today", "/photos", "/photos/3", "/plants", "/plants?show=kept", "/plants/M-03", "/plants/M-09", "/pairs",
	"/heads", "/packets",
	"/crosses", "/drift", "/plan", "/target", "/target?name=moderate+orange+yellow", "/scan", "/print", "/keep", "/history", "/devices",
	"/nowhere", "/join", "/more", "/guide", "/guide/flags", "/crosses?seed=M-03", "/plants?has=26-1", "/pollen", "/crops", "/crops/calendula"}

// inSun are those that are looked at in full sun, too, without HUEWARD_FULL=1: it changes colours and nothing else.
var inSun = []string{"/plants", "/photos/3", "/target"}

// TestPagesInBrowser looks at every page on a phone and a laptop, by day, by night and in full sun:
// nothing scrolls sideways, nothing is complained about, nothing is asked of another
// machine, and axe-core finds no fault.
func TestPagesInBrowser(t *testing.T) {
	t.Parallel()
	c := serve(t, bookOf(t), &Options{LAN: true, Hosts: []string{"192.0.2.7"}})
	b := browser(t, c.base)
	checker := axe(t)
	if checker != "" {
		// The checker works: a button without a name is found.
		b.do(chromedp.Navigate("data:text/html,<html lang=en><title>x</title><button></button>"))
		if found := b.faults(checker); !strings.HasPrefix(strings.Join(found, "\n"), "button-name") {
			t.Fatalf("axe finds %q where a button has no name", found)
		}
	}
	for _, look := range []string{"", "sun"} { // which the server makes a page for; all else is the style sheet's
		for _, path := range allPages {
			if look == "sun" && !full && !shooting && !slices.Contains(inSun, path) {
				continue
			}
			first := true
			for i, s := range screens {
				if (s.look == "sun") != (look == "sun") || !full && !shooting && i != 0 && i != 3 && i != 4 {
					continue // in part: the phone by day and in the sun, the laptop by night
				}
				if b.set(s); first {
					b.open(path)
				}
				first = false
				if wide := eval[int64](b, "document.documentElement.scrollWidth"); wide > s.w {
					t.Errorf("%s %s: the page is %d px wide on %d", s.name, path, wide, s.w)
				}
				b.shoot(fmt.Sprintf("%s%s", s.name, path))
				for _, w := range b.heard() {
					if path == "/nowhere" && strings.Contains(w, "404") {
						continue
					}
					t.Errorf("%s %s: the browser said: %s", s.name, path, w)
				}
				if checker == "" {
					continue
				}
				for _, f := range b.faults(checker) {
					t.Errorf("%s %s: axe: %s", s.name, path, f)
				}
			}
		}
	}
	for _, u := range b.asked {
		if !strings.HasPrefix(u, c.base+"/") && !strings.HasPrefix(u, "data:") && !strings.HasPrefix(u, "blob:") && u != "about:blank" {
			t.Errorf("the page asked for %s", u)
		}
	}
}

// offline takes the network away, or gives it back.
func (b *browserTab) offline(off bool) {
	b.t.Helper()
	type params struct {
		Offline  bool    `json:"offline"`
		Latency  float64 `json:"latency"`
		Download float64 `json:"downloadThroughput"`
		Upload   float64 `json:"uploadThroughput"`
	}
	command := cdp.Command[params, cdp.Empty]{Method: "Network.emulateNetworkConditions"} // which Debian's Chromium knows
	_, err := chromedp.Call(b.ctx, command, params{Offline: off, Download: -1, Upload: -1})
	check(b.t, err)
}

// scripts lets pages run scripts, or not.
func (b *browserTab) scripts(run bool) {
	b.t.Helper()
	_, err := chromedp.Call(b.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: !run})
	check(b.t, err)
}

// faults are what axe-core finds wrong in the page, however slight.
func (b *browserTab) faults(checker string) []string {
	b.t.Helper()
	eval[bool](b, checker+"; true")
	found, err := chromedp.Run(b.ctx, chromedp.Evaluate[[]string](`axe.run(document, {resultTypes: ["violations"]}).then(r => r.violations
		.map(v => v.id + ": " + v.nodes.slice(0, 3).map(n => n.html.slice(0, 160) + " " + n.failureSummary.slice(0, 200)).join(" | ")))`,
		chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatalf("axe: %v", err)
	}
	return found
}
