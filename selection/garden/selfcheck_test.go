package garden

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"hueward/selection/book"
)

// Offspring of a cross without emasculation that have the seed parent's colour are flagged, in
// the ranking too; not where own pollen was kept out, in a crop that sets none to itself, in one
// of which nothing was said, or of related parents.
func TestSelfChecks(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	for _, c := range []struct {
		name, crop string
		emasculate bool
		pollen     string
		want       []string
	}{
		{"own pollen not kept out", "calendula", false, "Y", []string{"O-1", "O-2"}},
		{"kept out", "calendula", true, "Y", nil},
		{"sets no selfs", "cosmos", false, "Y", nil},
		{"no crop", "", false, "Y", nil},
		{"a backcross", "calendula", false, "Z", nil},
	} {
		p := &plot{newBook(t), t}
		p.ok(p.SetTarget(ctx, "buff", book.Target{Lab: apricot, Within: 3}))
		p.grow("2025", "X", "", "", -30)
		p.grow("2025", "Y", "", "", 10)
		p.grow("2025", "Z", "X", "Y", 10)
		if c.crop != "" {
			p.ok(p.SetLineCrop(ctx, "buff", c.crop))
		}
		cross, heads, err := p.AddCross(ctx, book.Cross{SeedParent: "X", PollenParent: c.pollen, Season: "2025", MadeOn: day(1)}, 1)
		p.ok(err)
		do := func(step book.HeadStep, on int) {
			_, _, err := p.DoHeads(ctx, book.HeadDone{Heads: []string{heads[0].Name}, Step: step, On: day(on), Season: "2025"})
			p.ok(err)
		}
		do(book.HeadBag, 1)
		if c.emasculate {
			do(book.HeadEmasculate, 2)
		}
		do(book.HeadPollinate, 4)
		do(book.HeadHarvest, 30)
		packet, err := p.AddPacket(ctx, book.Packet{Heads: []string{heads[0].Name}, Seeds: new(20)})
		p.ok(err)
		w, _, err := p.AddSowing(ctx, book.NewSowing{Packet: packet.Name, Season: "2026", Sown: day(31), Seeds: 20})
		p.ok(err)
		var ids []string
		for i := range 10 {
			ids = append(ids, fmt.Sprintf("O-%d", i+1))
		}
		_, _, err = p.CameUp(ctx, w.Name, 0, ids)
		p.ok(err)
		for i, dl := range []float64{-29, -32, -8, -12, -10, -9, -14, -7, -11, -10} {
			p.measure("2026", ids[i], dl)
		}
		checks, err := SelfChecks(ctx, p.Book, "buff", "2026")
		p.ok(err)
		var got []string
		for i := range checks {
			got = append(got, checks[i].Selfs()...)
		}
		if d := cmp.Diff(c.want, got); d != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, d)
		}
		for _, pl := range p.rank(Options{Season: "2026"}).Ranking.Plants {
			if flagged := strings.HasSuffix(pl.Why, "; may be a self of X"); flagged != slices.Contains(c.want, pl.ID) {
				t.Errorf("%s: %s: %s", c.name, pl.ID, pl.Why)
			}
		}
		said := slices.ContainsFunc(p.rank(Options{Season: "2026"}).Ranking.Warnings, func(s string) bool {
			return strings.HasPrefix(s, "O-1, O-2 of "+cross.Name+" match their seed parent X, whose own pollen was not noted as kept out")
		})
		pairs, err := Pairs(ctx, p.Book, &PairOptions{Season: "2026", Among: []string{"O-1", "O-4"}})
		p.ok(err)
		for _, pair := range pairs.Pairing.Pairs {
			of := pair.SeedParent == "O-1" || pair.PollenParent == "O-1"
			if told := strings.Contains(pair.Why, "; O-1 may be a self of X"); told != (of && c.want != nil) {
				t.Errorf("%s: %s: %s", c.name, pair.Words(), pair.Why)
			}
		}
		if said != (c.want != nil) {
			t.Errorf("%s: the ranking says it: %v", c.name, said)
		}
	}
}
