package page

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"hueward/selection/garden"
)

// What a season's practice asks for is entered by the page alone, each by the rules of the
// commands and as one change that Undo takes back; what is wrong changes nothing and is said.
func TestGardenForms(t *testing.T) {
	t.Parallel()
	b, c := served(t)
	ctx := t.Context()
	changes := func() int {
		list, err := b.History(ctx, 0)
		check(t, err)
		return len(list)
	}
	done := func(want, path string, kv ...string) {
		t.Helper()
		was := changes()
		status, page := c.send(path, append(kv, "back", "/today")...)
		if said := saidIn(page); status != http.StatusOK || strings.Contains(said, "Not done.") || !strings.Contains(said, want) ||
			!strings.Contains(said, ">Undo<") {
			t.Errorf("%s %q: status %d, no %q in %s", path, kv, status, want, saidIn(page))
		}
		if n := changes() - was; n != 1 {
			t.Errorf("%s %q: %d changes, want one", path, kv, n)
		}
	}
	refused := func(want, path string, kv ...string) {
		t.Helper()
		was := changes()
		_, page := c.send(path, append(kv, "back", "/today")...)
		if !strings.Contains(page, "Not done.") || !strings.Contains(page, want) || changes() != was {
			t.Errorf("%s %q: no %q in %s", path, kv, want, saidIn(page))
		}
	}
	shows := func(path string, want ...string) {
		t.Helper()
		_, page := c.read(path)
		for _, w := range want {
			if !strings.Contains(page, w) {
				t.Errorf("%s lacks %q", path, w)
			}
		}
	}

	shows("/today", "the crop</a> of", "<b>buff apricot</b>", "Set your last frost")
	done("buff apricot is pot marigold", "/crops", "do", "line", "line", "buff apricot", "crop", "calendula")
	done("Last frost: about 15 May", "/crops", "do", "frost", "frost", "2026-05-15")
	done("Crop giant-cosmos is added", "/crops", "do", "add", "name", "Giant cosmos", "like", "cosmos", "sets", "4")
	refused("built in", "/crops", "do", "add", "name", "zinnia")
	refused("want a number of sets", "/crops", "do", "add", "name", "other-cosmos", "sets", "many")
	shows("/crops", "15 May", "giant cosmos", "your own crop")
	done("Giant cosmos, changed: ripe", "/crops/values", "crop", "giant-cosmos", "was", "ripe=21%E2%80%9330&days=3",
		"ripe", "24-30", "days", "3")
	refused("such as 28-42", "/crops/values", "crop", "giant-cosmos", "was", "", "ripe", "soon")
	shows("/crops/giant-cosmos", `value="24–30"`, "usual: 21–30", "Take this crop out")
	if cr, err := garden.CropNamed(ctx, b, "giant-cosmos"); err != nil || cr.Ripe.Low != 24 || cr.Sets != 4 || cr.Days != 3 {
		t.Errorf("giant-cosmos is %+v, %v", cr, err)
	}
	done("is taken out", "/crops", "do", "remove", "crop", "giant-cosmos")

	done("L26-001", "/pollen", "do", "collect", "plant", "m-07", "on", "2026-07-18", "place", "jar 2")
	lots, err := b.Pollen(ctx, "")
	if err != nil || len(lots) != 1 || lots[0].Plant != "M-07" || lots[0].Place != "jar 2" {
		t.Fatalf("stored pollen is %+v, %v", lots, err)
	}
	shows("/pollen", "to dry, good until about 2026-07-22") // a day of drying and three of keeping: calendar.Crops
	shows("/plants/M-07", lots[0].Name)
	done("good until about 2026-07-22", "/pollen", "do", "dry", "pollen", lots[0].Name, "on", "2026-07-19")
	done("good until about 2026-07-30", "/pollen", "do", "correct", "pollen", lots[0].Name, "until", "2026-07-30")
	shows("/crosses", "stored: "+lots[0].Name+" of M-07")
	done("M-02 × M-07", "/crosses", "seed", "M-02", "kind", "stored "+lots[0].Name, "heads", "1")
	done("used up 2026-07-20", "/pollen", "do", "used", "pollen", lots[0].Name)
	refused("lies ahead", "/pollen", "do", "collect", "plant", "M-07", "on", "2026-08-01")

	done("2 cuttings of M-07", "/clones", "plant", "M-07", "by", "cutting", "number", "2")
	done("1 tuber of M-07: M-07-t1", "/clones", "plant", "M-07", "by", "tuber", "ids", "M-07-t1")
	refused("Say how many", "/clones", "plant", "M-07", "by", "tuber")
	shows("/plants/M-07-t1", "tuber of M-07", `href="/plants/M-07"`)
	done("M-01, M-02, M-03: bed 3, row 2", "/place", "plants", "M-01..M-03", "place", "bed 3, row 2")
	shows("/plants/M-02", `value="bed 3, row 2"`)

	packets, err := b.Packets(ctx, "")
	check(t, err)
	p := packets[0].Name
	done("10 seeds of "+p+" given away to Anna, 30 left", "/packets", "packet", p, "do", "given", "seeds", "10", "to", "Anna")
	done("60 seeds of "+p+" sold, 0 left. That makes 70 taken from the 40", "/packets", "packet", p, "do", "sold", "grams", "0,5")
	refused("how many grams", "/packets", "packet", p, "do", "lost")
	done("about 240 seeds, 2 g", "/packets", "do", "fill", "bought", "new orange", "grams", "2") // PerGram of calendula: 120
	shows("/packets", "10 seeds given away to Anna", "sow by 2031", "about 240 seeds, 2 g")
	done("120 seeds of P26-002", "/packets", "do", "sow", "packet", "P26-002", "grams", "1")
	sowings, err := b.Sowings(ctx, "")
	if err != nil || len(sowings) != 1 || sowings[0].Grams != 1 {
		t.Fatalf("sowings are %+v, %v", sowings, err)
	}
	done("is planted out", "/packets", "do", "out", "packet", sowings[0].Name)
	shows("/packets", "planted out <time>2026-07-20</time>")

	done("emasculated", "/heads", "step", "emasculate", "subject", "M-03-1")
	heads, err := b.Heads(ctx, "2026")
	if h := headOf(heads, "M-03-1"); err != nil || !h.Emasculated.Equal(time.Date(2026, 7, 20, 0, 0, 0, 0, time.UTC)) {
		t.Errorf("M-03-1 is %+v, %v", h, err)
	}
}

// saidIn is what a page says was done, or why not.
func saidIn(page string) string {
	_, said, _ := strings.Cut(page, `id="said"`)
	said, _, _ = strings.Cut(said, "</div></div>")
	return said
}
