package page

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"hueward/colorimg/cie"
	"hueward/selection/book"
)

// on runs f on a phone and on a laptop, each with a book of its own.
func on(t *testing.T, f func(t *testing.T, b *browserTab, bk *book.Book, c *client)) {
	t.Parallel()
	for _, s := range touched() {
		t.Run(s.name, func(t *testing.T) {
			t.Parallel()
			b, bk, c := opened(t, s)
			f(t, b, bk, c)
			for _, w := range b.heard() {
				t.Errorf("the browser said: %s", w)
			}
		})
	}
}

// photoFiles writes drawn photos to be chosen.
func photoFiles(t *testing.T, n int) []string {
	t.Helper()
	dir := t.TempDir()
	var out []string
	for i := range n {
		name := filepath.Join(dir, fmt.Sprintf("IMG_%04d.jpg", i+1))
		check(t, os.WriteFile(name, drawn(t, int64(100+i), petalOf(i), 600, 450), 0o666))
		out = append(out, name)
	}
	return out
}

// Part 2: many photos at once, each with its result; card, bloom and petals corrected by
// touch, and the correction kept with the reading.
func TestAddAndCorrectPhotos(t *testing.T) {
	on(t, func(t *testing.T, b *browserTab, bk *book.Book, c *client) {
		was := photosIn(t, bk)
		files := photoFiles(t, 3)
		b.open("/photos?plant=M-09")
		b.do(chromedp.SetUploadFiles(chromedp.CSS("#add input[multiple]"), files), chromedp.Click(chromedp.CSS("#add button.main")))
		b.until("all sent", `document.querySelector("#sending-all").textContent.includes("All sent: 3 done")`)
		if n := photosIn(t, bk); n != was+3 {
			t.Fatalf("%d photos in the book, want %d", n, was+3)
		}
		if text := eval[string](b, `document.querySelector("#recent li").innerText`); !strings.Contains(text, "M-09") ||
			!strings.Contains(text, "from the target") || !strings.Contains(text, "L*") {
			t.Errorf("the result says %q", text)
		}
		b.shoot("touch-added-" + filepath.Base(t.Name()))

		// The same again: nothing is doubled.
		b.do(chromedp.SetUploadFiles(chromedp.CSS("#add input[multiple]"), files[:1]), chromedp.Click(chromedp.CSS("#add button.main")))
		b.until("sent again", `document.querySelector("#sending-all").textContent.includes("4 done")`)
		if n := photosIn(t, bk); n != was+3 {
			t.Fatalf("%d photos after one was sent again, want %d", n, was+3)
		}

		photos, readings, err := bk.NewestPhotos(t.Context(), 1)
		check(t, err)
		before := readings[0].Measured
		b.open(fmt.Sprintf("/photos/%d#tools", photos[0].ID))
		drag := func(tool string, path ...[2]float64) {
			t.Helper()
			b.do(chromedp.Click(chromedp.CSS(`[data-tool="` + tool + `"]`)))
			eval[bool](b, `document.getElementById("stage").scrollIntoView({block: "start"}); scrollBy(0, -70); true`)
			box := eval[[4]float64](b, `(r => [r.x, r.y, r.width, r.height])(document.getElementById("over").getBoundingClientRect())`)
			w, h := float64(before.Size[0]), float64(before.Size[1])
			xy := func(p [2]float64) (float64, float64) { return box[0] + p[0]/w*box[2], box[1] + p[1]/h*box[3] }
			x, y := xy(path[0])
			b.do(chromedp.MouseEvent(input.DispatchMouseEventTypeMousePressed, x, y, chromedp.ButtonLeft))
			for _, p := range path[1:] {
				x, y = xy(p)
				b.do(chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, x, y, chromedp.ButtonLeft))
			}
			b.do(chromedp.MouseEvent(input.DispatchMouseEventTypeMouseReleased, x, y, chromedp.ButtonLeft))
		}
		at := *before.Petal.Bloom
		r := before.Petal.DiameterPixels / 2
		// Painted out: a band over the right half of the bloom.
		drag("out", [2]float64{at[0] + r/2, at[1] - r}, [2]float64{at[0] + r/2, at[1]}, [2]float64{at[0] + r/2, at[1] + r})
		// A corner of the card a little further in, and the bloom pointed at.
		k := *before.Card.Corners
		mid := [2]float64{(k[0][0] + k[2][0]) / 2, (k[0][1] + k[2][1]) / 2}
		drag("card", k[0], [2]float64{k[0][0] + (mid[0]-k[0][0])/5, k[0][1] + (mid[1]-k[0][1])/5})
		drag("bloom", [2]float64{at[0] - r/2, at[1]})
		b.shoot("touch-correcting-" + filepath.Base(t.Name()))
		b.do(chromedp.Click(chromedp.CSS("#measure")))
		b.until("measured", `document.getElementById("tool-said").textContent.includes("and kept")`)
		c.s.changed(t.Context())
		if !eval[bool](b, `document.getElementById("news").hidden`) {
			t.Error("the page takes its own correction for another device's")
		}
		b.shoot("touch-corrected-" + filepath.Base(t.Name()))
		now, err := bk.NewestReading(t.Context(), photos[0].SHA256)
		check(t, err)
		m := now.Measured
		if m.Correction == nil || m.Correction.Card == nil || m.Correction.Bloom == nil || len(m.Correction.Strokes) != 1 ||
			m.Correction.Strokes[0].In {
			t.Fatalf("the reading keeps the correction %+v", m.Correction)
		}
		if m.Petal.Pixels >= before.Petal.Pixels {
			t.Errorf("%d petal pixels after painting out, %d before", m.Petal.Pixels, before.Petal.Pixels)
		}
		if d := cie.DeltaE2000(m.Lab.Lab(), before.Lab.Lab()); d > 2 {
			t.Errorf("half a bloom of one colour reads %.1f from the whole", d)
		}
		if photosIn(t, bk) != was+3 {
			t.Error("a correction added a photo")
		}

		// Forgotten again.
		b.do(chromedp.Click(chromedp.CSS("#reset button")))
		b.until("forgotten", `document.querySelector(".said")?.innerText.includes("without corrections")`)
		if now, err = bk.NewestReading(t.Context(), photos[0].SHA256); err != nil || now.Measured.Correction != nil {
			t.Errorf("the correction is still there: %+v, %v", now.Measured.Correction, err)
		}
	})
}

// A connection that is lost while photos are sent: they go on by themselves, none twice.
func TestPhotosAfterLostConnection(t *testing.T) {
	on(t, func(t *testing.T, b *browserTab, bk *book.Book, c *client) {
		was := photosIn(t, bk)
		b.open("/photos")
		b.do(chromedp.SetUploadFiles(chromedp.CSS("#add input[multiple]"), photoFiles(t, 4)))
		b.offline(true)
		b.do(chromedp.Click(chromedp.CSS("#add button.main")))
		b.until("noticed", `document.getElementById("queue").textContent.includes("no connection")`)
		b.shoot("offline-" + filepath.Base(t.Name()))
		b.offline(false)
		b.until("all sent", `document.querySelector("#sending-all").textContent.includes("All sent: 4 done")`)
		if n := photosIn(t, bk); n != was+4 {
			t.Errorf("%d photos, want %d", n, was+4)
		}
		b.heard() // it says that the connection was lost
	})
}

// Part 3: the ranking sorted and filtered, a decision by one touch and its undo, a plant's
// story with its pedigree.
func TestPlantsByTouch(t *testing.T) {
	on(t, func(t *testing.T, b *browserTab, bk *book.Book, c *client) {
		b.open("/plants")
		first := eval[string](b, `document.querySelector("#rows a").textContent`)
		b.do(chromedp.Click(chromedp.CSS(`button[value="M-05 kept"]`)))
		b.until("kept", `document.querySelector("#said")?.innerText.includes("M-05 is kept")`)
		if got := eval[string](b,
			`document.querySelector("#p-M-05 .status").textContent + document.activeElement.ariaLabel`); got != "keptKeep M-05" {
			t.Errorf("the row says %q", got)
		}
		b.shoot("touch-kept-" + filepath.Base(t.Name()))
		if p, err := bk.Plant(t.Context(), "M-05"); err != nil || p.Status != book.Kept {
			t.Fatalf("M-05 is %+v, %v", p, err)
		}
		b.do(chromedp.Click(chromedp.CSS("#said button")))
		b.until("undone", `document.querySelector("#said")?.innerText.includes("Taken back")`)
		if p, err := bk.Plant(t.Context(), "M-05"); err != nil || p.Status != book.Growing {
			t.Fatalf("after undo M-05 is %+v, %v", p, err)
		}
		b.open("/plants?sort=light")
		if lightest := eval[string](b, `document.querySelector("#rows a").textContent`); lightest != "M-08" || lightest == first {
			t.Errorf("the lightest plant is said to be %s (nearest %s)", lightest, first)
		}
		b.open("/plants?show=unmeasured")
		if rows := eval[string](b, `document.querySelector("#rows").textContent`); !strings.Contains(rows, "M-09") ||
			strings.Contains(rows, "M-01") {
			t.Errorf("plants without a reading: %q", rows)
		}
		b.open("/plants/M-03")
		text := eval[string](b, `document.querySelector("main").innerText`)
		for _, want := range []string{"M-91", "M-92", "F1", "X26-001", "M-03-1"} {
			if !strings.Contains(text, want) {
				t.Errorf("the story of M-03 lacks %s", want)
			}
		}
		b.do(chromedp.SetValue(chromedp.CSS("#note"), "the best of the bed"), chromedp.Click(chromedp.CSS(`form[action$="/note"] button`)))
		b.until("noted", `document.querySelector("#said")?.innerText.includes("note on M-03")`)
		b.do(chromedp.SendKeys(chromedp.CSS(`form[action$="/score"] input[name=value]`), "3"),
			chromedp.Click(chromedp.CSS(`form[action$="/score"] button`)))
		b.until("scored", `document.querySelector("#said")?.innerText.includes("M-03: form")`)
	})
}

// Part 4: tasks ticked off, a head from bag to harvest, seed into a packet, sown and come up.
func TestSeasonByTouch(t *testing.T) {
	on(t, func(t *testing.T, b *browserTab, bk *book.Book, c *client) {
		b.open("/today")
		b.do(chromedp.Click(chromedp.CSS(`button[aria-label="Pollinated: M-03-1"]`)))
		b.until("pollinated", `document.querySelector("#said")?.innerText.includes("M-03-1 pollinated")`)
		b.shoot("touch-today-" + filepath.Base(t.Name()))
		b.open("/heads")
		b.do(chromedp.SendKeys(chromedp.CSS(`#M-03-1 input[name=seeds]`), "38"),
			chromedp.Click(chromedp.CSS(`button[aria-label="M-03-1 harvested"]`)))
		b.until("harvested", `document.querySelector("#said")?.innerText.includes("38 seeds")`)
		b.open("/packets")
		b.do(chromedp.Click(chromedp.CSS(`input[value="M-03-1"]`)), chromedp.Click(chromedp.CSS("#fill button.main")))
		b.until("filled", `document.querySelector("#said")?.innerText.includes("filled")`)
		packets, err := bk.Packets(t.Context(), "")
		check(t, err)
		var mine book.Packet
		for _, p := range packets {
			if len(p.Heads) == 1 && p.Heads[0] == "M-03-1" {
				mine = p
			}
		}
		if mine.Name == "" {
			t.Fatalf("no packet of M-03-1 among %+v", packets)
		}
		row := "#" + mine.Name
		eval[bool](b, `document.querySelector("`+row+` details").open = true`)
		b.do(chromedp.SendKeys(chromedp.CSS(row+` input[name=seeds]`), "10"), chromedp.Click(chromedp.CSS(row+` button[value=sow]`)))
		b.until("sown", `document.querySelector("#said")?.innerText.includes("10 seeds of `+mine.Name+` sown")`)
		b.do(chromedp.SendKeys(chromedp.CSS(`form input[name=do][value=up] ~ label input`), "4"),
			chromedp.Click(chromedp.CSS(`form:has(input[value=up]) button`)))
		b.until("came up", `document.querySelector("#said")?.innerText.includes("4 plants came up")`)
		plants, err := bk.Plants(t.Context(), book.PlantFilter{})
		check(t, err)
		n := 0
		for _, p := range plants {
			if p.SeedParent == "M-03" && p.PollenParent == "M-05" {
				n++
			}
		}
		if n != 4 {
			t.Errorf("%d plants of M-03 × M-05 came up, want 4", n)
		}
		b.shoot("touch-packets-" + filepath.Base(t.Name()))

		// What is typed opens, too, without a camera.
		b.open("/scan")
		b.do(chromedp.SendKeys(chromedp.CSS("#typed"), "m-5"), chromedp.Click(chromedp.CSS(".typed button")))
		b.until("not found", `document.body.innerText.includes("neither a plant")`)
		b.heard()
		b.open("/scan")
		b.do(chromedp.SendKeys(chromedp.CSS("#typed"), "m-05"), chromedp.Click(chromedp.CSS(".typed button")))
		b.until("opened", `location.pathname === "/plants/M-05"`)
	})
}

// Part 5: pairs are chosen and crosses made of them; the charts are the report's.
func TestPairsByTouch(t *testing.T) {
	on(t, func(t *testing.T, b *browserTab, bk *book.Book, c *client) {
		b.open("/pairs")
		if n := eval[int](b, `document.querySelectorAll("input[name=pair]:checked").length`); n != 0 {
			t.Errorf("%d pairs are ticked beforehand", n)
		}
		if n := eval[int](b, `document.querySelectorAll(".report svg.chart").length`); n == 0 {
			t.Error("no charts on the page of pairs")
		}
		eval[bool](b, `[...document.querySelectorAll("input[name=pair]")].forEach((c, i) => c.checked = i < 2); true`)
		b.do(chromedp.Click(chromedp.CSS(`form[action="/pairs"] button.main`)))
		b.until("crossed", `location.pathname === "/crosses" && document.querySelector("#said")?.innerText.includes("Noted:")`)
		crosses, err := bk.Crosses(t.Context(), "2026")
		check(t, err)
		if len(crosses) != 3 || crosses[2].Heads != 3 {
			t.Errorf("crosses after two pairs were ticked: %+v", crosses)
		}
		b.open("/drift")
		if text := eval[string](b, `document.querySelector("main").innerText`); !strings.Contains(text, "2025") ||
			!strings.Contains(text, "2026") {
			t.Errorf("drift says %q", text)
		}
		b.open("/plan")
		if text := eval[string](b, `document.querySelector("main").innerText`); !strings.Contains(text, "120") {
			t.Errorf("plan says %q", text)
		}
	})
}

// Part 7: a wish by a touch on the plane, beside the plants that there are, and set.
func TestTargetByTouch(t *testing.T) {
	on(t, func(t *testing.T, b *browserTab, bk *book.Book, c *client) {
		b.open("/target")
		if n := eval[int](b, `document.querySelectorAll(".plane .plant").length`); n != 8 {
			t.Errorf("%d plants on the plane, want 8", n)
		}
		eval[bool](b, `document.getElementById("plane").scrollIntoView({block: "center"}); true`)
		box := eval[[4]float64](b, `(r => [r.x, r.y, r.width, r.height])(document.getElementById("plane").getBoundingClientRect())`)
		// The plane shows the part with the plants in; a* 20, b* 40 lies in it.
		w := eval[[3]float64](b, `["a", "b", "span"].map(n => +document.querySelector("#plane-form [name=" + n + "]").value)`)
		if w[2] > 100 {
			t.Errorf("the plane shows %v units for plants within 45", w[2])
		}
		b.do(chromedp.MouseClickXY(box[0]+box[2]*(20-w[0])/w[2], box[1]+box[3]*(1-(40-w[1])/w[2])))
		b.until("wished", `document.querySelector(".wish-box")`)
		b.shoot("touch-wish-" + filepath.Base(t.Name()))
		b.do(chromedp.Click(chromedp.CSS(".wish-box button.main")))
		b.until("set", `document.querySelector("#said")?.innerText.includes("is set")`)
		line, err := bk.Line(t.Context(), "buff apricot")
		check(t, err)
		if d := cie.DeltaE2000(line.Target.Lab, cie.Lab{L: 76, A: 20, B: 40}); d > 1.5 {
			t.Errorf("the target is %+v, %.1f from what was touched", line.Target.Lab, d)
		}
	})
}

// Part 8: what one device enters shows up on another without loading it anew. A row outside
// the screen is not drawn, and has no innerText.
func TestLive(t *testing.T) {
	t.Parallel()
	bk, c := served(t)
	b := browser(t, c.base)
	for _, s := range screens[:2] {
		b.set(s)
		b.open("/plants")
		b.until("listening", `document.getElementById("live").textContent.includes("by itself")`)
		eval[bool](b, `window.same = true`)
		to := map[string]string{"phone": "reserve", "laptop": "passed"}[s.name]
		if status, _ := newDevice(t, c.s, c.base).send("/status", "set", "M-02 "+to); status != 200 {
			t.Fatalf("the other device's decision: status %d", status)
		}
		b.until("shown", `document.querySelector("#p-M-02 .status").textContent === "`+book.Status(to).Word()+`" && window.same`)
		b.shoot("live-" + s.name)
	}
	// What another program enters is noticed, too.
	b.open("/today")
	b.until("listening", `document.getElementById("live").textContent.includes("by itself")`)
	if _, _, err := bk.As("the terminal").DoHeads(t.Context(), book.HeadDone{Heads: []string{"M-03-2"}, Step: book.HeadBag, On: now,
		Season: "2026"}); err != nil {
		t.Fatal(err)
	}
	c.s.changed(t.Context()) // what the watching does every two seconds
	b.until("bagged", `!document.querySelector('[aria-label="Bagged: M-03-2"]')`)
}

// Part 9: everything can be reached and worked by keyboard, in an order that makes sense.
func TestKeyboard(t *testing.T) {
	t.Parallel()
	b, _, _ := opened(t, screens[1])
	b.open("/plants")
	b.do(chromedp.KeyEvent("\t"))
	if text := eval[string](b, `document.activeElement.innerText`); text != "To the page itself" {
		t.Errorf("the first stop is %q", text)
	}
	b.do(chromedp.KeyEvent("\r"))
	b.until("skipped", `location.hash === "#main"`)
	seen := map[string]bool{}
	for range 60 {
		b.do(chromedp.KeyEvent("\t"))
		seen[eval[string](b, `document.activeElement.ariaLabel || document.activeElement.innerText || document.activeElement.name`)] = true
		if eval[bool](b, `document.activeElement !== document.body && getComputedStyle(document.activeElement).outlineStyle === "none"`) {
			t.Errorf("no focus is shown on %s", eval[string](b, `document.activeElement.outerHTML.slice(0, 120)`))
		}
	}
	for _, want := range []string{"M-05", "Keep M-05", "Drop M-05"} {
		if !seen[want] {
			t.Errorf("%q is not reached by the Tab key", want)
		}
	}
	// Of a list that is gone through by keys nothing opens on the way, but by Enter.
	b.do(chromedp.Focus(chromedp.CSS(`.sift select[name=sort]`)), chromedp.KeyEvent(kb.ArrowDown))
	b.until("passed over", `location.search === "" && document.activeElement.value === "id"`)
	b.do(chromedp.KeyEvent("\r"))
	b.until("sorted", `location.search.includes("sort=id")`)
	b.open("/photos/3")
	b.do(chromedp.Focus(chromedp.CSS("#correct-now")), chromedp.KeyEvent("\r"))
	b.until("the tools have the focus", `document.getElementById("tools").contains(document.activeElement)`)
	b.do(chromedp.KeyEvent(kb.Escape))
	b.until("closed", `document.getElementById("tools").hidden && document.activeElement.id === "correct-now"`)
	b.do(chromedp.KeyEvent("\r"))
	b.do(chromedp.Focus(chromedp.CSS(`[data-tool=card]`)), chromedp.KeyEvent("\r"))
	before := eval[string](b, `document.getElementById("quad").getAttribute("points")`)
	b.do(chromedp.Focus(chromedp.CSS(`[data-corner="0"]`)), chromedp.KeyEvent(kb.ArrowRight))
	b.until("moved", `document.getElementById("quad").getAttribute("points") !== "`+before+`"`)
}

// Without a script every page shows what it has, and the forms work.
func TestWithoutScript(t *testing.T) {
	t.Parallel()
	b, bk, _ := opened(t, screens[0])
	b.scripts(false)
	b.open("/plants")
	b.do(chromedp.Click(chromedp.CSS(`button[value="M-04 kept"]`)))
	b.do(chromedp.WaitVisible(chromedp.CSS(".said")))
	if p, err := bk.Plant(t.Context(), "M-04"); err != nil || p.Status != book.Kept {
		t.Errorf("M-04 is %+v, %v", p, err)
	}
	was := photosIn(t, bk)
	b.open("/photos")
	b.do(chromedp.SetUploadFiles(chromedp.CSS("#add input[multiple]"), photoFiles(t, 2)), chromedp.Click(chromedp.CSS("#add button.main")))
	b.do(chromedp.WaitVisible(chromedp.CSS(".said")))
	if n := photosIn(t, bk); n != was+2 {
		t.Errorf("%d photos, want %d", n, was+2)
	}
	b.shoot("no-script-photos")
	photos, _, err := bk.NewestPhotos(t.Context(), 1)
	check(t, err)
	b.open(fmt.Sprintf("/photos/%d", photos[0].ID))
	b.do(chromedp.Click(chromedp.CSS("#by-numbers summary")), chromedp.ScrollIntoView(chromedp.CSS("footer")),
		chromedp.Click(chromedp.CSS(`input[type=image]`)))
	b.do(chromedp.WaitVisible(chromedp.CSS(".said")))
	if r, err := bk.NewestReading(t.Context(), photos[0].SHA256); err != nil || r.Measured.Correction == nil ||
		r.Measured.Correction.Bloom == nil {
		t.Errorf("after a touch on the bloom the correction is %+v, %v", r.Measured.Correction, err)
	}
}
