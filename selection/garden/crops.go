package garden

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"hueward/selection/book"
	"hueward/selection/book/naming"
	"hueward/selection/calendar"
)

// AllCrops are all crops, built in and of the grower's own, with the grower's own values in.
type AllCrops struct {
	By    map[string]calendar.Crop // by name
	Own   map[string]bool          // the grower's own values, as "crop field"
	Lines map[string]string        // the names of the lines' crops
}

// Of is the crop of a line; ok is false where it was not said.
func (a *AllCrops) Of(line string) (c calendar.Crop, ok bool) {
	c, ok = a.By[a.Lines[line]]
	return c, ok
}

// Crops are all crops, and which lines are of them.
func Crops(ctx context.Context, b *book.Book) (*AllCrops, error) {
	a := &asking{ctx: ctx}
	values, added, lines := ask(a, b.CropValues), ask(a, b.OwnCrops), ask(a, b.LineCrops)
	if a.err != nil {
		return nil, a.err
	}
	crops, own := map[string]calendar.Crop{}, map[string]bool{}
	for _, c := range calendar.Crops() {
		crops[c.Name] = c
	}
	for _, o := range added {
		c, _ := calendar.Named(o.Base)
		c.Name, c.Title = o.Name, o.Title
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
	return &AllCrops{crops, own, lines}, nil
}

// CropNames are the names of all crops in the order in which they are listed: the built-in
// ones, those that the grower added, and "other".
func CropNames(ctx context.Context, b *book.Book) ([]string, error) {
	added, err := b.OwnCrops(ctx)
	if err != nil {
		return nil, err
	}
	names := calendar.CropNames()
	for _, c := range added {
		names = slices.Insert(names, len(names)-1, c.Name)
	}
	return names, nil
}

// CropNamed is the crop of that name, whatever its case, with the grower's own values in;
// the error lists which there are.
func CropNamed(ctx context.Context, b *book.Book, typed string) (calendar.Crop, error) {
	crops, err := Crops(ctx, b)
	if err != nil {
		return calendar.Crop{}, err
	}
	if c, ok := crops.By[calendar.CropKey(typed)]; ok {
		return c, nil
	}
	names, err := CropNames(ctx, b)
	if err != nil {
		return calendar.Crop{}, err
	}
	return calendar.Crop{}, fmt.Errorf("crop %q: %w; want one of %s", typed, book.ErrNotFound, strings.Join(names, ", "))
}

// AddCrop adds a crop of the grower's own with the values of another, "other" where like is
// empty, but for those given.
func AddCrop(ctx context.Context, b *book.Book, name, title, like string, values []book.CropValue) error {
	key := calendar.CropKey(name)
	if clean, err := naming.CleanID(key); err != nil || clean != key || strings.EqualFold(key, "usual") {
		return fmt.Errorf("crop %q: want one word of letters, digits and dashes, such as sweet-william", name)
	}
	if _, builtIn := calendar.Named(key); builtIn {
		return fmt.Errorf("crop %q: %w, built in; change its values instead, or add it under another name", key, book.ErrDuplicate)
	}
	like = cmp.Or(like, "other")
	from, err := CropNamed(ctx, b, like)
	if err != nil {
		return err
	}
	base := from.Name
	added, err := b.OwnCrops(ctx)
	if err != nil {
		return err
	}
	if i := slices.IndexFunc(added, func(c book.OwnCrop) bool { return c.Name == from.Name }); i >= 0 {
		base = added[i].Base
	}
	title = cmp.Or(strings.TrimSpace(title), strings.ReplaceAll(key, "-", " "))
	for _, v := range values {
		if from, err = from.With(v.Field, v.Value); err != nil {
			return err
		}
	}
	return b.AddCrop(ctx, book.OwnCrop{Name: key, Title: title, Base: base}, calendar.CropKey(like), values...)
}
