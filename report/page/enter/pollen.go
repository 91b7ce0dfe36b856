package enter

import (
	"context"

	"hueward/selection/book"
	"hueward/selection/garden"
)

// Pollen takes every form of the page of stored pollen: "do" says which.
func Pollen(ctx context.Context, b *book.Book, f *Form) (string, error) {
	on, err := f.Day("on")
	if err != nil {
		return "", err
	}
	var fix book.PollenFix
	switch f.Text("do") {
	case "collect":
		return collect(ctx, b, f)
	case "dry":
		fix.Dried = &on
	case "used":
		fix.UsedUp = &on
	case "correct":
		until, err := f.dayAhead("until")
		if err != nil {
			return "", err
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
func collect(ctx context.Context, b *book.Book, f *Form) (string, error) {
	p := book.Pollen{Plant: f.Text("plant"), Place: f.Text("place"), Note: f.Text("note")}
	if p.Plant == "" {
		return "", Wrongf("Say which plant the pollen is from.")
	}
	var err error
	if p.Collected, err = f.Day("on"); err != nil {
		return "", err
	}
	if p.GoodUntil, err = f.dayAhead("until"); err != nil {
		return "", err
	}
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
