package report

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	cdplog "github.com/chromedp/cdproto/log"
	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"hueward/colorimg/must"
)

// browser starts a headless browser. Without one the test is left out, unless
// HUEWARD_FULL=1.
func browser(t *testing.T) context.Context {
	t.Helper()
	path := must.Browser(os.Getenv("HUEWARD_FULL") == "1")
	if path == "" {
		if os.Getenv("HUEWARD_FULL") == "1" {
			t.Fatal("no Chromium found: install it, or unset HUEWARD_FULL")
		}
		t.Skip("no Chromium found")
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox,
		chromedp.DisableGPU, chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true))
	ctx, stop := chromedp.NewExecAllocator(context.Background(), opts...)
	t.Cleanup(stop)
	ctx, stop = chromedp.NewContext(ctx)
	t.Cleanup(stop)
	ctx, stop = context.WithTimeout(ctx, 2*time.Minute)
	t.Cleanup(stop)
	return ctx
}

// In a real browser: nothing is complained about, nothing runs, no width of
// page scrolls sideways, and both papers get every row whole.
func TestInBrowser(t *testing.T) {
	ctx := browser(t)
	var mu sync.Mutex
	var said []string
	err := chromedp.Listen(ctx, func(ev any) {
		mu.Lock()
		defer mu.Unlock()
		switch ev := ev.(type) {
		case *runtime.EventConsoleAPICalled:
			said = append(said, "console: "+string(ev.Type))
		case *runtime.EventExceptionThrown:
			said = append(said, "exception: "+ev.ExceptionDetails.Text)
		case *cdplog.EventEntryAdded:
			said = append(said, "log: "+ev.Entry.Text)
		case *cdppage.EventJavascriptDialogOpening:
			said = append(said, "dialog: "+ev.Message)
		}
	})
	check(t, err)
	heard := func() []string {
		mu.Lock()
		defer mu.Unlock()
		out := said
		said = nil
		return out
	}
	// The ear works: a page that says something is heard.
	check(t, chromedp.Do(ctx, chromedp.Navigate("data:text/html,<script>console.log('x')</script>")))
	if got := heard(); len(got) != 1 {
		t.Fatalf("a page that logs one line: heard %q", got)
	}
	long := garden(9, 2)
	long.Line = "Ringelblumenzüchtungsversuchsgarten " + strings.Repeat("x", 60)
	long.Plants[0].ID = strings.Repeat("plant", 12)
	long.Plants[1].Hex, long.Plants[2].Name = "", strings.Repeat("colour", 20)
	long.Refused[0].File = strings.Repeat("IMG", 40) + ".jpg"
	for name, s := range map[string]*Season{"garden": garden(24, 3), "hostile": hostile(), "long": long, "empty": {}} {
		t.Run(name, func(t *testing.T) {
			file := filepath.Join(t.TempDir(), "season.html")
			check(t, os.WriteFile(file, []byte(htmlOf(t, s)), 0o666))
			check(t, chromedp.Do(ctx, chromedp.EmulateViewport(320, 800), chromedp.Navigate("file://"+file)))
			for _, w := range []int64{320, 360, 700, 900, 1200, 1600} {
				check(t, chromedp.Do(ctx, chromedp.EmulateViewport(w, 800)))
				wide, err := chromedp.Run(ctx, chromedp.Evaluate[int64]("document.documentElement.scrollWidth"))
				check(t, err)
				if wide > w {
					t.Errorf("at %d px the page is %d px wide", w, wide)
				}
			}
			if got := heard(); len(got) > 0 {
				t.Errorf("the browser said: %q", got)
			}
			if name != "garden" {
				return
			}
			for paper, size := range map[string]chromedp.PaperSize{"A4": chromedp.PaperA4, "Letter": chromedp.PaperLetter} {
				pdf, err := chromedp.Run(ctx, chromedp.PrintToPDF(chromedp.PDFPaper(size), chromedp.PDFPreferCSSPageSize()))
				check(t, err)
				pages := len(regexp.MustCompile(`/Type\s*/Page\b`).FindAll(pdf, -1))
				if pages < 3 || pages > 5 {
					t.Errorf("%s: %d pages for 24 plants and 70 photos, want 3 to 5", paper, pages)
				}
				box := fmt.Sprintf("%.0f", 72*size.Width)
				if m := regexp.MustCompile(`/MediaBox\s*\[0 0 ([\d.]+)`).FindSubmatch(pdf); m == nil || !strings.HasPrefix(string(m[1]), box[:2]) {
					t.Errorf("%s: media box %q, want a width of %s points", paper, m, box)
				}
			}
		})
	}
}
