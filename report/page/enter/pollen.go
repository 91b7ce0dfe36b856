package enter

import (
	"context"
	"time"

	"hueward/selection/book"
	"hueward/selection/garden"
)

// Pollen takes every form of the page of stored pollen: "do" says which.
func Pollen(ctx context.Context, b *book.Book, f *Form) (string, error) {
	on := f.Day("on")
	if f.Err != nil {
		return "", f.Err
	}
	var fix book.PollenFix
	switch f.Text("do") {
	case "collect":
		return collect(ctx, b, f, on)
	case "dry":
		fix.Dried = &on
	case "used":
		fix.UsedUp = &on
	case "correct":
		until := f.dayAhead("until")
		if f.Err != nil {
			return "", f.Err
		}
		place, note := f.Text("place"), f.Text("note")
		fix = book.PollenFix{GoodUntil: &until, Place: &place, Note: &note}
	default:
		return "", Wrongf("Say what was done with the pollen.")
	}
	list, err := b.FixPollen(ctx, []string{f.Text("pollen")}, fix)
	if err != nil {
		return "", err
	}
	return pollenSaid(ctx, b, list[0])
}

// collect notes pollen that was collected.
func collect(ctx context.Context, b *book.Book, f *Form, on time.Time) (string, error) {
	p := book.Pollen{Plant: f.Text("plant"), Collected: on, Place: f.Text("place"), Note: f.Text("note")}
	if p.Plant == "" {
		return "", Wrongf("Say which plant the pollen is from.")
	}
	if p.GoodUntil = f.dayAhead("until"); f.Err != nil {
		return "", f.Err
	}
	var err error
	if p.Plant, err = b.One(ctx, p.Plant); err != nil {
		return "", err
	}
	if p.Season, err = garden.SeasonOn(ctx, b, "", p.Collected, f.Now); err != nil {
		return "", err
	}
	made, err := b.AddPollen(ctx, p)
	if err != nil {
		return "", err
	}
	return pollenSaid(ctx, b, *made)
}

func pollenSaid(ctx context.Context, b *book.Book, p book.Pollen) (string, error) {
	state, err := garden.PollenWords(ctx, b, p)
	return join(p.Name + ", " + state), err
}
