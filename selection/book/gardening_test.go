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

	"github.com/google/go-cmp/cmp"
)

// plot is a book with plants of one line: A and B unrelated, C and D full sibs of both.
func plot(t *testing.T) (*Book, func(error)) {
	t.Helper()
	b := booktest.New(t)
	ok := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, p := range []Plant{{ID: "A"}, {ID: "B"}, {ID: "C", SeedParent: "A", PollenParent: "B"}, {ID: "D", SeedParent: "A",
		PollenParent: "B"}} {
		p.Line, p.Season = "dahlia", "2026"
		ok(b.AddPlant(context.Background(), p))
	}
	return b, ok
}

func summer(day int) time.Time { return time.Date(2026, 7, day, 0, 0, 0, 0, time.UTC) }

// Tubers have the genes of their plant: its parents and line are theirs, a tuber of a tuber
// is one of the plant, a cross of two of them is a self, and their offspring are full sibs.
func TestClones(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b, ok := plot(t)
	made, root, err := b.AddClones(ctx, "c", "2027", ByTuber, 0, []string{"C-t1", "C-t2"})
	ok(err)
	if root != "C" || len(made) != 2 {
		t.Fatalf("%v of %s, want two of C", made, root)
	}
	if _, root, err = b.AddClones(ctx, "C-t2", "2028", ByCutting, 1, nil); err != nil || root != "C" {
		t.Errorf("a cutting of a tuber is of %q, %v; want C", root, err)
	}
	p, err := b.Plant(ctx, "C-t1")
	ok(err)
	if p.CloneOf != "C" || p.ClonedBy != ByTuber || p.SeedParent != "A" || p.PollenParent != "B" || p.Season != "2027" || p.Line != "dahlia" ||
		p.ParentWords() != "tuber of C" {
		t.Errorf("a tuber: %+v", p)
	}
	genes, err := b.Genotypes(ctx)
	ok(err)
	if len(genes) != 3 || genes["C-t1"] != "C" || genes["C-t2"] != "C" {
		t.Errorf("genotypes %v, want three of C", genes)
	}
	for _, bad := range []func() error{
		func() error { _, _, err := b.AddClones(ctx, "C", "2027", ByTuber, 0, []string{"D"}); return err },
		func() error { _, _, err := b.AddClones(ctx, "C", "2027", "seed", 1, nil); return err },
		func() error { _, _, err := b.AddClones(ctx, "C", "2027", ByTuber, 0, nil); return err },
		func() error { return b.SetParents(ctx, "D", "", "C-t1") },
		func() error { return b.SetParents(ctx, "C-t1", "", "A") }, // its own ancestor, by a tuber
		func() error { _, err := b.Remove(ctx, "plant", "C"); return err },
	} {
		before := booktest.Rows(t, b)
		if err := bad(); err == nil {
			t.Error("taken, though it cannot be")
		}
		booktest.Same(t, "changed all the same", before, booktest.Rows(t, b))
	}
	self, _, err := b.AddCross(ctx, Cross{SeedParent: "C", PollenParent: "C-t1", Season: "2027"}, 0)
	ok(err)
	if self.Kind != KindSelf || self.PollenParent != "C" {
		t.Errorf("C by its own tuber is %s by %s, want a self", self.Kind, self.PollenParent)
	}
	// Offspring of A and B, one of them by a tuber of A, are full sibs.
	_, _, err = b.AddClones(ctx, "A", "2027", ByDivision, 0, []string{"A-d"})
	ok(err)
	ok(b.AddPlant(ctx, Plant{ID: "E", Line: "dahlia", Season: "2028", SeedParent: "A-d", PollenParent: "B"}))
	sib, _, err := b.AddCross(ctx, Cross{SeedParent: "C", PollenParent: "E", Season: "2028"}, 0)
	ok(err)
	if sib.Kind != KindSib {
		t.Errorf("C × E is a %s, want a sib cross", sib.Kind)
	}
	// Corrected parents are those of the tubers, too.
	ok(b.SetParents(ctx, "A", "", "C"))
	if p, err := b.Plant(ctx, "C-t2"); err != nil || p.PollenParent != "" {
		t.Errorf("after the correction: %+v, %v", p, err)
	}
}

// Stored pollen names the pollen parent; it cannot be of another plant, of a day after the
// cross, or dry before it was collected.
func TestStoredPollen(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b, ok := plot(t)
	l, err := b.AddPollen(ctx, Pollen{Plant: "b", Season: "2026", Collected: summer(3), Place: "jar 1"})
	ok(err)
	if !strings.HasPrefix(l.Name, "L26-001") || l.Plant != "B" || l.Line != "dahlia" {
		t.Errorf("stored: %+v", l)
	}
	dry, until := summer(4), summer(20)
	list, err := b.FixPollen(ctx, []string{"l26-001"}, PollenFix{Dried: &dry, GoodUntil: &until})
	ok(err)
	if len(list) != 1 || !list[0].Dried.Equal(dry) || !list[0].GoodUntil.Equal(until) {
		t.Errorf("dried: %+v", list)
	}
	c, _, err := b.AddCross(ctx, Cross{SeedParent: "A", Pollen: "L26-001", Season: "2026", MadeOn: summer(10)}, 1)
	ok(err)
	if c.PollenParent != "B" || c.Kind != KindCross || c.Pollen != l.Name {
		t.Errorf("a cross by stored pollen: %+v", c)
	}
	if l, err = b.PollenNamed(ctx, l.Name); err != nil || l.Crosses != 1 {
		t.Errorf("the pollen: %+v, %v", l, err)
	}
	early := summer(1)
	for name, bad := range map[string]func() error{
		"of another plant": func() error {
			_, _, err := b.AddCross(ctx, Cross{SeedParent: "A", PollenParent: "C", Pollen: l.Name, Season: "2026"}, 0)
			return err
		},
		"before it was collected": func() error {
			_, _, err := b.AddCross(ctx, Cross{SeedParent: "A", Pollen: l.Name, Season: "2026", MadeOn: early}, 0)
			return err
		},
		"open": func() error {
			_, _, err := b.AddCross(ctx, Cross{SeedParent: "A", Kind: KindOpen, Pollen: l.Name, Season: "2026"}, 0)
			return err
		},
		"dry too early": func() error { _, err := b.FixPollen(ctx, []string{l.Name}, PollenFix{Dried: &early}); return err },
		"not there":     func() error { _, err := b.FixPollen(ctx, []string{"L26-002"}, PollenFix{Dried: &dry}); return err },
		"in use":        func() error { _, err := b.Remove(ctx, "pollen", l.Name); return err },
	} {
		if err := bad(); err == nil {
			t.Errorf("%s: taken", name)
		}
	}
	// The pollen parent corrected: it was not that pollen.
	other := "C"
	if c, err = b.FixCross(ctx, c.Name, CrossFix{PollenParent: &other}); err != nil || c.Pollen != "" {
		t.Errorf("corrected: %+v, %v", c, err)
	}
	if _, err := b.Remove(ctx, "pollen", l.Name); err != nil {
		t.Errorf("pollen of which nothing was made: %v", err)
	}
}

// Seed given away, sold or lost is taken from the packet as sown seed is; weights are kept;
// sowings are planted out on no day before.
func TestSeedOut(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b, ok := plot(t)
	p, err := b.AddPacket(ctx, Packet{Line: "dahlia", Season: "2026", FounderGroup: "mixed", Seeds: new(300), ByWeight: true, Grams: 2.5})
	ok(err)
	if !p.ByWeight || p.Grams != 2.5 {
		t.Errorf("packet: %+v", p)
	}
	w, p, err := b.AddSowing(ctx, NewSowing{Packet: p.Name, Season: "2026", Seeds: 120, Grams: 1, Sown: summer(1)})
	ok(err)
	p, over, err := b.TakeOut(ctx, p.Name, SeedOut{On: summer(2), How: OutSold, Seeds: 100, Grams: 0.8, To: "a neighbour"})
	ok(err)
	if over || p.Sown != 220 || len(p.Out) != 1 || p.Out[0].To != "a neighbour" || p.Out[0].How != OutSold || w.Grams != 1 {
		t.Errorf("sown and sold: %+v, over %v, sowing %+v", p, over, w)
	}
	if p, over, err = b.TakeOut(ctx, p.Name, SeedOut{On: summer(3), How: OutLost, Seeds: 100}); err != nil || !over || p.Sown != 320 {
		t.Errorf("more lost than it held: %+v, over %v, %v", p, over, err)
	}
	ok(b.PlantOut(ctx, summer(20), w.Name))
	if list, err := b.Sowings(ctx, "2026"); err != nil || !list[0].PlantedOut.Equal(summer(20)) {
		t.Errorf("planted out: %+v, %v", list, err)
	}
	for _, bad := range []error{
		b.PlantOut(ctx, summer(-3), w.Name), b.PlantOut(ctx, summer(20), "S26-009"),
		func() error { _, _, err := b.TakeOut(ctx, p.Name, SeedOut{How: "eaten", Seeds: 3}); return err }(),
		func() error { _, _, err := b.TakeOut(ctx, p.Name, SeedOut{How: OutLost}); return err }(),
		func() error {
			_, _, err := b.TakeOut(ctx, p.Name, SeedOut{How: OutLost, Seeds: 3, Grams: -1})
			return err
		}(),
	} {
		if bad == nil {
			t.Error("taken, though it cannot be")
		}
	}
	fixed, err := b.FixPackets(ctx, []string{p.Name}, PacketFix{Seeds: new(310)})
	if err != nil || fixed[0].ByWeight {
		t.Errorf("counted after all: %+v, %v", fixed, err)
	}
}

// Own pollen kept out: noted once, taken back, never after the harvest; odd after the first
// pollen; and a bud may be emasculated before its bag.
func TestEmasculated(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b, ok := plot(t)
	_, heads, err := b.AddCross(ctx, Cross{SeedParent: "A", PollenParent: "B", Season: "2026", MadeOn: summer(1)}, 2)
	ok(err)
	do := func(step HeadStep, day int, head string) (Head, []string, error) {
		h, odd, err := b.DoHeads(ctx, HeadDone{Heads: []string{head}, Step: step, On: summer(day), Season: "2026"})
		if err != nil {
			return Head{}, nil, err
		}
		return h[0], odd, nil
	}
	h, odd, err := do(HeadEmasculate, 2, "A")
	if err != nil || !h.Emasculated.Equal(summer(2)) || len(odd) > 0 {
		t.Errorf("before its bag: %+v, %q, %v", h, odd, err)
	}
	if _, _, err := do(HeadEmasculate, 3, heads[0].Name); err == nil {
		t.Error("emasculated on two days")
	}
	_, _, err = do(HeadBag, 2, heads[1].Name)
	ok(err)
	_, _, err = do(HeadPollinate, 5, heads[1].Name)
	ok(err)
	none := time.Time{}
	_, err = b.FixHead(ctx, heads[1].Name, HeadFix{Emasculated: &none})
	ok(err)
	if _, odd, err = do(HeadEmasculate, 6, heads[1].Name); err != nil || len(odd) != 1 || !strings.Contains(odd[0],
		"own pollen may have come first") {
		t.Errorf("after the first pollen: %q, %v", odd, err)
	}
	_, err = b.FixHead(ctx, heads[1].Name, HeadFix{Emasculated: &none})
	ok(err)
	_, _, err = do(HeadHarvest, 30, heads[1].Name)
	ok(err)
	late := summer(31)
	if _, err := b.FixHead(ctx, heads[1].Name, HeadFix{Emasculated: &late}); err == nil {
		t.Error("emasculated after the harvest")
	}
	if h, _, err := do(HeadEmasculate, 3, "B-1"); err != nil || h.Name != "B-1" {
		t.Errorf("the plant's next head: %+v, %v", h, err)
	}
}

// A crop of one's own takes another's own values along; it stays while a line is of it.
func TestOwnCrops(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b, ok := plot(t)
	ok(b.SetCropValues(ctx, CropValue{"dahlia", "ripe", "40-60"}))
	ok(b.AddCrop(ctx, OwnCrop{Name: "tree-dahlia", Title: "tree dahlia", Base: "dahlia"}, "dahlia", CropValue{Field: "sets", Value: "8"}))
	if err := b.AddCrop(ctx, OwnCrop{Name: "Tree-Dahlia", Title: "again", Base: "dahlia"}, ""); !errors.Is(err, ErrDuplicate) {
		t.Errorf("twice: %v", err)
	}
	values, err := b.CropValues(ctx)
	ok(err)
	if d := cmp.Diff([]CropValue{{"dahlia", "ripe", "40-60"}, {"tree-dahlia", "ripe", "40-60"}, {"tree-dahlia", "sets", "8"}},
		values); d != "" {
		t.Errorf("values (-want +got):\n%s", d)
	}
	ok(b.SetLineCrop(ctx, "dahlia", "tree-dahlia"))
	if err := b.RemoveCrop(ctx, "tree-dahlia"); err == nil || !strings.Contains(err.Error(), "line dahlia is of it") {
		t.Errorf("in use: %v", err)
	}
	ok(b.SetLineCrop(ctx, "dahlia", "dahlia"))
	ok(b.RemoveCrop(ctx, "tree-dahlia"))
	if list, err := b.OwnCrops(ctx); err != nil || len(list) > 0 {
		t.Errorf("taken out: %v, %v", list, err)
	}
	if err := b.RemoveCrop(ctx, "zinnia"); !errors.Is(err, ErrNotFound) {
		t.Errorf("a built-in one: %v", err)
	}
}

// The last frost is a day of the year, and may be taken away.
func TestLastFrost(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.New(t)
	if _, err := b.LastFrost(ctx); !errors.Is(err, ErrNoSetting) {
		t.Errorf("not said: %v", err)
	}
	may := time.Date(2027, 5, 15, 0, 0, 0, 0, time.UTC)
	must.OK(t, b.SetLastFrost(ctx, &may))
	if got, err := b.LastFrost(ctx); err != nil || got.Month() != time.May || got.Day() != 15 {
		t.Errorf("15 May: %v, %v", got, err)
	}
	must.OK(t, b.SetLastFrost(ctx, nil))
	if _, err := b.LastFrost(ctx); !errors.Is(err, ErrNoSetting) {
		t.Errorf("taken away: %v", err)
	}
}
