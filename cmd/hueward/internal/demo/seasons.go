package demo

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"time"

	"hueward/colorimg/cie"
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

// flowering is how many days before today the newest season's photos begin, and sowing
// how many the seed was sown before them.
const (
	flowering = 48
	sowing    = 75
)

// begins is the day on which the plants of the season so many years ago flower.
func (g *grower) begins(ago int) time.Time { return g.today.AddDate(-ago, 0, -flowering) }

// season is its name.
func (g *grower) season(ago int) string { return strconv.Itoa(g.begins(ago).Year()) }

// play grows n marigolds of the second generation, and what led to them; it leaves out
// what only readings can decide.
func (g *grower) play(n int) error {
	for _, line := range []string{apricot, cosmos} {
		*g.now = g.begins(2).AddDate(0, 0, -sowing)
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
	// A few of the orange lot each year: by them, weather and breeding are told apart.
	for ago := 1; ago >= 0; ago-- {
		checks, err := g.found(ago, fmt.Sprintf("O%d", g.begins(ago).Year()%100), orangeLot, false, min(3, few))
		if err != nil {
			return err
		}
		for _, p := range checks {
			g.photograph(ago, p, 1)
		}
	}
	// The first cross, and its offspring a year later.
	near := func(p plant) float64 { return cie.DeltaE2000(p.petal, targets[apricot].Lab) }
	nearest := func(ps []plant) []plant {
		return slices.SortedFunc(slices.Values(ps), func(a, b plant) int { return int(1000 * (near(a) - near(b))) })
	}
	first, err := g.cross(2, nearest(oranges)[0], nearest(creams)[0], max(3, n/3))
	if err != nil {
		return err
	}
	for _, p := range first {
		g.photograph(1, p, 2)
	}
	// Of these the two nearest: one to itself, both together.
	best := nearest(first)
	for i, mate := range []plant{best[0], best[1]} {
		size := n/2 + i*(n%2)
		second, err := g.cross(1, best[0], mate, size)
		if err != nil {
			return err
		}
		for i, p := range second {
			g.photograph(0, p, 1+i%2)
		}
	}
	var newest []*shot
	for i := range g.shots {
		if g.shots[i].season == g.season(0) {
			newest = append(newest, &g.shots[i])
		}
	}
	spoil(newest)
	return g.hold(few)
}

// The bought lots that the marigolds began with.
const orangeLot, creamLot = "orange market lot", "cream garden lot"

// found adds the founders of a bought lot.
func (g *grower) found(ago int, letter, lot string, isCream bool, n int) ([]plant, error) {
	var out []plant
	for i := range n {
		p := marigold(g.r, fmt.Sprintf("%s-%02d", letter, i+1), founder(g.r, isCream))
		err := g.b.AddPlant(g.ctx, book.Plant{ID: p.id, Line: apricot, Season: g.season(ago), FounderGroup: lot})
		if err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	return out, nil
}

// hold adds the cosmos: some a year ago, and this season's with an off-type.
func (g *grower) hold(few int) error {
	for ago := 1; ago >= 0; ago-- {
		for i := range few - ago {
			p := cosmosPlant(g.r, fmt.Sprintf("C%d-%02d", g.begins(ago).Year()%100, i+1), ago == 0 && i == few-2)
			err := g.b.AddPlant(g.ctx, book.Plant{ID: p.id, Line: cosmos, Season: g.season(ago), FounderGroup: "old cosmos"})
			if err != nil {
				return err
			}
			g.photograph(ago, p, 2-ago)
		}
	}
	return nil
}

func (g *grower) photograph(ago int, p plant, n int) {
	g.shots = append(g.shots, takePhotos(g.r, g.season(ago), p, g.begins(ago), n)...)
}

// cross makes seed of two plants in the season so many years ago, and grows n seedlings
// of it a year later.
func (g *grower) cross(ago int, seed, pollen plant, n int) ([]plant, error) {
	day := g.begins(ago).AddDate(0, 0, 8)
	heads, err := g.pollinate(ago, seed.id, pollen.id, day)
	if err != nil {
		return nil, err
	}
	ripe := day.AddDate(0, 0, 33)
	*g.now = ripe
	all := 0
	for _, h := range heads {
		seeds := 9 + g.r.IntN(12)
		all += seeds
		if _, _, err := g.b.DoHeads(g.ctx, book.HeadDone{Heads: []string{h}, Step: book.HeadHarvest, On: ripe, Seeds: &seeds}); err != nil {
			return nil, err
		}
	}
	p, err := g.b.AddPacket(g.ctx, book.Packet{Heads: heads, Made: ripe.AddDate(0, 0, 1), Place: "tin in the cellar", Paper: "paper bag"})
	if err != nil {
		return nil, err
	}
	dried, sown := ripe.AddDate(0, 0, 15), g.begins(ago-1).AddDate(0, 0, -sowing)
	if _, err := g.b.FixPackets(g.ctx, []string{p.Name}, book.PacketFix{Dried: &dried}); err != nil {
		return nil, err
	}
	*g.now = sown
	w, _, err := g.b.AddSowing(g.ctx, book.NewSowing{Packet: p.Name, Season: g.season(ago - 1), Sown: sown, Seeds: min(all, n+2+n/6)})
	if err != nil {
		return nil, err
	}
	*g.now = sown.AddDate(0, 0, 21)
	names, _, err := g.b.CameUp(g.ctx, w.Name, n, nil)
	if err != nil {
		return nil, err
	}
	var out []plant
	for _, id := range names {
		out = append(out, marigold(g.r, id, offspring(g.r, seed.genes, pollen.genes)))
	}
	return out, nil
}

// pollinate notes a cross on three heads, bagged, freed of their own pollen and pollinated
// on three days from day on. It returns the heads.
func (g *grower) pollinate(ago int, seed, pollen string, day time.Time) ([]string, error) {
	*g.now = day.AddDate(0, 0, -3)
	_, heads, err := g.b.AddCross(g.ctx, book.Cross{SeedParent: seed, PollenParent: pollen, Season: g.season(ago), MadeOn: *g.now}, 3)
	if err != nil {
		return nil, err
	}
	var names []string
	for _, h := range heads {
		names = append(names, h.Name)
	}
	steps := []book.HeadDone{{Step: book.HeadBag, On: *g.now}}
	if seed != pollen {
		steps = append(steps, book.HeadDone{Step: book.HeadEmasculate, On: day.AddDate(0, 0, -1)})
	}
	for i := range 3 {
		steps = append(steps, book.HeadDone{Step: book.HeadPollinate, On: day.AddDate(0, 0, i)})
	}
	steps = append(steps, book.HeadDone{Step: book.HeadDry, On: day.AddDate(0, 0, 4)})
	for _, s := range steps {
		*g.now, s.Heads = s.On, names
		if _, _, err := g.b.DoHeads(g.ctx, s); err != nil {
			return nil, err
		}
	}
	return names, nil
}

// due makes this season's cross, of the two plants that the readings put first, so that
// its heads are ripe today.
func (g *grower) due(seed, pollen string) error {
	defer func() { *g.now = g.today }()
	crop, _ := calendar.Named("calendula")
	_, err := g.pollinate(0, seed, pollen, g.today.AddDate(0, 0, -crop.Ripe.Low-2))
	return err
}
