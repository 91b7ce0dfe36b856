package report_test

// Tests of compose are here, in one program with those of the report that it fills in: to link another takes longer.

import (
	"bytes"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"hueward/colorimg/cie"
	"hueward/report"
	. "hueward/report/compose"
	"hueward/report/print"
	"hueward/selection"
	"hueward/selection/book"
	"hueward/selection/garden"
	"hueward/selection/trend"
)

var now = time.Date(2026, 7, 20, 9, 0, 0, 0, time.UTC)

// gardenOf is a book with a line of two parents and eight of their offspring, from light
// to dark, measured by an instrument; a cross with three heads, packets, a lost plant.
func gardenOf(t *testing.T) *book.Book {
	t.Helper()
	ctx := t.Context()
	b, err := book.Create(ctx, filepath.Join(t.TempDir(), "book"), &book.Options{Now: func() time.Time { return now }})
	check(t, err)
	t.Cleanup(func() { b.Close() })
	do := func(err error) {
		t.Helper()
		check(t, err)
	}
	do(b.SetTarget(ctx, "buff", book.Target{Aim: book.Move, Lab: cie.Lab{L: 76, A: 14, B: 38}, Within: 4, Source: "--lab"}))
	add := func(id, season, seed, pollen string, c cie.Lab) {
		t.Helper()
		do(b.AddPlant(ctx, book.Plant{ID: id, Line: "buff", Season: season, SeedParent: seed, PollenParent: pollen}))
		if c.L > 0 {
			do(
				b.AddInstrumentReading(ctx, book.InstrumentReading{Plant: id, Season: season, Source: "spectrophotometer", Lab: c, SE: 0.3, At: now}),
			)
		}
	}
	add("P-1", "2025", "", "", cie.Lab{L: 68, A: 30, B: 66})
	add("P-2", "2025", "", "", cie.Lab{L: 86, A: 4, B: 26})
	for i := range 8 {
		u := float64(i) / 7
		add(fmt.Sprintf("M-%d", i+1), "2026", "P-1", "P-2", cie.Lab{L: 70 + 14*u, A: 24 - 18*u, B: 58 - 30*u})
	}
	add("M-9", "2026", "P-1", "P-2", cie.Lab{})
	do(b.SetStatus(ctx, book.Lost, "M-8"))
	_, _, err = b.AddCross(ctx, book.Cross{SeedParent: "M-3", PollenParent: "M-5", Season: "2026", MadeOn: now.AddDate(0, 0, -9)}, 3)
	do(err)
	for step, head := range map[book.HeadStep]string{book.HeadBag: "M-3-1", book.HeadLost: "M-3-2"} {
		_, _, err = b.DoHeads(ctx, book.HeadDone{Heads: []string{head}, Step: step, On: now.AddDate(0, 0, -5), Season: "2026"})
		do(err)
	}
	return b
}

// The season's report says the target, the ranking and what is sure in the words that a
// grower reads.
func TestSeason(t *testing.T) {
	b := gardenOf(t)
	r, err := garden.Rank(t.Context(), b, &garden.Options{Line: "buff"})
	check(t, err)
	s := Season(r, now, "1.2.3")
	if s.Line != "buff" || s.Season != "2026" || s.Aim != report.Move || s.Version != "1.2.3" || !s.Made.Equal(now) || !s.ByOffspring {
		t.Errorf("%+v", s)
	}
	if d := cmp.Diff(report.Target{Lab: cie.Lab{L: 76, A: 14, B: 38}, Within: 4, Name: "light orange", Hex: "#eab076",
		Source: "given as L* a* b*"}, s.Target); d != "" {
		t.Errorf("target (-want +got):\n%s", d)
	}
	if len(s.Plants) != 7 || s.Plants[0].Rank != 1 || s.Plants[0].Bred == nil {
		t.Fatalf("%d plants are ranked, want 7: %+v", len(s.Plants), s.Plants)
	}
	if d := cmp.Diff([]selection.LeftOut{{ID: "M-8", Why: "lost"}}, s.LeftOut); d != "" {
		t.Errorf("not ranked (-want +got):\n%s", d)
	}
	var kept []string
	for i, p := range s.Plants {
		if p.Advice == report.Keep {
			kept = append(kept, p.ID)
		}
		if want := r.Ranking.Plants[i].DeltaE; p.DeltaE != want || !(p.Low <= want && want <= p.High) {
			t.Errorf("%s: %.2f, %.2f to %.2f; want around %.2f", p.ID, p.DeltaE, p.Low, p.High, want)
		}
		if p.Hex != p.Lab.Hex() || p.Name != cie.Name(p.Lab) || !strings.HasSuffix(p.Direction, "the target") {
			t.Errorf("%s: %s, %s, %q", p.ID, p.Hex, p.Name, p.Direction)
		}
	}
	slices.Sort(kept)
	if len(kept) != 2 || !slices.Contains(kept, "M-5") { // a quarter, at least 2; M-5 lies nearest
		t.Errorf("kept %v", kept)
	}
	if len(s.Unmeasured) != 1 || s.Unmeasured[0].ID != "M-9" {
		t.Errorf("not measured: %+v", s.Unmeasured)
	}
	if !strings.Contains(s.Sure, " of the 2 kept ") {
		t.Errorf("sure: %q", s.Sure)
	}
}

// What is ahead: the crosses with their parents' colours, the seasons so far, the plan.
func TestAhead(t *testing.T) {
	b := gardenOf(t)
	r, err := garden.Rank(t.Context(), b, &garden.Options{Line: "buff"})
	check(t, err)
	s := Season(r, now, "1")
	check(t, Ahead(t.Context(), b, r, s))
	if s.Pairs == nil || len(s.Pairs.Crosses) == 0 || s.Past == nil || s.Ahead == nil {
		t.Fatalf("pairs %+v, past %+v, ahead %+v", s.Pairs, s.Past, s.Ahead)
	}
	for _, c := range s.Pairs.Crosses {
		if c.Seed.ID == "" || c.Seed.Hex != c.Seed.Lab.Hex() || c.Hex != c.Mean.Hex() || c.BestOf != 10 ||
			!(c.ChanceWithin >= 0 && c.ChanceWithin <= 1) {
			t.Errorf("%+v", c)
		}
	}
	if got := []string{s.Past.Seasons[0].Season, s.Past.Seasons[1].Season}; got[0] != "2025" || got[1] != "2026" ||
		s.Past.Seasons[1].Plants < 7 {
		t.Errorf("seasons %v, %+v", got, s.Past.Seasons)
	}
	for _, c := range s.Ahead.Courses {
		if len(c.Reached) != 6 || c.Keep >= c.Grow {
			t.Errorf("course %+v", c)
		}
	}
}

// How sure the choice of the kept is, as a whole.
func TestSure(t *testing.T) {
	plant := func(advice selection.Advice, chance float64) selection.Plant {
		return selection.Plant{Advice: advice, ChanceKept: chance}
	}
	for want, plants := range map[string][]selection.Plant{
		"": {plant(selection.Keep, 1)},
		"The choice is clear: the one kept belongs there with a chance of at least 90 %.": {
			plant(selection.Keep, 0.9), plant(selection.Pass, 0.09)},
		"The one kept belongs there with a chance of at least 90 %; 1 other plant has a chance of 10 % or more. More photos of the plants " +
			"in between would tell.": {plant(selection.Keep, 0.95), plant(selection.Pass, 0.2)},
		"1 of the 2 kept belongs there with a chance of at least 90 %.": {
			plant(selection.Keep, 0.95), plant(selection.Keep, 0.89), plant(selection.Pass, 0.01)},
		"The one kept belongs there with a chance of less than 90 %; 1 other plant has a chance of 10 % or more. More photos of the plants " +
			"in between would tell.": {plant(selection.Keep, 0.6), plant(selection.Pass, 0.4)},
		"The one kept belongs there with a chance of less than 90 %; 2 other plants have a chance of 10 % or more. More photos of the plants " +
			"in between would tell.": {
			plant(selection.Keep, 0.6), plant(selection.Pass, 0.2), plant(selection.Reserve, 0.2)},
	} {
		if got := SureWords(&selection.Ranking{Plants: plants}); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// A trend in words: where it goes, how sure that is, how many seasons are to go.
func TestTrendWords(t *testing.T) {
	seasons := []trend.Season{{Season: "2025", Plants: 9}, {Season: "2026", Plants: 12}}
	inf := math.Inf(1)
	for _, c := range []struct {
		what string
		r    trend.Result
		hold bool
		want []string
	}{
		{"moves nearer", trend.Result{Seasons: seasons, Moving: true, Risk: 0.01,
			ResponsePerSeason: &selection.Estimate{Value: 1.26, SE: 0.31},
			SeasonsToTarget:   &trend.Ahead{Value: 2.2, Low: 1.4, High: 5.1}}, false,
			[]string{"The line moves, by Delta E 1.3 ± 0.3 a season toward the target.", "At this pace about 3 seasons are left (2 to 6)."}},
		{"moves sideways", trend.Result{Seasons: seasons, Moving: true, Risk: 0.01,
			ResponsePerSeason: &selection.Estimate{Value: 0.1, SE: 0.8}, SeasonsToTarget: &trend.Ahead{Value: 19, High: inf}}, false,
			[]string{"The line moves, but at present not surely toward the target: by Delta E 0.1 ± 0.8 a season.",
				"The pace so far does not say when the mean will be within the tolerance; the plan shows what selection may do."}},
		{"moves away", trend.Result{Seasons: seasons, Moving: true, Risk: 0.01, ToldBy: trend.BySeasons,
			ResponsePerSeason: &selection.Estimate{Value: -1, SE: 0.3}}, false,
			[]string{"The line moves, but not toward the target.",
				"The pace so far does not say when the mean will be within the tolerance; the plan shows what selection may do."}},
		{"nothing sure", trend.Result{Seasons: seasons, Risk: 0.4, ResponsePerSeason: &selection.Estimate{Value: 1, SE: 2},
			SeasonsToTarget: &trend.Ahead{Value: 4, Low: 1, High: inf}}, false,
			[]string{"It cannot be said yet whether the line moves: its seasons differ by no more than chance and weather make them.",
				"If this pace is real, about 4 seasons are left."}},
		{"one step, two families", trend.Result{Seasons: seasons, Risk: math.NaN(), // as exact as that is nothing known
			RealisedHeritability: &selection.Estimate{Value: 0.52, SE: math.NaN()}, SeasonsToTarget: &trend.Ahead{},
			Heritability: []trend.AxisHeritability{{Of: "L*", Estimate: selection.Estimate{Value: 0.5, SE: 0.17},
				ParentOffspring: selection.Estimate{Value: 0, SE: math.NaN()}}}}, false,
			[]string{"How much of what the parents differed by shows in their offspring (realised heritability) cannot be told yet: " +
				"there are too few seasons, or their weather hides it.", "The mean is within the tolerance.",
				"Heritability of L*: 0.50 ± 0.17 from all relatives; by parents and offspring alone it cannot be told."}},
		{"held and drifting", trend.Result{Seasons: seasons, Moving: true, Risk: 0.002, ResponsePerSeason: &selection.Estimate{}}, true,
			[]string{"The line drifts: chance and weather alone make means this different in < 1 % of lines that do not drift.",
				"No off-types among the plants of season 2026."}},
	} {
		if d := cmp.Diff(c.want, TrendWords(&c.r, c.hold)); d != "" {
			t.Errorf("%s (-want +got):\n%s", c.what, d)
		}
	}
}

// Tags, labels of heads and of packets say what the book says; without names, what is
// still grown, open, or of the season.
func TestLabelsOf(t *testing.T) {
	ctx := t.Context()
	b := gardenOf(t)
	tags, err := PlantTags(ctx, b, nil, "", now)
	if err != nil || len(tags) != 8 { // without the lost one
		t.Fatalf("%d tags, want 8: %v", len(tags), err)
	}
	if d := cmp.Diff(print.PlantTag{ID: "M-1", Line: "buff", Parents: "P-1 × P-2", Season: "2026", Generation: "F1"}, tags[0]); d != "" {
		t.Errorf("tag (-want +got):\n%s", d)
	}
	if tags, err = PlantTags(ctx, b, []string{"m-8", "P-1"}, "", now); err != nil || len(tags) != 2 {
		t.Errorf("named, a lost one too: %+v, %v", tags, err)
	}
	heads, err := HeadLabels(ctx, b, nil, "")
	if err != nil || len(heads) != 2 || heads[0].Name != "M-3-1" || heads[0].Parents != "M-3 × M-5, sib cross" {
		t.Errorf("heads that are open: %+v, %v", heads, err)
	}
	check(t, only(b.AddPacket(ctx, book.Packet{FounderGroup: "old orange", Line: "buff", Season: "2026", Seeds: new(40),
		Made: now})))
	cross := ""
	if list, err := b.Crosses(ctx, ""); err == nil {
		cross = list[0].Name
	}
	check(t, only(b.AddPacket(ctx, book.Packet{Cross: cross, Seeds: new(1), Made: now, Place: "tin 3"})))
	packets, err := PacketLabels(ctx, b, nil, "")
	if err != nil || len(packets) != 2 {
		t.Fatalf("packets: %+v, %v", packets, err)
	}
	bought, own := packets[0], packets[1]
	if bought.Of != "old orange" || bought.Seeds != "40 seeds" || !strings.Contains(bought.Caution, "protected variety") ||
		len(bought.Parents) != 0 {
		t.Errorf("bought: %+v", bought)
	}
	if own.Of != "M-3 × M-5, sib cross" || own.Generation != "F2" || own.Seeds != "1 seed" || own.Place != "tin 3" ||
		own.Date != "2026-07-20" ||
		!strings.HasPrefix(own.Caution, "Not food. Keep from children") || len(own.Parents) != 2 || own.Parents[0].ID != "M-3" ||
		own.Parents[0].Hex == "" {
		t.Errorf("own: %+v", own)
	}
	for what, n := range map[string]int{"tags": 8, "heads": 2, "packets": 2} {
		grid, err := LabelGrid(what, "", "a4")
		check(t, err)
		l, err := LabelsOf(ctx, b, what, nil, "", print.LabelOptions{Grid: grid, Created: now})
		if err != nil || l.N != n {
			t.Fatalf("%s: %+v, %v; want %d", what, l, err, n)
		}
		var pdf bytes.Buffer
		if err := l.Write(&pdf); err != nil || !bytes.HasPrefix(pdf.Bytes(), []byte("%PDF-")) {
			t.Errorf("%s: %v, %.20q", what, err, pdf.Bytes())
		}
	}
}

// How far a head is, from bag to seed.
func TestHeadWords(t *testing.T) {
	day := func(d int) time.Time { return time.Date(2026, 7, d, 0, 0, 0, 0, time.UTC) }
	h := book.Head{}
	for _, c := range []struct {
		note func()
		want string
	}{
		{func() {}, "to bag"},
		{func() { h.Bagged = day(1) }, "bagged 2026-07-01"},
		{func() { h.Pollinated = []time.Time{day(3)} }, "pollinated 2026-07-03, 1 day so far"},
		{func() { h.Pollinated = append(h.Pollinated, day(4)) }, "pollinated 2026-07-04, 2 days so far"},
		{func() { h.StigmasDry = day(8) }, "stigmas dry 2026-07-08, pollinated on 2 days"},
		{func() { h.Harvested = day(29) }, "harvested 2026-07-29"},
		{func() { h.Seeds = new(38) }, "harvested 2026-07-29, 38 seeds"},
		{func() { h.Lost = day(30) }, "lost 2026-07-30"},
	} {
		if c.note(); HeadWords(h) != c.want {
			t.Errorf("%q, want %q", HeadWords(h), c.want)
		}
	}
}

// Where a target came from, and a direction as a whole phrase.
func TestSourceWords(t *testing.T) {
	for source, want := range map[string]string{"--lab": "given as L* a* b*", "--hex": "given as a screen colour",
		"photo IMG_1.jpg": "measured from IMG_1.jpg", "by its name, buff": "by its name, buff"} {
		if got := SourceWords(source); got != want {
			t.Errorf("SourceWords(%q) = %q, want %q", source, got, want)
		}
	}
	if got := Compared("darker"); got != "darker than the target" || Compared(cie.OnTarget) != cie.OnTarget {
		t.Errorf("Compared: %q, %q", got, Compared(cie.OnTarget))
	}
}
