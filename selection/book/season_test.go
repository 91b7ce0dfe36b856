package book_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"hueward/colorimg/must"
	. "hueward/selection/book"
	"hueward/selection/book/booktest"
	"hueward/selection/book/naming"
	"hueward/selection/book/record"
)

// garden is a book with two founders, a full family of both, and half sibs of it.
func garden(t *testing.T) *Book {
	t.Helper()
	b := booktest.New(t)
	for _, p := range []Plant{
		{ID: "A"}, {ID: "B"}, {ID: "D"},
		{ID: "AB-1", SeedParent: "A", PollenParent: "B"}, {ID: "AB-2", SeedParent: "A", PollenParent: "B"},
		{ID: "BA-1", SeedParent: "B", PollenParent: "A"}, {ID: "AD-1", SeedParent: "A", PollenParent: "D"},
		{ID: "C-1", Line: "cosmos"},
	} {
		if p.Line == "" {
			p.Line = "marigold"
		}
		p.Season = "2026"
		must.OK(t, b.AddPlant(t.Context(), p))
	}
	return b
}

// What a cross is follows from its parents: full sibs share both parents, whichever
// gave the pollen; half sibs share one.
//
// Source: Falconer and Mackay 1996, chapter 9.
func TestAddCrossKind(t *testing.T) {
	t.Parallel()
	b := garden(t)
	for _, c := range []struct {
		seed, pollen string
		want         Kind
	}{
		{"A", "B", KindCross}, {"A", "A", KindSelf}, {"AB-1", "AB-2", KindSib}, {"AB-1", "BA-1", KindSib}, {"AB-1", "AD-1", KindCross}, {"A",
			"AB-1", KindCross},
	} {
		made, heads, err := b.AddCross(t.Context(), Cross{SeedParent: c.seed, PollenParent: c.pollen, Season: "2026"}, 2)
		if err != nil {
			t.Fatal(err)
		}
		if made.Kind != c.want || len(heads) != 2 || heads[0].Plant != c.seed || heads[0].Cross != made.Name {
			t.Errorf("%s × %s: %s with heads %+v, want %s and two heads of the seed parent", c.seed, c.pollen, made.Kind, heads, c.want)
		}
	}
}

func TestAddCrossRefuses(t *testing.T) {
	t.Parallel()
	b := garden(t)
	before := booktest.Rows(t, b)
	for want, c := range map[string]Cross{
		"of two lines":                   {SeedParent: "A", PollenParent: "C-1"},
		"not in the book":                {SeedParent: "A", PollenParent: "nobody"},
		"no pollen parent":               {SeedParent: "A"},
		"has no known pollen parent":     {SeedParent: "A", PollenParent: "B", Kind: KindOpen},
		"A × B is no self":               {SeedParent: "A", PollenParent: "B", Kind: KindSelf},
		"is not a usable name; use lett": {SeedParent: "A", PollenParent: "B", Season: "20/26"},
	} {
		if c.Season == "" {
			c.Season = "2026"
		}
		if _, _, err := b.AddCross(t.Context(), c, 1); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%+v: %v, want %q", c, err, want)
		}
	}
	booktest.Same(t, "refused, yet changed", before, booktest.Rows(t, b))
}

// A head from bag to packet, with what is odd and what cannot be.
func TestHeadToPacket(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := garden(t)
	cross, _, err := b.AddCross(ctx, Cross{SeedParent: "A", PollenParent: "B", Season: "2026"}, 1)
	if err != nil {
		t.Fatal(err)
	}
	do := func(step HeadStep, day int, seeds *int, heads ...string) ([]Head, []string, error) {
		return b.DoHeads(ctx, HeadDone{Heads: heads, Step: step, On: date(day), Seeds: seeds, Season: "2026"})
	}
	if _, odd, err := do(HeadPollinate, 5, nil, "A-1"); err != nil || len(odd) != 1 || !strings.Contains(odd[0], "never bagged") {
		t.Errorf("pollinated without a bag: %q, %v", odd, err)
	}
	must.Have(b.FixHead(ctx, "A-1", HeadFix{NotPollinated: []time.Time{date(5)}}))(t)
	for i, s := range []struct {
		step  HeadStep
		day   int
		seeds *int
	}{{HeadBag, 3, nil}, {HeadPollinate, 5, nil}, {HeadPollinate, 6, nil}, {HeadDry, 9, nil}, {HeadHarvest, 28, nil}, {HeadHarvest, 28,
		new(41)}} {
		if _, _, err := do(s.step, s.day, s.seeds, "a-1"); err != nil {
			t.Fatalf("step %d: %v", i, err)
		}
	}
	heads := must.Have(b.Heads(ctx, "2026"))(t)
	want := Head{Name: "A-1", Plant: "A", Number: 1, Line: "marigold", Season: "2026", Cross: cross.Name, Kind: KindCross, Bagged: date(3),
		Pollinated: []time.Time{date(5), date(6)}, StigmasDry: date(9), Harvested: date(28), Seeds: new(41)}
	booktest.Same(t, "head", []Head{want}, heads)
	if _, _, err := do(HeadBag, 3, nil, "A-7"); !errors.Is(err, ErrNextHead) {
		t.Errorf("the seventh head after the first: %v", err)
	}
	if _, _, err := do(HeadLost, 29, nil, "A-1"); err == nil {
		t.Error("a harvested head was lost")
	}
	if _, _, err := do(HeadBag, 8, nil, "A-2"); err != nil {
		t.Fatal(err)
	}
	if _, _, err := do(HeadPollinate, 7, nil, "A-2"); err == nil || !strings.Contains(err.Error(), "before it was bagged on 2026-07-08") {
		t.Errorf("pollinated before the bag: %v", err)
	}
	if _, err := b.AddPacket(ctx, Packet{Heads: []string{"A-2"}, Season: "2026"}); err == nil || !strings.Contains(err.Error(),
		"its pollen is not noted") {
		t.Errorf("a packet of a head without a cross: %v", err)
	}
	p, err := b.AddPacket(ctx, Packet{Heads: []string{"A-1"}, Made: date(30)})
	if err != nil || p.Cross != cross.Name || p.Line != "marigold" || p.Season != "2026" || p.Seeds == nil || *p.Seeds != 41 {
		t.Errorf("packet %+v, %v; want cross, line, season and seeds of its head", p, err)
	}
	if _, err := b.AddPacket(ctx, Packet{Heads: []string{"A-1"}}); err == nil || !strings.Contains(err.Error(), "is in packet "+p.Name) {
		t.Errorf("the same seed in a second packet: %v", err)
	}
}

// Seed is tested, sown and comes up, with the parents of its cross.
func TestPacketToPlants(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := garden(t)
	cross, _, err := b.AddCross(ctx, Cross{SeedParent: "A", PollenParent: "B", Season: "2026", Seeds: new(30)}, 0)
	if err != nil {
		t.Fatal(err)
	}
	p, err := b.AddPacket(ctx, Packet{Cross: cross.Name})
	if err != nil || *p.Seeds != 30 {
		t.Fatalf("packet %+v, %v; want the cross's 30 seeds", p, err)
	}
	if _, over, err := b.StartTest(ctx, p.Name, GerminationTest{Started: date(1), Seeds: 10}); err != nil || over {
		t.Errorf("a test of 10 of 30: over %v, %v", over, err)
	}
	for _, c := range []struct {
		sprouted, day int
		want          string
	}{{11, 9, "11 sprouted of 10 seeds"}, {8, 0, "before the test began"}, {8, 9, ""}, {8, 9, "no germination test is waiting"}} {
		_, err := b.ReadTest(ctx, p.Name, c.sprouted, date(c.day), "")
		if c.want == "" && err != nil || c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("%d sprouted on day %d: %v, want %q", c.sprouted, c.day, err, c.want)
		}
	}
	sown, left, err := b.AddSowing(ctx, NewSowing{Packet: p.Name, Season: "2027", Sown: date(20)})
	if err != nil || sown.Seeds != 20 || left.Sown != 30 || sown.Line != "marigold" {
		t.Fatalf("sowing %+v of %+v, %v; want the 20 seeds that were left", sown, left, err)
	}
	if _, _, err := b.AddSowing(ctx, NewSowing{Packet: p.Name, Season: "2027", Sown: date(20)}); err == nil {
		t.Error("an empty packet was sown")
	}
	ids, over, err := b.CameUp(ctx, sown.Name, 21, nil)
	if err != nil || !over || len(ids) != 21 || ids[0] != "27-001"+string(naming.CheckLetter("27-001")) {
		t.Fatalf("came up: %v, over %v, %v; want 21 of 20 seeds", ids, over, err)
	}
	got, err := b.Plant(ctx, ids[20])
	if err != nil || got.SeedParent != "A" || got.PollenParent != "B" || got.Season != "2027" || got.Line != "marigold" {
		t.Errorf("plant %+v, %v; want the parents, season and line of its seed", got, err)
	}
	if _, _, err := b.CameUp(ctx, sown.Name, 0, []string{"new-1", "A"}); !errors.Is(err, ErrDuplicate) {
		t.Errorf("a plant that is there came up: %v", err)
	}
	// Corrected, the pollen parent is that of the plants, too.
	must.Have(b.FixCross(ctx, cross.Name, CrossFix{PollenParent: new("D")}))(t)
	if got, err := b.Plant(ctx, ids[0]); err != nil || got.PollenParent != "D" {
		t.Errorf("plant %+v, %v; want the corrected pollen parent", got, err)
	}
	if _, err := b.FixCross(ctx, cross.Name, CrossFix{PollenParent: new(ids[0])}); !errors.Is(err, record.ErrOwnAncestor) {
		t.Errorf("pollen of its own offspring: %v", err)
	}
}
