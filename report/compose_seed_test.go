package report_test

import (
	"strings"
	"testing"
	"time"

	. "hueward/report/compose"
	"hueward/selection/book"
	"hueward/selection/book/booktest"
)

// A packet's label says until when its seed is worth sowing, that a number is by weight, and
// that the seed is poisonous; that of an open-pollinated head asks for no bag and no pollen.
func TestSeedLabels(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	b := booktest.New(t)
	ok := func(err error) {
		t.Helper()
		check(t, err)
	}
	day := time.Date(2026, 8, 1, 0, 0, 0, 0, time.UTC)
	for _, id := range []string{"P-1", "P-2"} {
		ok(b.AddPlant(ctx, book.Plant{ID: id, Line: "peas", Season: "2026"}))
	}
	ok(b.SetLineCrop(ctx, "peas", "sweet-pea")) // four years
	cross, _, err := b.AddCross(ctx, book.Cross{SeedParent: "P-1", PollenParent: "P-2", Season: "2026", MadeOn: day}, 1)
	ok(err)
	_, _, err = b.AddCross(ctx, book.Cross{SeedParent: "P-2", Kind: book.KindOpen, Season: "2026", MadeOn: day}, 1)
	ok(err)
	_, err = b.AddPacket(ctx, book.Packet{Cross: cross.Name, Seeds: new(30), ByWeight: true, Grams: 2.5, Made: day})
	ok(err)
	packets, err := PacketLabels(ctx, b, nil, "")
	ok(err)
	if l := packets[0]; l.SowBy != "2030" || l.Seeds != "about 30 seeds" ||
		!strings.HasPrefix(l.Caution, "Its seeds are poisonous. Not food.") {
		t.Errorf("packet: %+v", l)
	}
	heads, err := HeadLabels(ctx, b, nil, "")
	ok(err)
	if len(heads) != 2 || !heads[0].OwnPollen || heads[0].Open || !heads[1].Open || heads[1].OwnPollen {
		t.Errorf("heads: %+v", heads)
	}
}
