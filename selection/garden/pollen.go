package garden

import (
	"context"
	"fmt"
	"time"

	"hueward/selection/book"
	"hueward/selection/calendar"
)

// PollenUntil is the last day that stored pollen is good for: as was said, or as its crop
// says.
func PollenUntil(ctx context.Context, b *book.Book, p book.Pollen) (time.Time, error) {
	crop, _, err := CropOf(ctx, b, p.Line)
	return crop.GoodUntil(calendar.Pollen{Collected: p.Collected, Until: p.GoodUntil}), err
}

// PollenWords tell how far stored pollen is, without its name.
func PollenWords(ctx context.Context, b *book.Book, p book.Pollen) (string, error) {
	until, err := PollenUntil(ctx, b, p)
	if err != nil {
		return "", err
	}
	s := fmt.Sprintf("pollen of %s, collected %s", p.Plant, p.Collected.Format(time.DateOnly))
	switch {
	case !p.UsedUp.IsZero():
		return s + ", used up " + p.UsedUp.Format(time.DateOnly), nil
	case p.Dried.IsZero():
		s += ", to dry"
	}
	return s + ", good until about " + until.Format(time.DateOnly), nil
}

// PollinateDoubts say of heads just pollinated that the stored pollen of their cross was too
// old, or used up, on that day.
func PollinateDoubts(ctx context.Context, b *book.Book, heads []book.Head, on time.Time) (doubts []string, err error) {
	of := map[string]bool{}
	for _, h := range heads {
		of[h.Cross] = true
	}
	crosses, err := b.Crosses(ctx, "")
	if err != nil {
		return nil, err
	}
	for i := range crosses {
		c := &crosses[i]
		if !of[c.Name] {
			continue
		}
		c.MadeOn = on
		if doubt, err := PollenDoubt(ctx, b, c); err != nil {
			return nil, err
		} else if doubt != "" {
			doubts = append(doubts, doubt)
		}
	}
	return doubts, nil
}

// PollenDoubt says that the stored pollen of a cross was too old, or used up, on the day of
// it; empty: it was not, or none was used.
func PollenDoubt(ctx context.Context, b *book.Book, c *book.Cross) (string, error) {
	if c.Pollen == "" {
		return "", nil
	}
	p, err := b.PollenNamed(ctx, c.Pollen)
	if err != nil {
		return "", err
	}
	until, err := PollenUntil(ctx, b, *p)
	switch {
	case err != nil:
		return "", err
	case c.MadeOn.After(until):
		return fmt.Sprintf("pollen %s was good until about %s: it may set no seed", p.Name, until.Format(time.DateOnly)), nil
	case !p.UsedUp.IsZero() && c.MadeOn.After(p.UsedUp):
		return fmt.Sprintf("pollen %s was used up on %s; noted all the same", p.Name, p.UsedUp.Format(time.DateOnly)), nil
	}
	return "", nil
}
