package garden

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"hueward/selection/ask"
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
	var err error
	values, added, lines := ask.For(ctx, &err, b.CropValues), ask.For(ctx, &err, b.OwnCrops), ask.For(ctx, &err, b.LineCrops)
	if err != nil {
		return nil, err
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

// AddCrop adds a crop of the grower's own with the values of another, "other" where like is empty, but for those given.
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

// CropOf is the crop of a line with the grower's own values in; ok is false, and the crop
// "other", where it was not said.
func CropOf(ctx context.Context, b *book.Book, line string) (c calendar.Crop, ok bool, err error) {
	crops, err := Crops(ctx, b)
	if err != nil {
		return c, false, err
	}
	if c, ok = crops.Of(line); !ok {
		c, _ = calendar.Named("other")
	}
	return c, ok, nil
}

// AdviseCross says what a new cross needs beside its bag: own pollen kept out, or where seed is saved open, the
// distance and the count of parents that keep it true; and when its parents' chromosomes do not fit.
func AdviseCross(ctx context.Context, b *book.Book, c *book.Cross) ([]string, error) {
	seed, err := b.Plant(ctx, c.SeedParent)
	if err != nil {
		return nil, err
	}
	crop, said, err := CropOf(ctx, b, seed.Line)
	if err != nil || !said {
		return nil, err
	}
	switch {
	case c.Kind == book.KindOpen:
		return []string{"Seed saved open stays true to the line only " + crop.Isolation() + "."}, nil
	case c.Kind == book.KindSelf && crop.Self == calendar.SelfSterile:
		return []string{fmt.Sprintf("A %s sets hardly any seed to its own pollen: expect little.", crop.Title)}, nil
	case c.Kind == book.KindSelf:
		return nil, nil
	}
	var out []string
	if crop.OwnPollen() {
		out = append(out, "Keep its own pollen out, or some of the offspring will be selfs: "+crop.Emasculate+".")
	}
	if c.PollenParent == "" {
		return out, nil
	}
	pollen, err := b.Plant(ctx, c.PollenParent)
	if err != nil {
		return nil, err
	}
	other, said, err := CropOf(ctx, b, pollen.Line)
	switch {
	case err != nil || !said || other.Name == crop.Name:
	case other.Genus != crop.Genus:
		out = append(out, fmt.Sprintf("%s and %s belong to two genera: such a cross hardly ever sets seed.", crop.Title, other.Title))
	case other.Sets != crop.Sets && other.Sets != 0 && crop.Sets != 0:
		out = append(out, fmt.Sprintf("%s has %d sets of chromosomes and %s %d: their offspring set hardly any seed.", crop.Title, crop.Sets,
			other.Title, other.Sets))
	}
	return out, err
}

// OpenAdvice says of heads just harvested that were left to bees and wind what keeps their
// seed the line's own; empty: there is none, or their crops were not said.
func OpenAdvice(ctx context.Context, b *book.Book, heads []book.Head) (string, error) {
	var names []string
	crop := calendar.Crop{}
	for _, h := range heads {
		if h.Kind != book.KindOpen {
			continue
		}
		c, said, err := CropOf(ctx, b, h.Line)
		if err != nil {
			return "", err
		}
		if said && (len(names) == 0 || c.Name == crop.Name) {
			crop, names = c, append(names, h.Name)
		}
	}
	if len(names) == 0 {
		return "", nil
	}
	return "the seed of " + strings.Join(names, ", ") + " was saved open: it stays true to the line only " + crop.Isolation(), nil
}

// OwnPollen tells of heads whether their own pollen must be kept out: of a cross of two
// plants by hand, in a crop that sets seed to it.
func OwnPollen(ctx context.Context, b *book.Book) (func(book.Head) bool, error) {
	crops, err := Crops(ctx, b)
	return func(h book.Head) bool {
		c, said := crops.Of(h.Line)
		return said && c.OwnPollen() && (h.Kind == book.KindCross || h.Kind == book.KindSib)
	}, err
}

// SelfRisk are those of the heads whose own pollen was not kept out of a cross, in a crop
// that sets seed to it: some of their offspring will be selfs.
func SelfRisk(ctx context.Context, b *book.Book, heads []book.Head) (names []string, err error) {
	needs, err := OwnPollen(ctx, b)
	if err != nil {
		return nil, err
	}
	for _, h := range heads {
		if needs(h) && len(h.Pollinated) > 0 && (h.Emasculated.IsZero() || h.Emasculated.After(h.Pollinated[0])) {
			names = append(names, h.Name)
		}
	}
	return names, nil
}
