package garden

import (
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/selection"
	"hueward/selection/book"
	"hueward/selection/book/booktest"
	"hueward/selection/calendar"
)

// apricot is the target of the made-up line in these tests.
var apricot = cie.Lab{L: 76, A: 14, B: 38}

// plot is a book with plants that were measured with an instrument.
type plot struct {
	*book.Book
	t testing.TB
}

// newPlot holds a line of three seasons: the founders A, B and C of 2024, two families of
// 2025, and one of 2026 out of both. Colours lie on a slope in L*, each plant's own.
func newPlot(t *testing.T) *plot {
	p := &plot{newBook(t), t}
	p.ok(p.SetTarget(t.Context(), "buff", book.Target{Lab: apricot, Within: 3}))
	for i, id := range []string{"A", "B", "C"} {
		p.grow("2024", id, "", "", 12-4*float64(i))
	}
	for i, id := range []string{"F-1", "F-2", "F-3", "F-4"} {
		p.grow("2025", id, "A", "B", 9-2*float64(i))
	}
	p.grow("2025", "R-1", "B", "A", 8)
	p.grow("2025", "H-1", "A", "C", 6)
	for i, id := range []string{"G-1", "G-2", "G-3"} {
		p.grow("2026", id, "F-4", "H-1", 5-2*float64(i))
	}
	return p
}

func (p *plot) ok(err error) {
	p.t.Helper()
	if err != nil {
		p.t.Fatal(err)
	}
}

// grow adds a plant, dl lighter than the target.
func (p *plot) grow(season, id, seed, pollen string, dl float64) {
	p.t.Helper()
	p.ok(p.AddPlant(p.t.Context(), book.Plant{ID: id, Line: "buff", Season: season, SeedParent: seed, PollenParent: pollen}))
	p.measure(season, id, dl)
}

func (p *plot) measure(season, id string, dl float64) {
	p.t.Helper()
	p.ok(p.AddInstrumentReading(p.t.Context(), book.InstrumentReading{
		Plant: id, Season: season, Source: "spectrophotometer", Lab: cie.Lab{L: apricot.L + dl, A: apricot.A, B: apricot.B}, SE: 0.3,
	}))
}

func (p *plot) rank(o Options) *Season {
	p.t.Helper()
	s, err := Rank(p.t.Context(), p.Book, &o)
	p.ok(err)
	return s
}

// asJSON is what a command would print.
func asJSON(t testing.TB, v any) string {
	t.Helper()
	text := must.Have(json.MarshalIndent(v, "", " "))(t)
	return string(text)
}

// What is grown and measured later changes nothing in an earlier season's ranking, pairs,
// plan and trend: a grower who looks back sees what could be known then.
func TestLaterSeasons(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	p := newPlot(t)
	look := func() (out [4]string) {
		r := p.rank(Options{Season: "2025", Keep: 2})
		out[0] = asJSON(t, r.Ranking.JSON("buff", r.Season))
		o := UsualPairs()
		o.Season = "2025"
		pairs, err := Pairs(ctx, p.Book, o)
		p.ok(err)
		out[1] = asJSON(t, pairs.Pairing.JSON("buff", pairs.Season))
		plan, from, err := Plan(ctx, p.Book, &PlanOptions{Season: "2025", Seasons: 2, Runs: 20,
			Choices: []selection.Choice{{Grow: 20, Keep: 4}}})
		p.ok(err)
		out[2] = asJSON(t, plan.JSON("buff", from.Season))
		trend, _, err := Trend(ctx, p.Book, "buff", "2025")
		p.ok(err)
		out[3] = asJSON(t, trend.JSON("buff"))
		return out
	}
	before := look()
	for i, id := range []string{"L-1", "L-2", "L-3", "L-4", "L-5"} { // far offspring of the plant ranked best
		p.grow("2027", id, "F-4", "F-4", 25+float64(i))
	}
	p.measure("2027", "F-3", -20)
	p.measure("2027", "A", -20)
	after := look()
	for i, what := range []string{"rank", "pairs", "plan", "trend"} {
		if d := cmp.Diff(before[i], after[i]); d != "" {
			t.Errorf("%s of 2025 knows of 2027 (-before +after):\n%s", what, d)
		}
	}
	if r := p.rank(Options{Season: "2027", Keep: 2}); r.Season != "2027" || len(r.Ranking.Plants) < 5 {
		t.Errorf("season %s has %d plants", r.Season, len(r.Ranking.Plants))
	}
}

// A plant without its must-have stands behind all that have it, however near it is, and is
// passed by with the reason; one that was not scored is not held against it.
func TestMustHave(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	p := newPlot(t)
	low, high := 1.0, 5.0
	p.ok(p.AddTrait(ctx, book.Trait{Name: "form", Low: &low, High: &high, Better: "more"}))
	p.ok(p.SetScores(ctx, book.Score{Plant: "G-3", Trait: "form", Value: 2}, book.Score{Plant: "G-1", Trait: "form", Value: 4}))
	order := func(r *selection.Ranking) string {
		var s []string
		for _, q := range r.Plants {
			s = append(s, q.ID+" "+string(q.Advice))
		}
		return strings.Join(s, ", ")
	}
	if got, want := order(p.rank(Options{Keep: 1}).Ranking), "G-3 keep, G-2 reserve, G-1 reserve"; got != want {
		t.Errorf("without a must-have: %s, want %s", got, want) // a cross needs G-1
	}
	r := p.rank(Options{Keep: 1, Must: []string{"form>=3"}}).Ranking
	if got, want := order(r), "G-2 keep, G-1 reserve, G-3 pass"; got != want {
		t.Errorf("form 3 at least: %s, want %s", got, want)
	}
	last := r.Plants[2]
	if last.Why != "form 2, and 3 at least is wanted" || last.ChanceKept != 0 || !strings.Contains(r.Plants[0].Why, "not scored for form") {
		t.Errorf("%s: %q with chance %v; first: %q", last.ID, last.Why, last.ChanceKept, r.Plants[0].Why)
	}
	if got, want := order(p.rank(Options{Keep: 1, Must: []string{"form<=3"}}).Ranking), "G-3 keep, G-2 reserve, G-1 pass"; got != want {
		t.Errorf("form 3 at most: %s, want %s", got, want)
	}
	for _, c := range []struct{ must, weigh, want string }{
		{must: "form", want: "limit"}, {must: "form>=lovely", want: "form"}, {weigh: "form", want: "Delta E"},
		{weigh: "form=-1", want: "Delta E"},
	} {
		o := &Options{}
		if c.must != "" {
			o.Must = []string{c.must}
		} else {
			o.Weigh = []string{c.weigh}
		}
		var ask *AskError
		if _, err := Rank(ctx, p.Book, o); !errors.As(err, &ask) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: %v, want a question about %s", c, err, c.want)
		}
	}
	if _, err := Rank(ctx, p.Book, &Options{Must: []string{"scent>=3"}}); !errors.Is(err, book.ErrNotFound) {
		t.Errorf("a trait that is not in the book: %v", err)
	}
}

// What a cross is called does not depend on who names it, nor on which parent bore the
// seed: F-1 = A × B and R-1 = B × A are full sibs, F-1 and H-1 = A × C are half sibs only.
func TestKin(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	p := newPlot(t)
	for _, c := range []struct {
		seed, pollen string
		kind         book.Kind
		words        string
	}{
		{"F-1", "F-2", book.KindSib, "F-1 × F-2, sib cross"},
		{"F-1", "R-1", book.KindSib, "F-1 × R-1, sib cross"},
		{"F-1", "H-1", book.KindCross, "F-1 × H-1"},
		{"A", "F-1", book.KindCross, "A × F-1"},
		{"A", "B", book.KindCross, "A × B"}, // founders: no parents are known
		{"F-1", "F-1", book.KindSelf, "F-1 selfed"},
	} {
		made, _, err := p.AddCross(ctx, book.Cross{SeedParent: c.seed, PollenParent: c.pollen, Season: "2026"}, 0)
		p.ok(err)
		if made.Kind != c.kind || made.Words() != c.words {
			t.Errorf("cross %s × %s: %s, %q; want %s, %q", c.seed, c.pollen, made.Kind, made.Words(), c.kind, c.words)
		}
		season, err := Pairs(ctx, p.Book, &PairOptions{Among: []string{c.seed, c.pollen}, Top: 9, Crosses: 1, Uses: 1, BestOf: 10, Wanted: 1})
		p.ok(err)
		found := false
		for _, pair := range season.Pairing.JSON("", "").Pairs {
			same := pair.SeedParent == c.seed && pair.PollenParent == c.pollen || pair.SeedParent == c.pollen && pair.PollenParent == c.seed
			if found = found || same; same && string(pair.Kind) != string(c.kind) {
				t.Errorf("pairs calls %s × %s %s, cross calls it %s", c.seed, c.pollen, pair.Kind, c.kind)
			}
		}
		if !found {
			t.Errorf("pairs has no %s × %s", c.seed, c.pollen)
		}
	}
}

// Whom pairs are made of: those that the grower keeps and holds in reserve; of fewer than two, those that grow, are
// measured and are not dropped; or those that are named. A lost plant is not ranked, though it has a reading.
func TestCandidates(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	p := newPlot(t)
	p.ok(p.AddPlant(ctx, book.Plant{ID: "F-9", Line: "buff", Season: "2025"})) // never measured
	p.ok(p.SetStatus(ctx, book.Passed, "F-1"))
	p.ok(p.SetStatus(ctx, book.OffType, "R-1"))
	of := func() string {
		r, err := Judge(ctx, p.Book, &Options{Line: "buff", Season: "2025"})
		if err != nil {
			return err.Error()
		}
		ids, _, words := r.candidates(false)
		slices.Sort(ids)
		return strings.TrimSpace(strings.Join(ids, " ") + " " + words)
	}
	if got, want := of(), "F-2 F-3 F-4 H-1"; got != want {
		t.Errorf("nobody kept: %s, want %s", got, want)
	}
	p.ok(p.SetStatus(ctx, book.Kept, "F-3"))
	if got, want := of(), "F-2 F-3 F-4 H-1"; got != want {
		t.Errorf("one kept: %s, want %s", got, want)
	}
	p.ok(p.SetStatus(ctx, book.Reserve, "F-4"))
	if got, want := of(), "F-3 F-4 only the 2 plants that you keep or hold in reserve are paired"; got != want {
		t.Errorf("one kept, one in reserve: %s, want %s", got, want)
	}
	// The plan goes on from the same plants, and the ranking says what was decided against its advice.
	plan, season, err := Plan(ctx, p.Book, &PlanOptions{Line: "buff", Season: "2025", Choices: []selection.Choice{{Grow: 10, Keep: 2}},
		Seasons: 1, Runs: 2})
	p.ok(err)
	if want := "it begins with the 2 plants that are kept or in reserve"; !slices.Contains(plan.Assumed, want) {
		t.Errorf("the plan assumes %q, want %q", plan.Assumed, want)
	}
	for _, q := range season.Ranking.Plants {
		if said := strings.HasSuffix(q.Why, "; you dropped it"); said != (q.ID == "F-1" && q.Advice != selection.Pass) {
			t.Errorf("%s, %s: %q", q.ID, q.Advice, q.Why)
		}
	}
	// Those that the grower keeps against the ranking's advice are what crosses by other options and the plan go on from, too.
	for i := range season.Ranking.Plants {
		season.Ranking.Plants[i].Advice = selection.Pass
	}
	if got := season.Candidates(); !slices.Equal(got, []string{"F-3", "F-4"}) && !slices.Equal(got, []string{"F-4", "F-3"}) {
		t.Errorf("kept against the advice: %v go on, want F-3 and F-4", got)
	}
	o := UsualPairs()
	o.Line, o.Season, o.Among = "buff", "2025", []string{"f-1", "A", "B"}
	r, err := Pairs(ctx, p.Book, o)
	p.ok(err)
	for _, q := range r.Pairing.Pairs {
		if !slices.Contains([]string{"F-1", "A", "B"}, q.SeedParent) || !slices.Contains([]string{"F-1", "A", "B"}, q.PollenParent) {
			t.Errorf("%s is of plants that were not named", q.Words())
		}
	}
	if left := p.rank(Options{Season: "2025"}).Ranking.LeftOut; len(left) != 1 || left[0] != (selection.LeftOut{ID: "R-1", Why: "off-type"}) {
		t.Errorf("left out: %+v, want the off-type", left)
	}
	p.ok(p.SetStatus(ctx, book.Lost, "F-1", "F-2", "F-3", "F-4", "H-1"))
	if got := of(); !strings.Contains(got, "all plants that have a colour are lost or off-type") { // photos would not help
		t.Errorf("all lost: %s", got)
	}
}

// How many seeds come up: all, where no test was read; else as the line's tests say, and a
// test in which none sprouted does not ask for endless seed.
func TestSprouting(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	p := newPlot(t)
	share := func() (float64, string) {
		s, words, err := Sprouting(ctx, p.Book, "buff")
		p.ok(err)
		return s, words
	}
	if s, words := share(); s != 1 || !strings.Contains(words, "no germination test") {
		t.Errorf("no test: %v, %q", s, words)
	}
	day := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	seeds := 100
	test := func(line string, laid, sprouted int) {
		packet, err := p.AddPacket(ctx, book.Packet{Line: line, Season: "2026", Seeds: &seeds, Made: day})
		p.ok(err)
		_, _, err = p.StartTest(ctx, packet.Name, book.GerminationTest{Started: day, Seeds: laid})
		p.ok(err)
		if s, _ := share(); line == "buff" && sprouted == 0 && s != 1 {
			t.Errorf("a test that was not read counts: %v", s)
		}
		_, err = p.ReadTest(ctx, packet.Name, sprouted, day.AddDate(0, 0, 9), "")
		p.ok(err)
	}
	test("buff", 20, 0)
	if s, words := share(); s != 0.5/20 || !strings.HasPrefix(words, "0 % of seeds come up") {
		t.Errorf("none of 20 sprouted: %v, %q", s, words)
	}
	test("buff", 20, 15)
	test("cosmos", 10, 1)
	if s, words := share(); s != 15.0/40 || words != "38 % of seeds come up, as in the line's germination tests of 40 seeds" {
		t.Errorf("15 of 40: %v, %q", s, words)
	}
}

// Tasks of the heads of two crosses: one by hand is bagged and pollinated; one left to bees
// and wind never is, but is due when its seed is likely ripe, and packed.
func TestWorkOpenPollinated(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	p := newPlot(t)
	day := time.Date(2026, 7, 1, 0, 0, 0, 0, time.UTC)
	_, byHand, err := p.AddCross(ctx, book.Cross{SeedParent: "G-1", PollenParent: "G-2", Season: "2026", MadeOn: day}, 1)
	p.ok(err)
	_, left, err := p.AddCross(ctx, book.Cross{SeedParent: "G-3", Kind: book.KindOpen, Season: "2026", MadeOn: day}, 1)
	p.ok(err)
	tasks := func(on time.Time) string {
		g, err := Work(ctx, p.Book, "2026", on)
		p.ok(err)
		var s []string
		for _, task := range calendar.Due(g, on, 0) {
			if task.Kind != calendar.Photo {
				s = append(s, string(task.Kind)+" "+strings.Join(task.Subjects, " "))
			}
		}
		return strings.Join(s, ", ")
	}
	if got, want := tasks(day), "bag "+byHand[0].Name+", ripen "+left[0].Name; got != want {
		t.Errorf("on the day of both crosses: %q, want %q", got, want)
	}
	_, _, err = p.DoHeads(ctx, book.HeadDone{Heads: []string{byHand[0].Name}, Step: book.HeadBag, On: day, Season: "2026"})
	p.ok(err)
	if got, want := tasks(day.AddDate(0, 0, 6)), "pollinate "+byHand[0].Name+", ripen "+left[0].Name; got != want {
		t.Errorf("six days after bagging: %q, want %q", got, want)
	}
	if got := tasks(day.AddDate(0, 0, 29)); !strings.Contains(got, "harvest "+left[0].Name) {
		t.Errorf("after four weeks: %q, want the open-pollinated head ripe", got)
	}
	// Named by its plant: an open-pollinated head is harvested without a bag.
	_, _, err = p.DoHeads(ctx, book.HeadDone{Heads: []string{"G-3"}, Step: book.HeadHarvest, On: day.AddDate(0, 0, 40), Season: "2026"})
	p.ok(err)
	if got := tasks(day.AddDate(0, 0, 41)); !strings.Contains(got, "pack "+left[0].Name) {
		t.Errorf("after the harvest of an open-pollinated head: %q, want it packed", got)
	}
}

// The grower's own times take the place of the usual ones, and say whose they are.
func TestCrops(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	p := newPlot(t)
	p.ok(p.SetLineCrop(ctx, "buff", "calendula"))
	p.ok(p.SetCropValues(ctx, book.CropValue{Crop: "calendula", Field: "days", Value: "2"},
		book.CropValue{Crop: "calendula", Field: "colour", Value: "red"}))
	crops, err := Crops(ctx, p.Book)
	p.ok(err)
	usual, _ := calendar.Named("calendula")
	if c := crops.By["calendula"]; c.Days != 2 || c.Ripe != usual.Ripe || !crops.Own["calendula days"] || len(crops.Own) != 1 {
		t.Errorf("calendula %+v, own %v", c, crops.Own)
	}
	g, err := Work(ctx, p.Book, "2026", time.Date(2026, 7, 1, 0, 0, 0, 0, time.UTC))
	p.ok(err)
	if g.Crops["buff"].Days != 2 {
		t.Errorf("the line's crop: %+v", g.Crops["buff"])
	}
}

// Which season is meant: the one named, in any case; the newest in which the line was
// measured; one that is not in the book is an error that lists those that are.
func TestSeasonWithReadings(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	p := newPlot(t)
	p.ok(p.AddPlant(ctx, book.Plant{ID: "S-1", Line: "buff", Season: "Spring-2027"})) // not measured
	for named, want := range map[string]string{"": "2026", "2024": "2024", "spring-2027": "Spring-2027"} {
		if got, err := SeasonWithReadings(ctx, p.Book, "buff", named); err != nil || got != want {
			t.Errorf("season %q: %q, %v; want %q", named, got, err, want)
		}
	}
	if _, err := SeasonWithReadings(ctx, p.Book, "buff", "2020"); err == nil || !strings.Contains(err.Error(), "2024, 2025, 2026, "+
		"Spring-2027") {
		t.Errorf("season 2020: %v", err)
	}
	if s, err := SeasonNow(ctx, p.Book, "", time.Time{}); err != nil || s != "Spring-2027" {
		t.Errorf("the present season: %q, %v", s, err)
	}
	if _, err := LineFilter(ctx, p.Book, "rose"); err == nil {
		t.Error("a line that is not in the book is listed")
	}
}

// A trend has every season of the line up to the one named, and no ancestors of other lines.
func TestTrendSeasons(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	p := newPlot(t)
	p.ok(p.AddPlant(ctx, book.Plant{ID: "Z", Line: "other", Season: "2023"}))
	p.measure("2023", "Z", 30)
	p.grow("2026", "G-9", "Z", "F-1", 3)
	_, _, err := Trend(ctx, p.Book, "", "2025")
	var ask *AskError
	if !errors.As(err, &ask) {
		t.Fatalf("two lines: %v, want a question", err)
	}
	r, line, err := Trend(ctx, p.Book, "BUFF", "")
	p.ok(err)
	var got []string
	for _, s := range r.JSON(line.Name).Seasons {
		got = append(got, s.Season)
	}
	booktest.Same(t, "seasons", []string{"2024", "2025", "2026"}, got)
	l, err := LineageOf(ctx, p.Book, "buff", "")
	p.ok(err)
	if len(l.Records) != 14 || len(l.Grown()) != 13 { // 12 of newPlot, G-9, and its parent of another line
		t.Errorf("%d records and %d grown, want 14 and 13", len(l.Records), len(l.Grown()))
	}

	// What is noted as off-type is taken out of a held line, and no longer its colour; of a line that is moved it was a plant.
	p.ok(p.SetStatus(ctx, book.OffType, "G-1"))
	for _, c := range []struct {
		target book.Target
		want   int
	}{{book.Target{Lab: apricot, Within: 3, Aim: book.Move}, 4}, {book.Target{Lab: apricot, Within: 3, Aim: book.Hold}, 3}} {
		p.ok(p.SetTarget(ctx, "buff", c.target))
		r, _, err := Trend(ctx, p.Book, "buff", "")
		p.ok(err)
		if got := r.Seasons[2].Plants; got != c.want {
			t.Errorf("%s, one of 4 plants off-type: %d of season 2026, want %d", c.target.Aim, got, c.want)
		}
	}
}
