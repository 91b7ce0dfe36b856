package calendar

import (
	"strings"
	"testing"
	"time"
)

// What R. Jauron, Annual Flower Seed Germination Guide, Iowa State University Extension,
// says of the crops that it lists: degrees Fahrenheit for germination, light (L), dark (D)
// or either (LD), and weeks from sowing to planting.
func TestCropsJauron(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		crop       string
		fahrenheit Span
		light      Light
		weeks      Span
	}{
		{"snapdragon", Span{70, 70}, LightNeeded, Span{8, 10}},
		{"china-aster", Span{70, 70}, LightEither, Span{6, 8}},
		{"cornflower", Span{65, 70}, LightEither, Span{8, 8}},
		{"cosmos", Span{70, 70}, LightNone, Span{4, 6}},
		{"sunflower", Span{70, 70}, LightNone, Span{3, 4}},
		{"petunia", Span{75, 75}, LightNeeded, Span{8, 10}},
		{"nasturtium", Span{65, 70}, LightNone, Span{5, 6}},
		{"zinnia", Span{70, 70}, LightNone, Span{5, 5}},
	} {
		got, ok := Named(c.crop)
		low, high := float64(c.fahrenheit.Low-32)/1.8, float64(c.fahrenheit.High-32)/1.8
		if !ok || low < float64(got.Temperature.Low)-0.5 || high > float64(got.Temperature.High)+0.5 {
			t.Errorf("%s: %s °C, want %.0f to %.0f among them", c.crop, got.Temperature, low, high)
		}
		if got.Light != c.light {
			t.Errorf("%s: %s, want %s", c.crop, got.Light, c.light)
		}
		if got.Raise.Low > c.weeks.High || got.Raise.High < c.weeks.Low {
			t.Errorf("%s: %s weeks, want %s", c.crop, got.Raise, c.weeks)
		}
	}
}

// Days to the first and to the final count: International Rules for Seed Testing, table
// 5A, part of the flowers, from memory. The first count is a span there; ours is its end.
func TestCropsCounts(t *testing.T) {
	t.Parallel()
	for crop, want := range map[string]Span{
		"zinnia": {5, 10}, "calendula": {7, 14}, "tagetes": {5, 14}, "french-marigold": {5, 14}, "african-marigold": {5, 14},
		"cosmos": {5, 14}, "dahlia": {7, 21}, "sweet-pea": {7, 14}, "snapdragon": {7, 21}, "petunia": {7, 14}, "pansy": {7, 21},
		"china-aster": {7, 14}, "sunflower": {4, 10}, "nasturtium": {7, 21}, "cornflower": {7, 21},
	} {
		if c, ok := Named(crop); !ok || c.Sprout != want {
			t.Errorf("%s: %s, want %s", crop, c.Sprout, want)
		}
	}
}

// How much of new seed sprouts is no less than what may be sold: Ohio Administrative Code
// 901:5-27-08, minimum per cent of flower seed. How long it lives: snapdragon 3-4 and aster
// 1-2 years, sunflower 4-6 (a grower's table of 2010, horticulturetalk); zinnia, cosmos and
// snapdragon 3-5, pansies 1-2 (Saturday Evening Post, Save the Seed!). Seeds in an ounce of
// 28.35 g: zinnia 2000-6000, marigold 7500-10000, petunia 250 000-300 000 (N. Sperry, 2024);
// one in ten beyond is let pass.
func TestCropsSeed(t *testing.T) {
	t.Parallel()
	for crop, least := range map[string]int{"calendula": 65, "china-aster": 55, "cornflower": 60, "cosmos": 65, "dahlia": 55} {
		if c, _ := Named(crop); c.Fresh < least {
			t.Errorf("%s: %d %% of new seed, but %d %% are asked for", crop, c.Fresh, least)
		}
	}
	for crop, want := range map[string]Span{"snapdragon": {3, 4}, "china-aster": {1, 2}, "sunflower": {4, 6}, "zinnia": {3, 5},
		"cosmos": {3, 5}, "pansy": {1, 2}} {
		if c, _ := Named(crop); c.Life < want.Low || c.Life > want.High {
			t.Errorf("%s: %d years, want %s", crop, c.Life, want)
		}
	}
	for crop, want := range map[string][2]float64{"zinnia": {2000, 6000}, "tagetes": {7500, 10_000}, "french-marigold": {7500, 10_000},
		"african-marigold": {7500, 10_000}, "petunia": {250_000, 300_000}} {
		if c, _ := Named(crop); float64(c.PerGram) < 0.9*want[0]/28.35 || float64(c.PerGram) > 1.1*want[1]/28.35 {
			t.Errorf("%s: %d seeds in a gram, want %.0f to %.0f", crop, c.PerGram, want[0]/28.35, want[1]/28.35)
		}
	}
}

// Every crop says all that is asked of it; two of one genus with other numbers of
// chromosomes are two crops; and what can poison or burn says so.
func TestCropsWhole(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for _, c := range Crops() {
		for _, v := range c.Values() {
			if v.Value == "" && v.Field != "handling" && v.Field != "caution" && v.Field != "emasculate" && v.Field != "genus" {
				t.Errorf("%s says nothing of %s", c.Name, v.Field)
			}
		}
		if seen[c.Name] || c.Name != strings.ToLower(c.Name) || (c.Self != SelfSterile) != c.OwnPollen() {
			t.Errorf("%s is there twice, or does not agree with itself: %+v", c.Name, c)
		}
		seen[c.Name] = true
	}
	french, _ := Named("french marigold")
	african, _ := Named("african marigold")
	if french.Genus != african.Genus || french.Sets != 4 || african.Sets != 2 {
		t.Errorf("French marigold %s %d, African %s %d", french.Genus, french.Sets, african.Genus, african.Sets)
	}
	for _, crop := range []string{"sweet-pea", "tagetes", "french-marigold", "african-marigold", "dahlia"} {
		if c, _ := Named(crop); c.Caution == "" {
			t.Errorf("%s says nothing of its danger", crop)
		}
	}
}

// A head that is left to bees and wind is never to be bagged; it is due when likely ripe,
// as others are, and says what keeps its seed true.
func TestOpenHead(t *testing.T) {
	t.Parallel()
	head := Head{Name: "M-1-1", Line: "buff", Open: true, Noted: july(1)}
	told1 := func(h Head, day int) string {
		s := ""
		for _, task := range Due(&Garden{Heads: []Head{h}, Crops: map[string]Crop{"buff": marigold()}}, july(day), 3) {
			s += told(task)
		}
		return s
	}
	ripe := "likely ripe: the outer seeds are tan and curled, and drop at a touch"
	for day, want := range map[int]string{
		1: "watch ripen M-1-1 0722..0722 | left to bees and wind: no bag; likely ripe from 2026-07-22; its seed stays true to the line only " +
			"where no others of its kind flowered within 400 m; save it from 40 plants or more",
		22: "today harvest M-1-1 0722..0813 | " + ripe,
		45: "overdue harvest M-1-1 0722..0813 | " + ripe,
	} {
		if got := told1(head, day); got != want {
			t.Errorf("day %d: %s\nwant %s", day, got, want)
		}
	}
	done := head
	done.Harvested = july(25)
	if got := told1(done, 26); got != "today pack M-1-1 0725..0801 | put its seed into a paper packet, with its name on" {
		t.Errorf("harvested: %s", got)
	}
}

// Own pollen is kept out of a cross in a crop that sets seed to itself: of florets as the bagged
// head opens, of a bud before it is bagged; not of a self, not in a crop that sets none, not where it is done or too late.
func TestEmasculate(t *testing.T) {
	t.Parallel()
	cosmos, _ := Named("cosmos")
	pea, _ := Named("sweet-pea")
	head := Head{Name: "M-1-1", Line: "buff", OwnPollen: true, Noted: july(1), Bagged: july(2)}
	for _, c := range []struct {
		name string
		f    func(*Head)
		crop *Crop
		day  int
		want Urgency
	}{
		{"bagged", func(*Head) {}, nil, 2, Soon},
		{"opens", func(*Head) {}, nil, 4, Today},
		{"open already", func(*Head) {}, nil, 8, Overdue},
		{"not bagged", func(h *Head) { h.Bagged = time.Time{} }, nil, 1, ""},
		{"in the bud", func(h *Head) { h.Bagged = time.Time{} }, &pea, 1, Today},
		{"the bud opens", func(h *Head) { h.Bagged = time.Time{} }, &pea, 5, Overdue},
		{"a self", func(h *Head) { h.OwnPollen = false }, nil, 2, ""},
		{"done", func(h *Head) { h.Emasculated = july(2) }, nil, 2, ""},
		{"too late", func(h *Head) { h.Pollinated = append(h.Pollinated, july(6)) }, nil, 6, ""},
		{"sets none", func(*Head) {}, &cosmos, 2, ""},
	} {
		h := head
		c.f(&h)
		crop := marigold()
		if c.crop != nil {
			crop = *c.crop
		}
		got := Urgency("")
		for _, task := range Due(&Garden{Heads: []Head{h}, Crops: map[string]Crop{"buff": crop}}, july(c.day), 3) {
			if task.Kind == Emasculate {
				got = task.Urgency
				if !strings.Contains(task.Text, crop.Emasculate) {
					t.Errorf("%s: %s", c.name, task.Text)
				}
			}
		}
		if got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}
