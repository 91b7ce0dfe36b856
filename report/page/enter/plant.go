package enter

import (
	"context"
	"fmt"
	"strings"

	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/book/naming"
	"hueward/selection/garden"
)

// Names returns the names in a text, separated by anything that people use.
func Names(text string) []string {
	return strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(", ;\r\n\t", r) })
}

// Clones adds tubers, cuttings or divisions of the plant.
func Clones(ctx context.Context, b *book.Book, f *Form) (string, error) {
	n := f.Count("number")
	if f.Err != nil {
		return "", f.Err
	}
	ids, err := naming.Spread(Names(f.Values.Get("ids")))
	if err != nil {
		return "", Wrongf("%s", join(err.Error()))
	}
	switch {
	case len(ids) == 0 && (n == nil || *n == 0):
		return "", Wrongf("Say how many there are, or their names.")
	case len(ids) > 0 && n != nil && *n != len(ids):
		return "", Wrongf("You gave the number %d, and %s; leave one of the two out.", *n, words.Count(len(ids), "name"))
	case len(ids) > 0 || n == nil:
		n = new(int)
	}
	of, err := b.One(ctx, f.Text("plant"))
	if err != nil {
		return "", err
	}
	season, err := garden.SeasonOn(ctx, b, "", f.Days.Today, f.Now)
	if err != nil {
		return "", err
	}
	by := book.CloneBy(f.Text("by"))
	made, root, err := b.AddClones(ctx, of, season, by, *n, ids)
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("%s of %s: %s.", words.Count(len(made), string(by)), root, strings.Join(made, ", ")), nil
}

// Place says where plants stand in the bed; ranges of plants may be named.
func Place(ctx context.Context, b *book.Book, f *Form) (string, error) {
	typed := Names(f.Values.Get("plants"))
	if len(typed) == 0 {
		return "", Wrongf("Say which plants stand there.")
	}
	ids, err := b.Which(ctx, typed)
	if err != nil {
		return "", err
	}
	place := f.Text("place")
	if err := b.SetPlace(ctx, place, ids...); err != nil {
		return "", err
	}
	who, verb := strings.Join(ids, ", "), "stand"
	if len(ids) > 6 {
		who = fmt.Sprintf("%s … %s (%d)", ids[0], ids[len(ids)-1], len(ids))
	}
	if len(ids) == 1 {
		verb = "stands"
	}
	if place == "" {
		return fmt.Sprintf("Where %s %s is not noted any more.", who, verb), nil
	}
	return join(who + ": " + place), nil
}
