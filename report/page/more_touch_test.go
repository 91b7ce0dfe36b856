package page

import (
	"archive/zip"
	"bytes"
	"encoding/base64"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"hueward/colorimg/cie"
	"hueward/colorimg/tag"
	"hueward/selection/book"
	"hueward/selection/book/safety"
)

// Part 1: a phone comes in by the code, once, and is sent away again at the table.
func TestJoinByTouch(t *testing.T) {
	t.Parallel()
	for _, s := range touched() {
		t.Run(s.name, func(t *testing.T) {
			t.Parallel()
			c := serve(t, bookOf(t), &Options{LAN: true, Hosts: []string{shedName}})
			// The phone calls the server by its name in the network.
			b := browser(t, strings.Replace(c.base, "127.0.0.1", shedName, 1))
			b.set(s)
			b.open("/today")
			b.until("asked for the code", `location.pathname === "/join"`)
			b.do(chromedp.SendKeys(chromedp.CSS("input[name=code]"), "AAAA-AAAA"), chromedp.Click(chromedp.CSS("button.main")))
			b.until("refused", `document.querySelector("[role=alert]")?.innerText.includes("not the code")`)
			b.heard() // the browser tells of the refusal
			b.shoot("join-refused-" + s.name)
			b.open("/join?code=" + c.s.door.Code())
			b.do(chromedp.SendKeys(chromedp.CSS("input[name=name]"), "the phone in the garden"), chromedp.Click(chromedp.CSS("button.main")))
			b.until("in", `location.pathname === "/today"`)
			b.shoot("joined-" + s.name)
			b.open("/plants")
			b.do(chromedp.Click(chromedp.CSS(`button[value="M-05 kept"]`)))
			b.until("kept", `document.querySelector("#said")?.innerText.includes("M-05 is kept")`)
			if h, err := c.s.b.History(t.Context(), 1); err != nil || h[0].Who != "the phone in the garden" {
				t.Errorf("the history says %+v, %v", h, err)
			}
			for _, w := range b.heard() {
				t.Errorf("the browser said: %s", w)
			}
			// Sent away at the table.
			_, page := c.read("/devices")
			if !strings.Contains(page, "the phone in the garden") {
				t.Fatal("the device is not listed")
			}
			c.send("/devices/forget", "id", c.s.door.List()[0].ID)
			b.open("/plants")
			b.until("out", `location.pathname === "/join"`)
		})
	}
}

// Part 4: a picture of a tag opens the plant, one of a head's label the head.
func TestScanByTouch(t *testing.T) {
	on(t, func(t *testing.T, b *browserTab, bk *book.Book, c *client) {
		picture := func(name string, p tag.Payload) string { return codePicture(t, name, p) }
		b.open("/scan")
		b.do(chromedp.SetUploadFiles(chromedp.CSS("main input[type=file]"), []string{picture("a.png", tag.Payload{Plant: "M-03", MM: 24})}))
		b.until("opened", `location.pathname === "/plants/M-03"`)
		was := photosIn(t, bk)
		b.open("/scan")
		b.do(chromedp.SetUploadFiles(chromedp.CSS("main input[type=file]"), []string{picture("b.png", tag.Payload{Plant: "Z-99", MM: 24})}))
		b.until("not here", `document.body.innerText.includes("Z-99, which is not in this book")`)
		b.heard()
		if n := photosIn(t, bk); n != was {
			t.Error("a picture of a tag was kept")
		}
	})
}

// Part 6: sheets, exports, the report and a backup come from the page.
func TestPrintAndKeepByTouch(t *testing.T) {
	on(t, func(t *testing.T, b *browserTab, bk *book.Book, c *client) {
		get := func(path string) []byte {
			t.Helper()
			text, err := chromedp.Run(b.ctx,
				chromedp.Evaluate[string](`fetch("`+path+`").then(r => r.arrayBuffer())
					.then(a => btoa([...new Uint8Array(a)].map(c => String.fromCharCode(c)).join("")))`,
					chromedp.EvalAwaitPromise))
			if err != nil {
				t.Fatalf("%s: %v", path, err)
			}
			out, err := base64.StdEncoding.DecodeString(text)
			check(t, err)
			return out
		}
		b.open("/print?plants=M-03")
		for _, f := range []string{"tags", "heads", "packets", "photo-sheet"} {
			// The form's own address, with what is filled in.
			path := eval[string](b,
				`(f => f.getAttribute("action") + "?" + new URLSearchParams(new FormData(f)))
					(document.querySelector('form[action="/print/`+f+`.pdf"]'))`)
			if pdf := get(path); !bytes.HasPrefix(pdf, []byte("%PDF-")) {
				t.Errorf("%s: %.80q", path, pdf)
			}
		}
		b.open("/keep")
		b.do(chromedp.Click(chromedp.CSS(`form[action="/keep/backup"] button`)))
		b.until("backed up", `document.querySelector("#said")?.innerText.includes("made and verified")`)
		b.shoot("touch-kept-safe-" + filepath.Base(t.Name()))
		if list, err := safety.Backups(bk); err != nil || len(list) != 1 {
			t.Errorf("backups: %+v, %v", list, err)
		}
		if page := get("/keep/report.html"); !bytes.Contains(page, []byte("buff apricot")) || !bytes.Contains(page, []byte("data:image/jpeg")) {
			t.Errorf("the report: %.200q", page)
		}
		if sheet := get("/keep/book.xlsx"); !bytes.HasPrefix(sheet, []byte("PK")) {
			t.Error("the workbook is none")
		}
		packed := get("/keep/book.zip")
		z, err := zip.NewReader(bytes.NewReader(packed), int64(len(packed)))
		check(t, err)
		names := map[string]bool{}
		for _, f := range z.File {
			names[f.Name] = true
		}
		for _, want := range []string{"plants.csv", "readings.csv", "crosses.csv", "heads.csv"} {
			if !names[want] {
				t.Errorf("the export lacks %s: %v", want, names)
			}
		}
	})
}

// Part 7: a wish by a photo, by name and by numbers.
func TestTargetOtherwise(t *testing.T) {
	on(t, func(t *testing.T, b *browserTab, bk *book.Book, c *client) {
		b.open("/target")
		b.do(chromedp.SetUploadFiles(chromedp.CSS(`form[enctype] input[name=photo]`), photoFiles(t, 1)),
			chromedp.Click(chromedp.CSS(`main form[enctype] button`)))
		b.until("measured", `document.querySelector(".wish-box")?.innerText.includes("photo IMG_0001.jpg")`)
		b.do(chromedp.SendKeys(chromedp.CSS(`main input[name=name]`), "light yellowish pink"),
			chromedp.Click(chromedp.CSS(`main form:has(input[name=name]) button`)))
		b.until("named", `document.querySelector(".wish-box")?.innerText.includes("light yellowish pink")`)
		b.do(chromedp.SendKeys(chromedp.CSS(`main input[name=lab][placeholder]`), "80, 10, 30"),
			chromedp.Click(chromedp.CSS(`main form:has(input[name=lab][placeholder]) button`)))
		b.until("by numbers", `document.querySelector(".wish-box")?.innerText.includes("given as L* a* b*")`)
		b.do(chromedp.SetValue(chromedp.CSS(".wish-box input[name=line]"), "new shade"), chromedp.Click(chromedp.CSS(".wish-box button.main")))
		b.until("set", `document.querySelector("#said")?.innerText.includes("new shade is set")`)
		line, err := bk.Line(t.Context(), "new shade")
		if err != nil || line.Target.Lab != (cie.Lab{L: 80, A: 10, B: 30}) {
			t.Errorf("the new line is %+v, %v", line, err)
		}
	})
}
