package garden

import (
	"context"
	"errors"
	"time"

	"hueward/selection"
	"hueward/selection/ask"
	"hueward/selection/book"
	"hueward/selection/calendar"
)

// Work is what the book holds of the season, as the calendar wants it.
func Work(ctx context.Context, b *book.Book, season string, day time.Time) (*calendar.Garden, error) {
	const recent = 400 // days back that a test or a sowing may still be open
	open, err := b.OpenWork(ctx, season, day.AddDate(0, 0, -recent))
	crops, places := ask.Of(ctx, &err, Crops, b), ask.For(ctx, &err, b.Places)
	list, stored := ask.Of(ctx, &err, b.Crosses, season), ask.Of(ctx, &err, b.Pollen, season)
	packets, frost := seed(ctx, &err, b, season), ask.For(ctx, &err, b.LastFrost)
	if err != nil && !errors.Is(err, book.ErrNoSetting) {
		return nil, err
	}
	crosses := map[string]book.Cross{}
	for _, c := range list {
		crosses[c.Name] = c
	}
	g := &calendar.Garden{Crops: map[string]calendar.Crop{}, Places: places, Packets: packets}
	if err == nil {
		g.Frost = calendar.NearestFrost(frost, day)
	}
	for line := range crops.Lines {
		if c, ok := crops.Of(line); ok {
			g.Crops[line] = c
		}
	}
	for _, h := range open.Heads {
		if p := places[h.Plant]; p != "" {
			g.Places[h.Name] = p
		}
		t := calendar.Head{Name: h.Name, Line: h.Line, Cross: h.Cross, Bagged: h.Bagged, Pollinated: h.Pollinated,
			Dry: h.StigmasDry, Emasculated: h.Emasculated, Harvested: h.Harvested, Lost: h.Lost}
		if c, ok := crosses[h.Cross]; ok {
			t.CrossWords, t.Noted = c.Words(), c.MadeOn
			t.Open = c.Kind == book.KindOpen
			t.OwnPollen = c.Kind == book.KindCross || c.Kind == book.KindSib
		}
		g.Heads = append(g.Heads, t)
	}
	at := map[string]int{}
	for i := range g.Packets {
		at[g.Packets[i].Name] = i
	}
	for _, p := range open.Packets {
		t := &g.Packets[at[p.Name]]
		t.Own, t.Dried = p.Cross != "", p.Dried
		for _, x := range p.Tests {
			if x.Read.IsZero() {
				t.Tests = append(t.Tests, x.Started)
			}
		}
	}
	for _, w := range open.Sowings {
		g.Sowings = append(g.Sowings, calendar.Sowing{Name: w.Name, Line: w.Line, Sown: w.Sown, Plants: w.Plants,
			Out: !w.PlantedOut.IsZero()})
	}
	for _, p := range stored {
		if p.UsedUp.IsZero() {
			g.Pollen = append(g.Pollen, calendar.Pollen{Name: p.Name, Line: p.Line, Plant: p.Plant, Collected: p.Collected, Dried: p.Dried,
				Until: p.GoodUntil})
		}
	}
	for _, p := range open.Plants {
		g.Plants = append(g.Plants, calendar.Plant{Name: p.ID, Line: p.Line, Sown: p.Sown, Noted: p.Added, Photos: p.Photos})
	}
	return g, nil
}

// seed are all packets as far as their seed is to be sown: whether some is left, whether
// it grew before the season, and whether some was sown in it. Drying and tests are another's.
func seed(ctx context.Context, err *error, b *book.Book, season string) []calendar.Packet {
	packets, sowings := ask.Of(ctx, err, b.Packets, ""), ask.Of(ctx, err, b.Sowings, season)
	sown := map[string]bool{}
	for _, w := range sowings {
		sown[w.Packet] = true
	}
	out := make([]calendar.Packet, 0, len(packets))
	for _, p := range packets {
		out = append(out, calendar.Packet{Name: p.Name, Line: p.Line, Made: p.Made, Sown: sown[p.Name],
			Left: p.Seeds == nil && p.Sown == 0 || p.Seeds != nil && *p.Seeds > p.Sown,
			Ripe: p.Cross == "" || selection.CompareIDs(p.Season, season) < 0})
	}
	return out
}
