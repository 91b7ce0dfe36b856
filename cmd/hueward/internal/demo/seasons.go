package demo

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"time"

	"hueward/colorimg/cie"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/calendar"
)

// grower plays three seasons into a book.
type grower struct {
	ctx   context.Context
	b     *book.Book
	r     *rand.Rand
	today time.Time
	now   *time.Time // the book's clock
	shots []shot
}

// A marigold is sown in May, comes up and is planted out so many days later, and flowers from
// July on: a garden with a winter.
const (
	sowing  = 62 // days before it flowers
	cameUp  = 14 // days after it was sown
	planted = 28
	crossed = 8  // days after the first flower, when pollen is first brought
	late    = 25 // the same, of the newest season's cross
)

// flowers is the day on which the newest season's plants begin to flower. In late summer that
// is so long ago that seed of them is ripe today; at other times of the year it was in the last
// July from which seed has been harvested and packed since.
func flowers(today time.Time) time.Time {
	crop, _ := calendar.Named("calendula")
	day := today.AddDate(0, 0, -(late + 2 + crop.Ripe.Low))
	if first, last := july(today, 3), july(today, 34); !day.Before(first) && day.Before(last) {
		return day
	}
	day = july(today, 5)
	if day.AddDate(0, 0, late+2+dried+1+tested).After(today) {
		day = day.AddDate(-1, 0, 0)
	}
	return day
}

// july is a day of July, or after it, in the year of today.
func july(today time.Time, day int) time.Time {
	return time.Date(today.Year(), time.July, day, today.Hour(), today.Minute(), 0, 0, today.Location())
}

// Seed is harvested so many days after the last pollination, packed on the next day, dry and put
// away later; a test of it can be counted so many days after it was laid out.
const (
	harvested = 31
	dried     = harvested + 9
	tested    = 7
)

// begins is the day on which the plants of the season so many years ago flower.
func (g *grower) begins(ago int) time.Time { return flowers(g.today).AddDate(-ago, 0, 0) }

// season is its name.
func (g *grower) season(ago int) string { return strconv.Itoa(g.begins(ago).Year()) }

// play grows n marigolds of the second generation, and what led to them, each thing entered
// on its day; it leaves out what only readings can decide.
func (g *grower) play(n int) error {
	*g.now = g.begins(2).AddDate(0, 0, -sowing)
	for _, line := range []string{apricot, cosmos} {
		if err := g.b.SetTarget(g.ctx, line, targets[line]); err != nil {
			return err
		}
	}
	for line, crop := range map[string]string{apricot: "calendula", cosmos: "cosmos"} {
		if err := g.b.SetLineCrop(g.ctx, line, crop); err != nil {
			return err
		}
	}
	few := min(6, max(2, n/4))
	oranges, err := g.found(2, "O", orangeLot, false, min(5, few))
	if err != nil {
		return err
	}
	creams, err := g.found(2, "K", creamLot, true, min(2, few))
	if err != nil {
		return err
	}
	for i, p := range slices.Concat(oranges, creams) {
		g.photograph(2, p, 1+(i+1)%2)
	}
	// The first cross, and its offspring a year later; of these the two nearest, one to itself, both together.
	near := func(p plant) float64 { return cie.DeltaE2000(p.petal, targets[apricot].Lab) }
	nearest := func(ps []plant) []plant {
		return slices.SortedFunc(slices.Values(ps), func(a, b plant) int { return int(1000 * (near(a) - near(b))) })
	}
	mates := []mate{{nearest(oranges)[0], nearest(creams)[0], max(3, n/3)}}
	for ago := 1; ago >= 0; ago-- {
		families, err := g.breed(ago+1, mates)
		if err != nil {
			return err
		}
		for _, family := range families {
			for i, p := range family {
				g.photograph(ago, p, 1+(ago+i)%2)
			}
		}
		// A few of the orange lot each year: by them, weather and breeding are told apart.
		checks, err := g.found(ago, fmt.Sprintf("O%d", g.begins(ago).Year()%100), orangeLot, false, min(6, few))
		if err != nil {
			return err
		}
		for _, p := range checks {
			g.photograph(ago, p, 1)
		}
		if err := g.hold(ago, few); err != nil {
			return err
		}
		if ago == 0 {
			break
		}
		best := nearest(families[0])
		mates = []mate{{best[0], best[0], n / 2}, {best[0], best[1], n - n/2}}
	}
	var newest []*shot
	var ids []string
	for i := range g.shots {
		if s := &g.shots[i]; s.season == g.season(0) {
			newest = append(newest, s)
			ids = append(ids, s.plant)
		}
	}
	spoil(newest)
	slices.Sort(ids)
	return g.b.SetPlace(g.ctx, "bed 2", slices.DeleteFunc(slices.Compact(ids), func(id string) bool { return id[0] == 'C' })...)
}

// The bought lots that the marigolds began with.
const orangeLot, creamLot = "orange market lot", "cream garden lot"

// found adds the founders of a bought lot.
func (g *grower) found(ago int, letter, lot string, isCream bool, n int) ([]plant, error) {
	var out []plant
	for i := range n {
		p := marigold(g.r, fmt.Sprintf("%s-%02d", letter, i+1), founder(g.r, isCream))
		if err := g.b.AddPlant(g.ctx, book.Plant{ID: p.id, Line: apricot, Season: g.season(ago), FounderGroup: lot}); err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	return out, nil
}

// hold adds the cosmos of a season; this season's have an off-type.
func (g *grower) hold(ago, few int) error {
	for i := range few - ago {
		p := cosmosPlant(g.r, fmt.Sprintf("C%d-%02d", g.begins(ago).Year()%100, i+1), ago == 0 && i == few-2)
		if err := g.b.AddPlant(g.ctx, book.Plant{ID: p.id, Line: cosmos, Season: g.season(ago), FounderGroup: "old cosmos"}); err != nil {
			return err
		}
		g.photograph(ago, p, 2-ago)
	}
	return nil
}

func (g *grower) photograph(ago int, p plant, n int) {
	g.shots = append(g.shots, takePhotos(g.r, g.season(ago), p, g.begins(ago), n)...)
}

// mate is a cross to be made, and how many seedlings are to be grown of it.
type mate struct {
	seed, pollen plant
	n            int
}

// breed makes seed of the mates in the season so many years ago, and grows the seedlings a
// year later, family by family.
func (g *grower) breed(ago int, mates []mate) ([][]plant, error) {
	day := g.begins(ago).AddDate(0, 0, crossed)
	heads, err := g.pollinate(ago, mates, day)
	if err != nil {
		return nil, err
	}
	packets, err := g.harvest(heads, day.AddDate(0, 0, 2))
	if err != nil {
		return nil, err
	}
	sown := g.begins(ago-1).AddDate(0, 0, -sowing)
	if err := g.test(packets, sown.AddDate(0, 0, -70), 14); err != nil {
		return nil, err
	}
	*g.now = sown
	var sowings []string
	for i, m := range mates {
		w, _, err := g.b.AddSowing(g.ctx, book.NewSowing{Packet: packets[i], Season: g.season(ago - 1), Sown: sown, Seeds: m.n + 2 + m.n/6})
		if err != nil {
			return nil, err
		}
		sowings = append(sowings, w.Name)
	}
	*g.now = sown.AddDate(0, 0, cameUp)
	var families [][]plant
	for i, m := range mates {
		names, _, err := g.b.CameUp(g.ctx, sowings[i], m.n, nil)
		if err != nil {
			return nil, err
		}
		var family []plant
		for _, id := range names {
			family = append(family, marigold(g.r, id, offspring(g.r, m.seed.genes, m.pollen.genes)))
		}
		families = append(families, family)
	}
	*g.now = sown.AddDate(0, 0, planted)
	return families, g.b.PlantOut(g.ctx, *g.now, sowings...)
}

// pollinate notes crosses on three heads each or more, bagged, freed of their own pollen as they
// open, and pollinated on three days from day on. It returns the heads of each.
func (g *grower) pollinate(ago int, mates []mate, day time.Time) ([][]string, error) {
	*g.now = day.AddDate(0, 0, -3)
	out := make([][]string, len(mates))
	var all, others []string
	for i, m := range mates {
		c := book.Cross{SeedParent: m.seed.id, PollenParent: m.pollen.id, Season: g.season(ago), MadeOn: *g.now}
		_, heads, err := g.b.AddCross(g.ctx, c, 3+m.n/16)
		if err != nil {
			return nil, err
		}
		out[i] = words.Each(heads, func(h book.Head) string { return h.Name })
		if all = append(all, out[i]...); m.seed.id != m.pollen.id {
			others = append(others, out[i]...)
		}
	}
	steps := []book.HeadDone{{Step: book.HeadBag, On: *g.now, Heads: all}}
	if len(others) > 0 {
		steps = append(steps, book.HeadDone{Step: book.HeadEmasculate, On: day.AddDate(0, 0, -1), Heads: others})
	}
	for i := range 3 {
		steps = append(steps, book.HeadDone{Step: book.HeadPollinate, On: day.AddDate(0, 0, i), Heads: all})
	}
	steps = append(steps, book.HeadDone{Step: book.HeadDry, On: day.AddDate(0, 0, 4), Heads: all})
	for _, s := range steps {
		*g.now = s.On
		if _, _, err := g.b.DoHeads(g.ctx, s); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// harvest notes the seed of heads last pollinated on a day, a packet for each cross, and that
// it is dry. It returns the packets.
func (g *grower) harvest(heads [][]string, last time.Time) (packets []string, err error) {
	*g.now = last.AddDate(0, 0, harvested)
	for _, of := range heads {
		for _, h := range of {
			seeds := 16 + g.r.IntN(20)
			if _, _, err := g.b.DoHeads(g.ctx, book.HeadDone{Heads: []string{h}, Step: book.HeadHarvest, On: *g.now, Seeds: &seeds}); err != nil {
				return nil, err
			}
		}
	}
	*g.now = g.now.AddDate(0, 0, 1)
	for _, of := range heads {
		p, err := g.b.AddPacket(g.ctx, book.Packet{Heads: of, Made: *g.now, Place: "tin in the cellar", Paper: "paper bag"})
		if err != nil {
			return nil, err
		}
		packets = append(packets, p.Name)
	}
	*g.now = last.AddDate(0, 0, dried)
	_, err = g.b.FixPackets(g.ctx, packets, book.PacketFix{Dried: g.now})
	return packets, err
}

// test lays ten seeds of each packet out, and counts after so many days how many sprouted; 0: they are not counted yet.
func (g *grower) test(packets []string, began time.Time, after int) error {
	*g.now = began
	for _, p := range packets {
		if _, _, err := g.b.StartTest(g.ctx, p, book.GerminationTest{Started: began, Seeds: 10}); err != nil {
			return err
		}
	}
	if after == 0 {
		return nil
	}
	*g.now = began.AddDate(0, 0, after)
	for _, p := range packets {
		if _, err := g.b.ReadTest(g.ctx, p, 7+g.r.IntN(3), *g.now, ""); err != nil {
			return err
		}
	}
	return nil
}

// due makes this season's cross, of the two plants that the readings put first: its heads are
// ripe today, or where summer is over its seed is packed, and a test of it to be counted today.
func (g *grower) due(seed, pollen string) error {
	defer func() { *g.now = g.today }()
	day := g.begins(0).AddDate(0, 0, late)
	heads, err := g.pollinate(0, []mate{{plant{id: seed}, plant{id: pollen}, 0}}, day)
	if err != nil {
		return err
	}
	last := day.AddDate(0, 0, 2)
	if last.AddDate(0, 0, dried).After(g.today) {
		return nil
	}
	packets, err := g.harvest(heads, last)
	if err != nil {
		return err
	}
	return g.test(packets, g.today.AddDate(0, 0, -tested), 0)
}
