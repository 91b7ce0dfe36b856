package garden

import (
	"context"
	"fmt"
	"slices"
	"time"

	"hueward/selection/ask"
	"hueward/selection/book"
	"hueward/selection/calendar"
)

// What was entered and is likely a slip is kept, and told at once, alike by commands and page: a
// doubt is a sentence without its full stop.

// manyTimes is by how much a head may bear more seeds than its crop usually gives. Common practice, no source.
const manyTimes = 3

// HeadsNoted are heads of which something was noted, and what is to be told of it.
type HeadsNoted struct {
	Heads []book.Head
	Odd   []string // what is odd about it, or in doubt
	Open  string   // see [OpenAdvice]
	Selfs []string // see [SelfRisk]
}

// NoteHeads notes what was done with heads, see [book.Book.DoHeads]; without a season, in that of the day.
func NoteHeads(ctx context.Context, b *book.Book, d book.HeadDone, now time.Time) (n HeadsNoted, err error) {
	if d.Season, err = SeasonOn(ctx, b, d.Season, d.On, now); err != nil {
		return n, err
	}
	if n.Heads, n.Odd, err = b.DoHeads(ctx, d); err != nil {
		return n, err
	}
	var doubts []string
	switch d.Step {
	case book.HeadHarvest:
		if doubts, err = HeadDoubts(ctx, b, n.Heads); err == nil {
			n.Open, err = OpenAdvice(ctx, b, n.Heads)
		}
	case book.HeadPollinate:
		if doubts, err = PollinateDoubts(ctx, b, n.Heads, d.On); err == nil {
			n.Selfs, err = SelfRisk(ctx, b, n.Heads)
		}
	}
	n.Odd = append(n.Odd, doubts...)
	return n, err
}

// HeadDoubts says of heads just harvested which cannot be ripe by their crop's usual
// times, and which have more seeds than a head of it bears.
func HeadDoubts(ctx context.Context, b *book.Book, heads []book.Head) (doubts []string, err error) {
	crops, crosses := ask.Of(ctx, &err, Crops, b), ask.Of(ctx, &err, b.Crosses, "")
	if err != nil {
		return nil, err
	}
	made := map[string]time.Time{}
	for _, c := range crosses {
		if !c.MadeOn.IsZero() {
			made[c.Name] = c.MadeOn
		}
	}
	for _, h := range heads {
		if h.Harvested.IsZero() {
			continue
		}
		c, said := crops.Of(h.Line)
		if !said {
			c, _ = calendar.Named("")
		}
		if n := len(h.Pollinated); n > 0 {
			// Half of the least: flowers in the heat are early, and some crops are cut green.
			if days := int(h.Harvested.Sub(h.Pollinated[n-1]).Hours() / 24); 2*days < c.Ripe.Low {
				doubts = append(doubts, fmt.Sprintf("head %s was harvested %d days after its last pollination, but seed is ripe after %s: "+
					"see whether both days are right", h.Name, days, c.Ripe))
			}
		}
		if c, ok := made[h.Cross]; ok && h.Harvested.Before(c) {
			doubts = append(doubts, fmt.Sprintf("head %s was harvested on %s, before its cross was made on %s: see whether both days are right",
				h.Name, h.Harvested.Format(time.DateOnly), c.Format(time.DateOnly)))
		}
		if most := manyTimes * c.Seeds.High; h.Seeds != nil && most > 0 && *h.Seeds > most {
			doubts = append(doubts, fmt.Sprintf("head %s has %d seeds, but such a head bears %s: see whether the number is right", h.Name, *h.Seeds,
				c.Seeds))
		}
	}
	return doubts, nil
}

// CrossDoubt says which parent was noted as lost, or which cross of the same parents and kind was noted before in the same season;
// empty: none.
func CrossDoubt(ctx context.Context, b *book.Book, c *book.Cross) (string, error) {
	for _, id := range []string{c.SeedParent, c.PollenParent} {
		if id == "" || id == c.PollenParent && c.Pollen != "" { // stored pollen outlives its plant
			continue
		}
		switch p, err := b.Plant(ctx, id); {
		case err != nil:
			return "", err
		case p.Status == book.Lost:
			return fmt.Sprintf("%s was noted as lost: if another plant is meant, take %s back", id, c.Name), nil
		}
	}
	all, err := b.Crosses(ctx, c.Season)
	if err != nil {
		return "", err
	}
	i := slices.IndexFunc(all, func(o book.Cross) bool {
		return o.Name != c.Name && o.SeedParent == c.SeedParent && o.PollenParent == c.PollenParent && o.Kind == c.Kind && o.Pollen == c.Pollen
	})
	if i < 0 {
		return "", nil
	}
	when := ""
	if !all[i].MadeOn.IsZero() {
		when = " on " + all[i].MadeOn.Format(time.DateOnly)
	}
	return fmt.Sprintf("the same cross was noted%s as %s: if %s is that one, take it back", when, all[i].Name, c.Name), nil
}

// EarlyDoubt says that what was done with a packet was before it was filled; empty: it was not.
func EarlyDoubt(p *book.Packet, on time.Time) string {
	if p.Made.IsZero() || on.IsZero() || !on.Before(p.Made) {
		return ""
	}
	return fmt.Sprintf("packet %s was filled on %s, and %s is before that", p.Name, p.Made.Format(time.DateOnly), on.Format(time.DateOnly))
}

// DryDoubts says which of the packets were noted as dry on another day before; ask before that is written over.
func DryDoubts(ctx context.Context, b *book.Book, packets []string, on time.Time) (doubts []string, err error) {
	for _, name := range packets {
		p, err := b.PacketNamed(ctx, name)
		if err != nil {
			return nil, nil // told where it is written
		}
		if d := EarlyDoubt(p, on); d != "" {
			doubts = append(doubts, d)
		}
		if !p.Dried.IsZero() && !p.Dried.Equal(on) {
			doubts = append(doubts, fmt.Sprintf("packet %s was noted as dry on %s before; now it is %s", p.Name, p.Dried.Format(time.DateOnly),
				on.Format(time.DateOnly)))
		}
	}
	return doubts, nil
}
