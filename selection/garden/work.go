package garden

import (
	"context"
	"time"

	"hueward/selection/book"
	"hueward/selection/calendar"
)

// Work is what the book holds of the season, as the calendar wants it.
func Work(ctx context.Context, b *book.Book, season string, day time.Time) (*calendar.Garden, error) {
	const recent = 400 // days back that a test or a sowing may still be open
	open, err := b.OpenWork(ctx, season, day.AddDate(0, 0, -recent))
	if err != nil {
		return nil, err
	}
	list, err := b.Crosses(ctx, season)
	if err != nil {
		return nil, err
	}
	crosses := map[string]book.Cross{}
	for _, c := range list {
		crosses[c.Name] = c
	}
	crops, _, err := Crops(ctx, b)
	if err != nil {
		return nil, err
	}
	of, err := b.LineCrops(ctx)
	if err != nil {
		return nil, err
	}
	g := &calendar.Garden{Crops: map[string]calendar.Crop{}}
	for line, crop := range of {
		if c, ok := crops[crop]; ok {
			g.Crops[line] = c
		}
	}
	for _, h := range open.Heads {
		t := calendar.Head{Name: h.Name, Line: h.Line, Cross: h.Cross, Bagged: h.Bagged, Pollinated: h.Pollinated,
			Dry: h.StigmasDry, Harvested: h.Harvested, Lost: h.Lost}
		if c, ok := crosses[h.Cross]; ok {
			t.CrossWords, t.Noted = c.Words(), c.MadeOn
			t.Open = c.Kind == book.KindOpen
		}
		g.Heads = append(g.Heads, t)
	}
	for _, p := range open.Packets {
		t := calendar.Packet{Name: p.Name, Line: p.Line, Own: p.Cross != "", Made: p.Made, Dried: p.Dried}
		for _, x := range p.Tests {
			if x.Read.IsZero() {
				t.Tests = append(t.Tests, x.Started)
			}
		}
		g.Packets = append(g.Packets, t)
	}
	for _, w := range open.Sowings {
		g.Sowings = append(g.Sowings, calendar.Sowing{Name: w.Name, Line: w.Line, Sown: w.Sown, Plants: w.Plants})
	}
	for _, p := range open.Plants {
		g.Plants = append(g.Plants, calendar.Plant{Name: p.ID, Line: p.Line, Sown: p.Sown, Noted: p.Added, Photos: p.Photos})
	}
	return g, nil
}

// Crops are all crops with the grower's own values in, and whose values those
// are, as "crop field".
func Crops(ctx context.Context, b *book.Book) (crops map[string]calendar.Crop, own map[string]bool, err error) {
	values, err := b.CropValues(ctx)
	if err != nil {
		return nil, nil, err
	}
	crops, own = map[string]calendar.Crop{}, map[string]bool{}
	for _, c := range calendar.Crops {
		crops[c.Name] = c
	}
	for _, v := range values {
		c, ok := crops[v.Crop]
		if !ok {
			continue // of a later version
		}
		if c, err := c.With(v.Field, v.Value); err == nil {
			crops[v.Crop] = c
			own[v.Crop+" "+v.Field] = true
		}
	}
	return crops, own, nil
}
