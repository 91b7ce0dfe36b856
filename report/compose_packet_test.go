package report_test

import (
	"testing"

	"hueward/colorimg/cie"
	. "hueward/report/compose"
	"hueward/selection/book"
	"hueward/selection/garden"
)

// A packet's label says the species, the lot, when it was filled, how it germinated and when that was seen, and shows its
// parents in the very colours of the ranking, the mean of several readings, not one of them.
func TestPacketLabel(t *testing.T) {
	ctx := t.Context()
	b := gardenOf(t)
	do := func(err error) {
		t.Helper()
		check(t, err)
	}
	do(b.SetLineCrop(ctx, "buff", "calendula"))
	do(b.AddInstrumentReading(ctx, book.InstrumentReading{Plant: "M-3", Season: "2026", Source: "another", SE: 0.4, At: now,
		Lab: cie.Lab{L: 77, A: 17, B: 45}}))
	crosses, err := b.Crosses(ctx, "")
	do(err)
	made, err := b.AddPacket(ctx, book.Packet{Cross: crosses[0].Name, Seeds: new(55), Made: now.AddDate(0, 0, 3), Place: "tin 1"})
	do(err)
	_, _, err = b.StartTest(ctx, made.Name, book.GerminationTest{Started: now.AddDate(0, 0, 9), Seeds: 10})
	do(err)
	_, err = b.ReadTest(ctx, made.Name, 9, now.AddDate(0, 0, 19), "")
	do(err)
	labels, err := PacketLabels(ctx, b, nil, "")
	do(err)
	l := labels[0]
	if l.Species != "pot marigold (Calendula)" || l.Date != "2026-07-23" || l.Germination != "9 of 10 sprouted, 2026-08-08" ||
		l.Name != made.Name {
		t.Errorf("%+v", l)
	}
	do(b.SetPlace(ctx, "bed 3, row 2", "M-3"))
	tags, err := PlantTags(ctx, b, []string{"M-3"}, "", now)
	if err != nil || len(tags) != 1 || tags[0].Place != "bed 3, row 2" {
		t.Errorf("the tag of M-3 is %+v, %v", tags, err)
	}
	open, _, err := b.AddCross(ctx, book.Cross{SeedParent: "M-3", Kind: book.KindOpen, Season: "2026", MadeOn: now}, 0)
	do(err)
	saved, err := b.AddPacket(ctx, book.Packet{Cross: open.Name, Made: now})
	do(err)
	if labels, err = PacketLabels(ctx, b, []string{saved.Name}, ""); err != nil || len(labels) != 1 ||
		labels[0].Isolation != "Saved open: true to the line only without others within 400 m; from 40 plants or more." || l.Isolation != "" {
		t.Errorf("seed saved open: %+v, %v", labels, err)
	}
	r, err := garden.Rank(ctx, b, &garden.Options{Line: "buff"})
	do(err)
	for _, parent := range l.Parents {
		for _, p := range r.Ranking.Plants {
			if p.ID == parent.ID && (parent.Hex != p.Lab.Hex() || parent.Lab != [3]float64{p.Lab.L, p.Lab.A, p.Lab.B}) {
				t.Errorf("%s is %s on the label and %s in the ranking", parent.ID, parent.Hex, p.Lab.Hex())
			}
		}
	}
	if len(l.Parents) != 2 {
		t.Errorf("%d parents", len(l.Parents))
	}
}
